"""Steam and Dry in sentences: the verdict first, then how sure, then what limits the speed."""

from __future__ import annotations

import math

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.speed_limits import SpeedLimit, SpeedLimits
from clew.line.heat.verdict import dryness_verdict, largest_doubts, sure_of_it
from clew.quantities import number
from clew.web import heat_figures as heat
from clew.web.figures import Figures, tight
from clew.web.knots_money import small_sum

STEAM_KEYS = ("softening", "superheat", "cool_steam", "short_dwell", "long_dwell", "assumed_fibre")
"""Warnings of the room that belong to Steam."""
DRY_KEYS = (
    "dryer_short", "over_dried", "softening", "harsh", "outside_correlation", "uncalibrated_bed",
    "assumed_fibre",
)  # fmt: skip
"""Those that belong to Dry."""
_HOTTER_K = 0.5
"""Steam that is so much above boiling is said beside what the yarn gets to [K]."""


def bulk_words(answer: HeatAnswer, figures: Figures) -> tuple[str, str]:
    """Say whether the yarn gets its full bulk.

    Parameters
    ----------
    answer : HeatAnswer
        The answer.
    figures : Figures
        The reader's printing.

    Returns
    -------
    tuple of str
        The verdict, and the sentence that bears it out.
    """
    terms, steam = answer.terms, answer.steamed
    zone, dwell = heat.degrees(steam.zone_c, figures), heat.seconds(steam.dwell_s)
    tried = heat.degrees(terms.steam_c, figures)
    full = heat.seconds(steam.full_dwell_s)
    if steam.zone_c < terms.full_bulk_c:
        needs = heat.degrees(terms.full_bulk_c, figures)
        return "No full bulk", f"the yarn gets to {zone}, and full bulk takes {needs}"
    if steam.dwell_s < steam.full_dwell_s:
        part = tight(f"{number(100.0 * steam.bulk_frac, 3)} %")
        return (
            "Short of full bulk",
            f"{dwell} in steam of {tried} gives {part} of the shrink; full bulk takes {full}",
        )
    verdict = "Full bulk"
    if steam.dwell_s > terms.longest_dwell_s:
        verdict = "Full bulk, but too long in steam"
    said = f"the yarn lies {dwell} in steam of {tried}; the bulk is there after {full}"
    if terms.steam_c > steam.boiling_c + _HOTTER_K:
        said += f"; the yarn itself gets no hotter than {zone}"
    return verdict, said


def steam_keys(answer: HeatAnswer) -> tuple[str, ...]:
    """Name the warnings that Steam shows: a short dwell in hot steam is the verdict already."""
    hot = answer.steamed.zone_c >= answer.terms.full_bulk_c
    return tuple(key for key in STEAM_KEYS if not (hot and key == "short_dwell"))


def steam_words(answer: HeatAnswer, figures: Figures) -> tuple[str, str]:
    """Say what steam it takes: the steam with its fuel, and where that steam goes."""
    terms, demand, money = answer.terms, answer.steamed.demand, answer.money.steam_money_per_h
    drawn = f"{heat.heavy(demand.total_kg_per_h, figures)} of steam an hour"
    paid = "" if money is None else f", {tight(small_sum(money, terms.currency))} an hour of fuel"
    yarn = heat.heavy(terms.yarn_kg_per_h, figures)
    onto = heat.heavy(demand.wet_kg_per_h, figures)
    lost = demand.losses_kg_per_h
    where = f"{onto} of it an hour condenses on {yarn} of yarn and warms it"
    where += (
        f". {heat.heavy(lost, figures)} an hour goes by slots, shell and pipes, as stated."
        if lost
        else ". What slots, shell and pipes lose is not stated: real steamers draw two to five "
        "times the least (recalled)."
    )
    return drawn + paid, where


def room_words(answer: HeatAnswer, limits: SpeedLimits, figures: Figures) -> str:
    """Say between which feeds the steamer does its work; empty where it never does."""
    most = next(one.feed_m_per_s for one in limits.limits if one.station == "steamer")
    if most == 0.0:
        return ""
    least, longest = limits.least_feed_m_per_s, answer.terms.longest_dwell_s
    said = f"The steamer allows up to {figures.speed(most)} of feed, the belt going along."
    if least > 0.0:
        said += (
            f" Below {figures.speed(least)} the yarn would lie longer than the "
            f"{heat.seconds(longest)} in steam that the mill file allows."
        )
    now = figures.speed(limits.feed_m_per_s)
    if limits.feed_m_per_s > most:
        return f"{said} The feed of {now} is too fast for it."
    if limits.feed_m_per_s < least:
        return f"{said} The feed of {now} is too slow for it."
    return f"{said} The feed is {now}."


