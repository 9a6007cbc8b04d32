"""Steam and Dry in sentences: the verdict first, then how sure, then what limits the speed."""

from __future__ import annotations

import math
from collections.abc import Callable

from clew.languages import figure, first_lower, joined, say
from clew.line.heat.answer import HeatAnswer, HeatBalance
from clew.line.heat.speed_limits import (
    SpeedLimit,
    SpeedLimits,
    least_feed_m_per_s,
    steamer_limit,
)
from clew.line.heat.verdict import dryness_verdict, largest_doubts, sure_of_it
from clew.quantities import number
from clew.web.drawn.figures import Figures, tight
from clew.web.heat import figures as heat
from clew.web.knots.money import small_sum

STEAM_KEYS = ("softening", "superheat", "cool_steam", "short_dwell", "long_dwell", "assumed_fibre")
"""Warnings of the room that belong to Steam."""
DRY_KEYS = (
    "dryer_short", "over_dried", "softening", "harsh", "outside_correlation", "uncalibrated_bed",
    "assumed_fibre",
)  # fmt: skip
"""Those that belong to Dry."""
_HOTTER_K = 0.5
"""Steam that is so much above boiling is said beside what the yarn gets to [K]."""


def bulk_words(answer: HeatBalance, figures: Figures) -> tuple[str, str]:
    """Say whether the yarn gets its full bulk.

    Parameters
    ----------
    answer : HeatBalance
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
        said = say("the yarn gets to {zone}, and full bulk takes {needs}", zone=zone, needs=needs)
        return say("No full bulk"), said
    if steam.dwell_s < steam.full_dwell_s:
        part = tight(figure(f"{number(100.0 * steam.bulk_frac, 3)} %"))
        said = say(
            "{dwell} in steam of {steam} gives {part} of the shrink; full bulk takes {full}",
            dwell=dwell,
            steam=tried,
            part=part,
            full=full,
        )
        return say("Short of full bulk"), said
    verdict = (
        say("Full bulk, but too long in steam")
        if steam.dwell_s > terms.longest_dwell_s
        else say("Full bulk")
    )
    said = say(
        "the yarn lies {dwell} in steam of {steam}; the bulk is there after {full}",
        dwell=dwell,
        steam=tried,
        full=full,
    )
    if terms.steam_c > steam.boiling_c + _HOTTER_K:
        hottest = say("the yarn itself gets no hotter than {zone}", zone=zone)
        said = joined("; ", (said, hottest))
    return verdict, said


def steam_keys(answer: HeatBalance) -> tuple[str, ...]:
    """Name the warnings that Steam shows: a short dwell in hot steam is the verdict already."""
    hot = answer.steamed.zone_c >= answer.terms.full_bulk_c
    return tuple(key for key in STEAM_KEYS if not (hot and key == "short_dwell"))


def steam_words(answer: HeatBalance, figures: Figures) -> tuple[str, str]:
    """Say what steam it takes: the steam with its fuel, and where that steam goes."""
    terms, demand, money = answer.terms, answer.steamed.demand, answer.money.steam_money_per_h
    drawn = heat.heavy(demand.total_kg_per_h, figures)
    drawn = (
        say("{steam} of steam an hour", steam=drawn)
        if money is None
        else say(
            "{steam} of steam an hour, {money} an hour of fuel",
            steam=drawn,
            money=tight(small_sum(money, terms.currency)),
        )
    )
    yarn = heat.heavy(terms.yarn_kg_per_h, figures)
    onto = heat.heavy(demand.wet_kg_per_h, figures)
    lost = demand.losses_kg_per_h
    where = say(
        "{steam} of it an hour condenses on {yarn} of yarn and warms it.", steam=onto, yarn=yarn
    )
    losses = (
        say(
            "{steam} an hour goes by slots, shell and pipes, as stated.",
            steam=heat.heavy(lost, figures),
        )
        if lost
        else say(
            "What slots, shell and pipes lose is not stated: real steamers draw two to five times "
            "the least (recalled)."
        )
    )
    return drawn, joined(" ", (where, losses))


def room_words(answer: HeatBalance, figures: Figures) -> str:
    """Say between which feeds the steamer does its work; empty where it never does."""
    terms = answer.terms
    most = steamer_limit(terms).feed_m_per_s
    if most == 0.0:
        return ""
    least = least_feed_m_per_s(terms)
    said = [
        say(
            "The steamer allows up to {feed} of feed, the belt going along.",
            feed=figures.speed(most),
        )
    ]
    if least > 0.0:
        said.append(
            say(
                "Below {feed} the yarn would lie longer than the {longest} in steam that the mill "
                "file allows.",
                feed=figures.speed(least),
                longest=heat.seconds(terms.longest_dwell_s),
            )
        )
    now = figures.speed(terms.feed_m_per_s)
    if terms.feed_m_per_s > most:
        said.append(say("The feed of {feed} is too fast for it.", feed=now))
    elif terms.feed_m_per_s < least:
        said.append(say("The feed of {feed} is too slow for it.", feed=now))
    else:
        said.append(say("The feed is {feed}.", feed=now))
    return joined(" ", said)


def dry_words(answer: HeatAnswer) -> tuple[str, str]:
    """Say whether the yarn comes off dry enough: the verdict, and the regains behind it."""
    cooled, wanted = answer.dried.regain_cooled_frac, answer.terms.regain_wanted_frac
    said = say(
        "{cooled} regain once cooled, {wanted} wanted",
        cooled=heat.regain(cooled),
        wanted=heat.regain(wanted),
    )
    return dryness_verdict(answer), said


def sure_words(answer: HeatAnswer) -> tuple[str, str]:
    """Say how sure that is, and what makes the doubt."""
    doubt = answer.doubt
    band = say(
        "the regain may be {between}",
        between=heat.regains(doubt.cooled_low_frac, doubt.cooled_high_frac),
    )
    most = largest_doubts(doubt)
    return sure_of_it(doubt), joined("; ", (band, most)) if most else band


def belt_words(answer: HeatAnswer) -> str:
    """Say what another speed of the belt alone does to the drying."""
    if answer.terms.air_way != "over":
        return say("A faster belt lays the yarn thinner and takes it through in less time.")
    return say(
        "The speed of the belt alone does not change the regain: a faster belt lays the yarn "
        "thinner, so the same area of lay dries it for a shorter time."
    )


def needed_words(answer: HeatAnswer) -> str:
    """Say what time the regain wanted takes."""
    constant, falling = answer.needed_s
    if math.isinf(falling):
        return say("no dwell in this air gives the regain wanted")
    time = heat.seconds(constant + falling)
    if constant == 0.0:
        return say("the regain wanted takes {time}, all of it at a falling rate", time=time)
    if falling == 0.0:
        return say("the regain wanted takes {time}, all of it at a constant rate", time=time)
    return say(
        "the regain wanted takes {time}: {constant} at a constant, {falling} at a falling rate",
        time=time,
        constant=heat.seconds(constant),
        falling=heat.seconds(falling),
    )


def limit_words(limits: SpeedLimits, figures: Figures) -> tuple[str, str]:
    """Say what limits the line, and where it runs."""
    first, now = limits.first, limits.feed_m_per_s
    if first.feed_m_per_s == 0.0:
        return _NO_SPEED[first.station], why_words(first, figures)
    if math.isinf(first.feed_m_per_s):
        return say("Nothing that was stated limits the speed"), ""
    head = _LIMITS_THE_LINE[first.station](figures.speed(first.feed_m_per_s))
    off = number(100.0 * abs(now / first.feed_m_per_s - 1.0), 2)
    places = {"feed": figures.speed(now), "off": tight(figure(f"{off} %"))}
    if off == "0":
        runs = say("it runs at {feed}, just there", feed=figures.speed(now))
    elif now > first.feed_m_per_s:
        runs = say("it runs at {feed}, {off} above that", **places)
    else:
        runs = say("it runs at {feed}, {off} below that", **places)
    if now < limits.least_feed_m_per_s:
        least = figures.speed(limits.least_feed_m_per_s)
        too_long = say("below {feed} the yarn lies too long in steam", feed=least)
        runs = joined("; ", (runs, too_long))
    return head, runs


_NO_SPEED = {
    "steamer": say("No speed will do for the steamer"),
    "dryer": say("No speed will do for the dryer"),
    "winder": say("No speed will do for the winder"),
    "hands": say("No speed will do for the hands"),
    "feed": say("No speed will do for the feed"),
}
_LIMITS_THE_LINE: dict[str, Callable[[str], str]] = {
    "steamer": lambda feed: say("The steamer limits the line: {feed} of feed", feed=feed),
    "dryer": lambda feed: say("The dryer limits the line: {feed} of feed", feed=feed),
    "winder": lambda feed: say("The winder limits the line: {feed} of feed", feed=feed),
    "hands": lambda feed: say("The hands limit the line: {feed} of feed", feed=feed),
    "feed": lambda feed: say("The feed limits the line: {feed} of feed", feed=feed),
}
_ALLOWS: dict[str, Callable[[str], str]] = {
    "steamer": lambda feed: say("steamer allows {feed}", feed=feed),
    "dryer": lambda feed: say("dryer allows {feed}", feed=feed),
    "winder": lambda feed: say("winder allows {feed}", feed=feed),
    "hands": lambda feed: say("hands allow {feed}", feed=feed),
    "feed": lambda feed: say("feed allows {feed}", feed=feed),
}
STATION_WORDS = {
    "steamer": say("steamer"),
    "dryer": say("dryer"),
    "winder": say("winder"),
    "hands": say("hands"),
    "feed": say("feed"),
}
"""What the stations of a limit are called."""


def allowed_words(limits: SpeedLimits, figures: Figures) -> str:
    """Say the first limit in a few words, to stand by the sliders."""
    first = limits.first
    if first.feed_m_per_s == 0.0:
        return first_lower(_NO_SPEED[first.station])
    if math.isinf(first.feed_m_per_s):
        return say("no limit of speed")
    return _ALLOWS[first.station](figures.speed(first.feed_m_per_s))


def energy_words(answer: HeatAnswer, figures: Figures) -> str:
    """Say what drying takes on a mass of yarn, and with the steam what it costs."""
    money, terms = answer.money, answer.terms
    taken = heat.heat_on_mass(money.dryer_kwh_per_kg, figures)
    if money.money_per_kg is None or money.money_per_h is None:
        return say(
            "Drying takes {heat} of yarn. No price of fuel is stated: fuel_per_kwh under [prices] "
            "in the mill file.",
            heat=taken,
        )
    per_mass = heat.money_on_mass(money.money_per_kg, terms.currency, figures)
    an_hour = tight(small_sum(money.money_per_h, terms.currency))
    return say(
        "Drying takes {heat} of yarn; with the steam, the fuel is {money} of yarn, "
        "{money_an_hour} an hour.",
        heat=taken,
        money=per_mass,
        money_an_hour=an_hour,
    )


def warning_words(answer: HeatBalance, keys: tuple[str, ...], figures: Figures) -> list[str]:
    """Give the room's warnings that belong to a page, in the order the page wants them."""
    found = {one.key: one.text for one in answer.warnings}
    said = [heat.degrees_for(found[key], figures.units) for key in keys if key in found]
    return [heat.held_together(one) for one in said]


def why_words(limit: SpeedLimit, figures: Figures) -> str:
    """Say what a limit comes from."""
    return heat.held_together(heat.degrees_for(limit.why, figures.units))
