"""Steam and drying in words: what to look at, and what can hurt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.languages import figure, joined, say
from clew.line.heat.dryer import Dried
from clew.line.heat.drying import OVER_RANGE_KG_PER_M2_H
from clew.line.heat.steamer import Steamed
from clew.line.heat.steaming import SUPERHEAT_WARNING_K
from clew.line.heat.terms import HeatTerms
from clew.strand.fibres import fibre

CAUTION_PARTS = (
    (
        say("Live steam is invisible at the nozzle and burns far worse than water as hot"),
        say(
            "hands, face and sleeves clear of the slots, steam off and vented before anyone "
            "reaches in."
        ),
    ),
    (
        say("A stopped belt goes on steaming and heating what lies on it"),
        say("shut the steam, and never leave a hot dryer loaded."),
    ),
    (
        say("Nothing here sizes a safety valve, a pipe or a boiler"),
        say("ask the authorised inspector."),
    ),
)
"""What can hurt, and what is to be done about it."""
CAUTIONS = tuple(joined(": ", parts) for parts in CAUTION_PARTS)
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
                say(
                    "{hottest} is at or above {softens}, where {fibre} softens: it will stick.",
                    hottest=figure(f"{hottest:.0f} °C"),
                    softens=figure(f"{blend.softens_c:.0f} °C"),
                    fibre=_said(blend.softens_first),
                ),
            )
        )
    if terms.dryer_c > blend.harsh_c:
        found.append(
            Warned(
                "harsh",
                say(
                    "The dryer's {dryer} is above {harsh}, where {fibre} yellows or turns harsh "
                    "in time.",
                    dryer=figure(f"{terms.dryer_c:.0f} °C"),
                    harsh=figure(f"{blend.harsh_c:.0f} °C"),
                    fibre=_said(blend.harsh_first),
                ),
            )
        )
    if blend.unsure:
        names = joined(", ", (_said(key) for key in blend.unsure))
        found.append(
            Warned("assumed_fibre", say("Numbers of {fibres} are partly assumed.", fibres=names))
        )
    return found


def _steam(terms: HeatTerms, steam: Steamed) -> list[Warned]:
    found = []
    if steam.superheat_k > SUPERHEAT_WARNING_K:
        found.append(
            Warned(
                "superheat",
                say(
                    "The steam may be {superheat} above boiling: a few kelvin mar the "
                    "evenness of the bulk. Use wetter steam, a lower supply or a cooler.",
                    superheat=figure(f"{steam.superheat_k:.1f} K"),
                ),
            )
        )
    if steam.zone_c < terms.full_bulk_c:
        found.append(
            Warned(
                "cool_steam",
                say(
                    "The steam zone's {zone} is below {full}: no full bulk at any dwell. Air in "
                    "the chamber cools it.",
                    zone=figure(f"{steam.zone_c:.1f} °C"),
                    full=figure(f"{terms.full_bulk_c:.1f} °C"),
                ),
            )
        )
    if steam.dwell_s < steam.full_dwell_s:
        found.append(
            Warned(
                "short_dwell",
                say(
                    "{dwell} in steam gives {share} of the shrink; full bulk takes {full}.",
                    dwell=_seconds(steam.dwell_s),
                    share=_percent(steam.bulk_frac),
                    full=_seconds(steam.full_dwell_s),
                ),
            )
        )
    if steam.dwell_s > terms.longest_dwell_s:
        found.append(
            Warned(
                "long_dwell",
                say(
                    "{dwell} in steam is longer than the {longest} the mill allows.",
                    dwell=_seconds(steam.dwell_s),
                    longest=_seconds(terms.longest_dwell_s),
                ),
            )
        )
    return found


def _dryer(terms: HeatTerms, out: Dried, needed_s: float) -> list[Warned]:
    found = []
    if out.regain_cooled_frac > terms.regain_wanted_frac:
        takes = say("no dwell in this air") if math.isinf(needed_s) else _seconds(needed_s)
        found.append(
            Warned(
                "dryer_short",
                say(
                    "The dryer is short: {cooled} once cooled, {wanted} wanted; that takes "
                    "{takes}, the belt gives {dwell}.",
                    cooled=_percent(out.regain_cooled_frac),
                    wanted=_percent(terms.regain_wanted_frac),
                    takes=takes,
                    dwell=_seconds(terms.dryer_dwell_s),
                ),
            )
        )
    elif out.regain_cooled_frac < 0.5 * terms.regain_wanted_frac:
        found.append(
            Warned(
                "over_dried",
                say(
                    "{cooled} is less than half the regain wanted: heat is wasted, and the "
                    "balls will gain mass as they rest.",
                    cooled=_percent(out.regain_cooled_frac),
                ),
            )
        )
    low, high = OVER_RANGE_KG_PER_M2_H
    if terms.air_way == "over" and not low <= out.mass_velocity_kg_per_m2_h <= high:
        found.append(
            Warned(
                "outside_correlation",
                say(
                    "The dryer's air is slower or faster than the textbook's coefficient was "
                    "made for."
                ),
            )
        )
    if terms.air_way == "through" and terms.drying_factor == 1.0:
        found.append(
            Warned(
                "uncalibrated_bed",
                say(
                    "The coefficient of air through a bed was made for granular solids; weigh "
                    "in and weigh out once and give the regain measured."
                ),
            )
        )
    return found


def _seconds(time_s: float) -> str:
    return figure(f"{time_s:.0f} s")


def _percent(share: float) -> str:
    return figure(f"{100 * share:.3g} %")


def _said(key: str) -> str:
    one = fibre(key)
    return one.short or one.title
