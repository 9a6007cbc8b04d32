"""Steam, drying and speed limits as plain values, ready for a page or JSON."""

from __future__ import annotations

import math
from typing import Any

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.heat_words import CAUTIONS
from clew.line.heat.speed_limits import SpeedLimits


def plain_heat(answer: HeatAnswer) -> dict[str, Any]:
    """Turn an answer on steam and drying into lists, words and numbers.

    Parameters
    ----------
    answer : HeatAnswer
        From `clew.line.heat.answer.heat_answer`.

    Returns
    -------
    dict
        Keys carry their units. A time of null is never reached; money of null is not known; a
        superheat is against boiling at the pressure of the air.
    """
    terms, steam, out, money = answer.terms, answer.steamed, answer.dried, answer.money
    constant_s, falling_s = answer.needed_s
    return {
        "line": terms.line_name,
        "ball": terms.ball_name,
        "yarn": terms.yarn_name,
        "currency": terms.currency,
        "yarn_kg_per_h": terms.yarn_kg_per_h,
        "dry_kg_per_h": terms.dry_kg_per_h,
        "belt_load_dry_kg_per_m2": terms.dry_load_kg_per_m2,
        "steam": {
            "condensed_kg_per_kg_dry": steam.condensed.condensate_kg_per_kg,
            "condensed_kg_per_kg_yarn": steam.condensed.condensate_kg_per_kg
            / (1.0 + terms.regain_in_frac),
            "least_kg_per_h": steam.demand.least_kg_per_h,
            "losses_kg_per_h": steam.demand.losses_kg_per_h,
            "total_kg_per_h": steam.demand.total_kg_per_h,
            "total_over_least": steam.demand.multiple,
            "zone_c": steam.zone_c,
            "superheat_k": steam.superheat_k,
            "dwell_s": steam.dwell_s,
            "full_bulk_dwell_s": steam.full_dwell_s,
            "bulk_frac": steam.bulk_frac,
        },
        "regain": {
            "in_frac": terms.regain_in_frac,
            "in_steam_frac": steam.regain_frac,
            "before_dryer_frac": out.regain_before_frac,
            "after_dryer_frac": out.regain_after_frac,
            "after_dryer_low_frac": answer.doubt.end_low_frac,
            "after_dryer_high_frac": answer.doubt.end_high_frac,
            "cooled_frac": out.regain_cooled_frac,
            "cooled_low_frac": answer.doubt.cooled_low_frac,
            "cooled_high_frac": answer.doubt.cooled_high_frac,
            "wanted_frac": terms.regain_wanted_frac,
        },
        "dryer": {
            "dry_enough": answer.dry_enough,
            "too_damp_share": answer.doubt.too_damp_share,
            "water_kg_per_h": out.heat.evaporated_kg_per_h,
            "dwell_s": terms.dryer_dwell_s,
            "needed_constant_s": constant_s,
            "needed_falling_s": _finite(falling_s),
            "needed_s": _finite(constant_s + falling_s),
            "falling_time_constant_s": out.law.falling_s,
            "critical_regain_frac": out.law.critical_frac,
            "balance_regain_frac": out.law.balance_frac,
            "humidity_kg_per_kg": out.air.humidity_kg_per_kg,
            "wet_bulb_c": out.wet_bulb_c,
            "yarn_before_c": out.yarn_before_c,
            "yarn_after_c": out.yarn_after_c,
            "heat_transfer_w_per_m2_k": out.coefficient_w_per_m2_k,
            "drying_factor": terms.drying_factor,
        },
        "heat": {
            "steam_kw": money.steam_kw,
            "dryer_kw": money.dryer_kw,
            "dryer_water_kw": out.heat.water_kw,
            "dryer_air_kw": out.heat.air_kw,
            "dryer_yarn_kw": out.heat.yarn_kw,
            "dryer_fixed_kw": out.heat.fixed_kw,
            "steam_kwh_per_kg_yarn": money.steam_kwh_per_kg,
            "dryer_kwh_per_kg_yarn": money.dryer_kwh_per_kg,
            "dryer_kwh_per_kg_water": money.kwh_per_kg_water,
            "fuel_kwh_per_kg_yarn": money.fuel_kwh_per_kg,
            "fuel_money_per_kg_yarn": money.money_per_kg,
            "fuel_money_per_h": money.money_per_h,
        },
        "doubt": {
            "largest": answer.doubt.largest,
            "variance_shares": dict(answer.doubt.shares),
            "draws": answer.doubt.draws,
            "seed": answer.doubt.seed,
        },
        "warnings": [{"key": one.key, "text": one.text} for one in answer.warnings],
        "cautions": list(CAUTIONS),
    }


def plain_limits(found: SpeedLimits) -> dict[str, Any]:
    """Turn what limits a line's speed into lists, words and numbers.

    Parameters
    ----------
    found : SpeedLimits
        From `clew.line.heat.speed_limits.speed_limits`.

    Returns
    -------
    dict
        ``limits`` slowest first; a feed of null is no limit, 0 is no speed at all.
    """
    return {
        "feed_m_per_min": 60.0 * found.feed_m_per_s,
        "least_feed_m_per_min": 60.0 * found.least_feed_m_per_s,
        "within_limits": found.within,
        "hands_busy_frac": found.hands_busy_frac,
        "limits": [
            {
                "station": one.station,
                "feed_m_per_min": _finite(60.0 * one.feed_m_per_s),
                "why": one.why,
            }
            for one in found.limits
        ],
        "unknown": list(found.unknown),
    }


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None
