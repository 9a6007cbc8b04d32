"""Steam and drying in words: what to look at, and what can hurt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.line.heat.dryer import Dried
from clew.line.heat.drying import OVER_RANGE_KG_PER_M2_H
from clew.line.heat.steamer import Steamed
from clew.line.heat.steaming import SUPERHEAT_WARNING_K
from clew.line.heat.terms import HeatTerms
from clew.strand.fibres import fibre

CAUTIONS = (
    "Live steam is invisible at the nozzle and burns far worse than water as hot: hands, face and "
    "sleeves clear of the slots, steam off and vented before anyone reaches in.",
    "A stopped belt goes on steaming and heating what lies on it: shut the steam, and never leave "
    "a hot dryer loaded.",
    "Nothing here sizes a safety valve, a pipe or a boiler: ask the authorised inspector.",
)
"""Printed with every answer."""


@dataclass(frozen=True, slots=True)
class Warned:
    """Something to look at.

    Attributes
    ----------
    key : str
        Short name that stays the same: ``superheat``.
    text : str
        What it is, in a sentence.
    """

    key: str
    text: str


def warnings_of(
    terms: HeatTerms, steam: Steamed, out: Dried, needed_s: float
) -> tuple[Warned, ...]:
    """Find what should be looked at on a line.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    steam : Steamed
        The steamer.
    out : Dried
        The dryer.
    needed_s : float
        Time in the dryer that the wanted regain takes [s].

    Returns
    -------
    tuple of Warned
        Heat on the fibre, steam, dwell, dryer; empty where there is nothing.

    Notes
    -----
    The threshold of superheat is ours, of softening and yellowing see
    `clew.line.heat.fibres_heat`.
    """
    found = [*_hot(terms, steam), *_steam(terms, steam), *_dryer(terms, out, needed_s)]
    return tuple(found)


def _hot(terms: HeatTerms, steam: Steamed) -> list[Warned]:
    blend, found = terms.blend, []
    hottest = max(terms.dryer_c, steam.boiling_c + steam.superheat_k)
    if blend.softens_c is not None and hottest >= blend.softens_c:
        found.append(
            Warned(
                "softening",
                f"{hottest:.0f} °C is at or above {blend.softens_c:.0f} °C, where "
                f"{_said(blend.softens_first)} softens: it will stick.",
            )
        )
    if terms.dryer_c > blend.harsh_c:
        found.append(
            Warned(
                "harsh",
                f"The dryer's {terms.dryer_c:.0f} °C is above {blend.harsh_c:.0f} °C, where "
                f"{_said(blend.harsh_first)} yellows or turns harsh in time.",
            )
        )
    if blend.unsure:
        names = ", ".join(_said(key) for key in blend.unsure)
        found.append(Warned("assumed_fibre", f"Numbers of {names} are partly assumed."))
    return found


def _steam(terms: HeatTerms, steam: Steamed) -> list[Warned]:
    found = []
    if steam.superheat_k > SUPERHEAT_WARNING_K:
        found.append(
            Warned(
                "superheat",
                f"The steam may be {steam.superheat_k:.1f} K above boiling: a few kelvin mar the "
                "evenness of the bulk. Use wetter steam, a lower supply or a cooler.",
            )
        )
    if steam.zone_c < terms.full_bulk_c:
        found.append(
            Warned(
                "cool_steam",
                f"The steam zone's {steam.zone_c:.1f} °C is below {terms.full_bulk_c:.1f} °C: no "
                "full bulk at any dwell. Air in the chamber cools it.",
            )
        )
    if steam.dwell_s < steam.full_dwell_s:
        found.append(
            Warned(
                "short_dwell",
                f"{steam.dwell_s:.0f} s in steam gives {100 * steam.bulk_frac:.3g} % of the "
                f"shrink; full bulk takes {steam.full_dwell_s:.0f} s.",
            )
        )
    if steam.dwell_s > terms.longest_dwell_s:
        found.append(
            Warned(
                "long_dwell",
                f"{steam.dwell_s:.0f} s in steam is longer than the {terms.longest_dwell_s:.0f} s "
                "the mill allows.",
            )
        )
    return found


def _dryer(terms: HeatTerms, out: Dried, needed_s: float) -> list[Warned]:
    found = []
    if out.regain_cooled_frac > terms.regain_wanted_frac:
        takes = "no dwell in this air" if math.isinf(needed_s) else f"{needed_s:.0f} s"
        found.append(
            Warned(
                "dryer_short",
                f"The dryer is short: {100 * out.regain_cooled_frac:.3g} % once cooled, "
                f"{100 * terms.regain_wanted_frac:.3g} % wanted; that takes {takes}, the belt "
                f"gives {terms.dryer_dwell_s:.0f} s.",
            )
        )
    elif out.regain_cooled_frac < 0.5 * terms.regain_wanted_frac:
        found.append(
            Warned(
                "over_dried",
                f"{100 * out.regain_cooled_frac:.3g} % is less than half the regain wanted: heat "
                "is wasted, and the balls will gain mass as they rest.",
            )
        )
    low, high = OVER_RANGE_KG_PER_M2_H
    if terms.air_way == "over" and not low <= out.mass_velocity_kg_per_m2_h <= high:
        found.append(
            Warned(
                "outside_correlation",
                "The dryer's air is slower or faster than the textbook's coefficient was made for.",
            )
        )
    if terms.air_way == "through" and terms.drying_factor == 1.0:
        found.append(
            Warned(
                "uncalibrated_bed",
                "The coefficient of air through a bed was made for granular solids; weigh in and "
                "weigh out once and give the regain measured.",
            )
        )
    return found


def _said(key: str) -> str:
    one = fibre(key)
    return one.short or one.title
