"""Answers as plain dictionaries, ready for JSON: the same keys from a command and from a page.

Units stand in the keys; an interval is a list of two; a long array is thinned to what a drawing
can show.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from clew.ball.bounds import Interval
from clew.ball.turns import TurnsAnswer
from clew.ball.wind.build import Build
from clew.ball.yarn_answer import YarnAnswer
from clew.strand.bulk import SteamedSpread
from clew.strand.moisture import CommercialMass

MOST_POINTS = 101
"""Most values of an array that are written out."""


def turns_plain(answer: TurnsAnswer) -> dict[str, Any]:
    """Write the turns of a ball, what it will hold and what would change it.

    Parameters
    ----------
    answer : TurnsAnswer
        The answer.

    Returns
    -------
    dict
        Plain values only; every key names its unit.
    """
    balance = answer.balance
    return {
        "turns": answer.turns,
        "mass_g": answer.mass_g,
        "length_m": answer.length_m,
        "binding": answer.binding,
        "mass_g_interval": _pair(answer.mass_g_interval),
        "length_m_interval": _pair(answer.length_m_interval),
        "length_per_turn_mm_first": answer.length_per_turn_mm_first,
        "length_per_turn_mm_last": answer.length_per_turn_mm_last,
        "confidence": answer.confidence,
        "turns_for_mass": answer.turns_mass,
        "turns_for_length": answer.turns_length,
        "mean_mass_g_interval": _pair(answer.mean_mass_g_interval),
        "mean_length_m_interval": _pair(answer.mean_length_m_interval),
        "over_declared_mass_g": answer.over_mass_g,
        "over_declared_length_m": answer.over_length_m,
        "mass_as_weighed_g": answer.as_weighed_g,
        "mass_dry_g": answer.dry_g,
        "mass_commercial_g": answer.commercial_g,
        "laid_length_m": answer.laid_length_m,
        "rest_count_tex": answer.rest_count_tex,
        "length_by_area_elasticity": answer.area_elasticity,
        "length_by_turns_elasticity": answer.turns_elasticity,
        "contributions": [
            {
                "key": one.key,
                "words": one.words,
                "differs_between": one.level + "s",
                "mass_share": one.mass_share,
                "length_share": one.length_share,
                "mass_log_sd": one.mass_log_sd,
                "length_log_sd": one.length_log_sd,
            }
            for one in answer.contributions
        ],
        "sensitivities": [
            {
                "key": one.key,
                "words": one.words,
                "mass_g": one.mass_g,
                "length_m": one.length_m,
                "turns": one.turns,
            }
            for one in answer.sensitivities
        ],
        "balance": {
            "rest_count_tex": balance.rest_count_tex,
            "count_spun_tex": balance.count_spun_tex,
            "count_change_frac": balance.count_change_frac,
            "shrink_frac": balance.shrink_frac,
            "tension_cn": balance.tension_cn,
            "tension_words": balance.tension_words,
        },
        "build": _wound(answer.build),
    }


def _wound(ball: Build) -> dict[str, Any]:
    """Write a wound ball: its size, and how it grew.

    Parameters
    ----------
    ball : Build
        The ball as wound.

    Returns
    -------
    dict
        Sizes, and arrays thinned to `MOST_POINTS` values with their ends kept.
    """
    grown = _places(ball.turn_length_mm.size)
    across = _places(ball.latitude_deg.size)
    return {
        "turns": ball.turns,
        "length_m": ball.length_m,
        "diameter_mm": ball.diameter_mm,
        "width_mm": ball.width_mm,
        "volume_mm3": ball.volume_mm3,
        "strand_area_mm2": ball.area_mm2,
        "slid_frac": ball.slid_frac,
        "turn": [int(place) + 1 for place in grown],
        "turn_length_mm": ball.turn_length_mm[grown].tolist(),
        "diameter_of_turn_mm": ball.diameter_of_turn_mm[grown].tolist(),
        "latitude_deg": ball.latitude_deg[across].tolist(),
        "radius_mm": ball.radius_mm[across].tolist(),
        "angle_of_wind_deg": [
            float(ball.angle_of_wind_deg[place]) if ball.crossed[place] else None
            for place in across
        ],
        "warnings": list(ball.warnings),
    }


def yarn_plain(answer: YarnAnswer) -> dict[str, Any]:
    """Write a yarn before and after steam.

    Parameters
    ----------
    answer : YarnAnswer
        The answer.

    Returns
    -------
    dict
        Plain values only; every key names its unit.
    """
    strand, after, found = answer.strand, answer.steamed, answer.weight_class
    return {
        "count_spun_tex": strand.count_spun_tex,
        "count_tex": after.count_tex,
        "count_tex_interval": _ends(answer.after),
        "count_spun_tex_interval": _ends(answer.before),
        "mean_count_tex_interval": _ends(answer.mean_after),
        "confidence": answer.after.level,
        "count_measured_tex": answer.measured_tex,
        "count_nominal_tex": answer.nominal_tex,
        "length_m_per_100g": after.length_m_per_100g,
        "overfeed_frac": after.overfeed_frac,
        "shrink_frac": strand.shrink_frac,
        "regain_in_frac": strand.regain_in_frac,
        "regain_out_frac": strand.regain_out_frac,
        "moisture_content_in_frac": answer.content_in_frac,
        "moisture_content_out_frac": answer.content_out_frac,
        "allowance_frac": strand.allowance_frac,
        "cones": answer.cones,
        "on_creel": _mass(answer.on_creel),
        "as_balls": _mass(answer.as_balls),
        "contributions": [
            {
                "key": one.key,
                "words": one.words,
                "count_share": one.share,
                "count_log_sd": one.ln_sd,
            }
            for one in answer.parts
        ],
        "intraclass_correlation": answer.ball_spread.intraclass,
        "sample_balls_of_one_cone": answer.sample_balls,
        "sample_worth_balls": answer.sample_worth,
        "category": found.category,
        "category_words": found.words,
        "category_near": found.neighbour,
        "category_note": found.note,
    }


def _pair(interval: Interval) -> list[float]:
    return [interval.low, interval.high]


def _ends(spread: SteamedSpread) -> list[float]:
    return [spread.low_tex, spread.high_tex]


def _mass(found: CommercialMass) -> dict[str, float]:
    return {
        "net_mass_kg": found.net_mass_kg,
        "dry_mass_kg": found.clean_dry_mass_kg,
        "commercial_mass_kg": found.commercial_mass_kg,
    }


def _places(size: int) -> NDArray[np.int64]:
    """Places of an array to write out, both ends among them."""
    if size <= MOST_POINTS:
        return np.arange(size)
    return np.unique(np.linspace(0, size - 1, MOST_POINTS).round().astype(np.int64))