def dry_words(answer: HeatAnswer) -> tuple[str, str]:
    """Say whether the yarn comes off dry enough: the verdict, and the regains behind it."""
    cooled, wanted = answer.dried.regain_cooled_frac, answer.terms.regain_wanted_frac
    said = f"{heat.regain(cooled)} regain once cooled, {heat.regain(wanted)} wanted"
    return dryness_verdict(answer), said


def sure_words(answer: HeatAnswer) -> tuple[str, str]:
    """Say how sure that is, and what makes the doubt."""
    doubt = answer.doubt
    band = f"the regain may be {heat.regains(doubt.cooled_low_frac, doubt.cooled_high_frac)}"
    most = largest_doubts(doubt)
    return sure_of_it(doubt), f"{band}; {most}" if most else band


def belt_words(answer: HeatAnswer) -> str:
    """Say what another speed of the belt alone does to the drying."""
    if answer.terms.air_way != "over":
        return "A faster belt lays the yarn thinner and takes it through in less time."
    return (
        "The speed of the belt alone does not change the regain: a faster belt lays the yarn "
        "thinner, so the same area of lay dries it for a shorter time."
    )


def needed_words(answer: HeatAnswer) -> str:
    """Say what time the regain wanted takes."""
    constant, falling = answer.needed_s
    if math.isinf(falling):
        return "no dwell in this air gives the regain wanted"
    takes = f"the regain wanted takes {heat.seconds(constant + falling)}"
    if constant == 0.0:
        return f"{takes}, all of it at a falling rate"
    if falling == 0.0:
        return f"{takes}, all of it at a constant rate"
    return (
        f"{takes}: {heat.seconds(constant)} at a constant, {heat.seconds(falling)} at a falling "
        "rate"
    )


def limit_words(limits: SpeedLimits, figures: Figures) -> tuple[str, str]:
    """Say what limits the line, and where it runs."""
    first, now = limits.first, limits.feed_m_per_s
    if first.feed_m_per_s == 0.0:
        return f"No speed will do for the {first.station}", why_words(first, figures)
    if math.isinf(first.feed_m_per_s):
        return "Nothing that was stated limits the speed", ""
    verb = "limit" if first.station == "hands" else "limits"
    head = f"The {first.station} {verb} the line: {figures.speed(first.feed_m_per_s)} of feed"
    off = 100.0 * abs(now / first.feed_m_per_s - 1.0)
    side = "above" if now > first.feed_m_per_s else "below"
    runs = f"it runs at {figures.speed(now)}, {tight(f'{number(off, 2)} %')} {side} that"
    if number(off, 2) == "0":
        runs = f"it runs at {figures.speed(now)}, just there"
    if now < limits.least_feed_m_per_s:
        least = figures.speed(limits.least_feed_m_per_s)
        runs += f"; below {least} the yarn lies too long in steam"
    return head, runs


def allowed_words(limits: SpeedLimits, figures: Figures) -> str:
    """Say the first limit in a few words, to stand by the sliders."""
    first = limits.first
    if first.feed_m_per_s == 0.0:
        return f"no speed will do for the {first.station}"
    if math.isinf(first.feed_m_per_s):
        return "no limit of speed"
    verb = "allow" if first.station == "hands" else "allows"
    return f"{first.station} {verb} {figures.speed(first.feed_m_per_s)}"


def energy_words(answer: HeatAnswer, figures: Figures) -> str:
    """Say what drying takes on a mass of yarn, and with the steam what it costs."""
    money, terms = answer.money, answer.terms
    said = f"Drying takes {heat.heat_on_mass(money.dryer_kwh_per_kg, figures)} of yarn"
    if money.money_per_kg is None or money.money_per_h is None:
        return f"{said}. No price of fuel is stated: fuel_per_kwh under [prices] in the mill file."
    per_mass = heat.money_on_mass(money.money_per_kg, terms.currency, figures)
    an_hour = tight(small_sum(money.money_per_h, terms.currency))
    return f"{said}; with the steam, the fuel is {per_mass} of yarn, {an_hour} an hour."


def warning_words(answer: HeatAnswer, keys: tuple[str, ...], figures: Figures) -> list[str]:
    """Give the room's warnings that belong to a page, in the order the page wants them."""
    found = {one.key: one.text for one in answer.warnings}
    said = [heat.degrees_for(found[key], figures.units) for key in keys if key in found]
    return [heat.held_together(one) for one in said]


def why_words(limit: SpeedLimit, figures: Figures) -> str:
    """Say what a limit comes from."""
    return heat.held_together(heat.degrees_for(limit.why, figures.units))
