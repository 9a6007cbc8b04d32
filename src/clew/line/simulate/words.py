"""A simulated shift in words: what comes off, where the minutes go, what holds the line up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from clew.languages import figure, joined, say
from clew.line.layout import Layout
from clew.line.simulate.answer import Estimate, ShiftAnswer
from clew.quantities.show import number

CAUSE_WORDS = {
    "winding": say("winding"),
    "waiting_for_doff": say("waiting for a doff"),
    "doffing": say("being doffed"),
    "starved": say("starved"),
    "broken": say("broken"),
    "changing": say("changing colour"),
    "resting": say("waiting while every hand rests"),
}
"""What a winder's seconds go to."""
FEED_WORDS = {
    "full": say("belt stopped, buffer full"),
    "starved": say("no tied cone"),
    "broken": say("strand broken"),
    "changing": say("changing colour"),
}
"""What a feed stands for."""
KIND_WORDS = {
    "doff": say("doffs"),
    "mend": say("re-ties at the winder"),
    "feed": say("re-ties at the feed"),
    "load": say("cones loaded and tied"),
    "change": say("part balls pulled"),
    "colour": say("colours tied"),
}
"""What hands are called for."""
WORTH_SAYING = 0.005
LEFT = 0.01
"""More than this part of what is fed stays behind: the winders do not keep up."""
_FEED_HOLDS_UP = {
    "starved": say("The creel holds the line up: cones run out before the next is tied."),
    "changing": say("Changes of colour hold the line up."),
    "broken": say("Breaks at the feed hold the line up."),
}
_CAUTION = say(
    "Reach for a strand, a full ball or the belt only as your own safety rules say: winders, belt "
    "and steamer can start of themselves."
)


@dataclass(frozen=True, slots=True)
class ShiftWords:
    """A shift in words.

    Attributes
    ----------
    headline : str
        What comes off.
    holds_up : str
        What holds the line up most.
    reasons : tuple of str
        Where the time goes, a sentence each.
    to_do : tuple of str
        What to do about strand that stood too long; empty when none did.
    second : str
        How many balls are second-quality by that; empty when none are.
    caution : str
        The usual one.
    """

    headline: str
    holds_up: str
    reasons: tuple[str, ...]
    to_do: tuple[str, ...]
    second: str
    caution: str = _CAUTION


def shift_words(answer: ShiftAnswer) -> ShiftWords:
    """Say what a shift gives.

    Parameters
    ----------
    answer : ShiftAnswer
        The shift.

    Returns
    -------
    ShiftWords
        Its words.
    """
    balls = f"{said(answer.balls)} balls a shift"
    if answer.replications == 1:
        balls = f"{answer.balls.mean:.0f} balls in the one shift that was drawn"
    return ShiftWords(
        headline=f"{balls}, {number(answer.kg.mean, 3)} kg.",
        holds_up=_holds_up(answer),
        reasons=tuple(_reasons(answer)),
        to_do=tuple(_to_do(answer)),
        second=_second(answer),
    )


def said(estimate: Estimate) -> str:
    """Write the mean of a count with its interval, as fine as it is known: ``95 (92 to 97)``."""
    mean, between = mean_and_interval(estimate)
    return say("{mean} ({between})", mean=mean, between=between) if between else mean


def mean_and_interval(estimate: Estimate) -> tuple[str, str]:
    """Write the mean of a count and its interval, empty where there is none to tell."""
    if math.isnan(estimate.low):  # one shift tells nothing of its spread
        return number(estimate.mean, 3), ""
    half = 0.5 * (estimate.high - estimate.low)
    places = max(0, -math.floor(math.log10(half))) if half > 0.0 else 0
    mean, low, high = (
        figure(f"{max(value, 0.0):.{min(places, 4)}f}")
        for value in (estimate.mean, estimate.low, estimate.high)
    )
    if low == high == mean:
        return mean, ""
    return mean, say("{low} to {high}", low=low, high=high)


def percent(share: float, digits: int = 2) -> str:
    """Write a share: ``12 %``, ``0.3 %``; nothing smaller than what can be told from nothing."""
    if share == 0.0:
        return "0 %"
    if share < 1e-4:
        return say("below {share}", share=figure("0.01 %"))
    return figure(f"{number(100.0 * share, digits)} %")


def shares_said(shares: Mapping[str, float], order: Iterable[str], names: Mapping[str, str]) -> str:
    """Write what shares go to, one after another: ``67 % winding, 20 % waiting for a doff``."""
    return joined(
        ", ",
        [say("{share} {what}", share=percent(shares[key]), what=names[key]) for key in order],
    )


def _holds_up(answer: ShiftAnswer) -> str:
    if answer.feed_stop_frac < WORTH_SAYING:
        return _feed_runs(answer)
    stops = {cause: one.mean for cause, one in answer.feed_share.items()}
    worst = max(stops, key=lambda cause: stops[cause])
    return _belt_fills(answer) if worst == "full" else _FEED_HOLDS_UP[worst]


def _feed_runs(answer: ShiftAnswer) -> str:
    books = answer.books
    left_m = books.laid_m - books.wound_m - books.waste_m
    if left_m > LEFT * books.laid_m:
        return say(
            "Winders and hands take less than the feed brings: {length} a shift, before steam, "
            "stay in the buffers, until they are full.",
            length=figure(f"{number(left_m, 2)} m"),
        )
    return say(
        "The feed sets the pace: it stands {share} of the time, and the winders take all that it "
        "brings.",
        share=percent(answer.feed_stop_frac),
    )


def _belt_fills(answer: ShiftAnswer) -> str:
    layout = answer.layout
    share = {cause: one.mean for cause, one in answer.winder_share.items()}
    if _pace_m_per_s(layout) < layout.feed_m_per_s:
        return say(
            "Winders hold the line up: doffed at once they would take {share} of what the feed "
            "can bring, and the belt fills and stops.",
            share=percent(_pace_m_per_s(layout) / layout.feed_m_per_s),
        )
    if share["resting"] > share["waiting_for_doff"]:
        return say(
            "Rests hold the line up: full balls wait {share} of the winders' time while every "
            "hand rests, and the belt fills and stops.",
            share=percent(share["resting"]),
        )
    return say(
        "Hands hold the line up: full balls wait {share} of the winders' time, hands are busy "
        "{busy} of theirs, and the belt fills and stops.",
        share=percent(share["waiting_for_doff"]),
        busy=percent(answer.hand_busy_frac),
    )


def _pace_m_per_s(layout: Layout) -> float:
    """Strand a winder takes that is doffed without a wait [m/s]."""
    return layout.ball_m / (layout.ball_m / layout.wind_m_per_s + layout.doff_s)


def _reasons(answer: ShiftAnswer) -> list[str]:
    shares = {cause: one.mean for cause, one in answer.winder_share.items()}
    others = sorted(
        (cause for cause in shares if cause != "winding" and shares[cause] >= WORTH_SAYING),
        key=lambda cause: -shares[cause],
    )
    low, high = answer.balls_range
    told = shares_said(shares, ("winding", *others), CAUSE_WORDS)
    reasons = [say("Winders: {shares}.", shares=told)]
    if answer.replications > 1:
        words = say("From shift to shift: 9 of 10 give {low} to {high} balls.", low=low, high=high)
        reasons.append(words)
    reasons.append(_feed_stands(answer))
    hands = {what: one.mean for what, one in answer.hand_share.items()}
    reasons.append(
        say(
            "Hands: {serving} serving, {walking} walking ({way} each), {resting} at rest.",
            serving=percent(hands["serving"]),
            walking=percent(hands["walking"]),
            way=figure(f"{number(answer.walked_km.mean, 2)} km"),
            resting=percent(hands["resting"]),
        )
    )
    if answer.waits.share_longer:
        reasons.append(
            say(
                "A full ball waits {wait} for a hand, 19 of 20 at most {longest}.",
                wait=figure(f"{number(answer.waits.mean_s, 2)} s"),
                longest=figure(f"{number(answer.waits.p95_s, 3)} s"),
            )
        )
    reasons.append(
        say(
            "The line makes {joins} joins in 1000 balls (cone ties and re-ties); what is on the "
            "cone already comes on top.",
            joins=number(1000.0 * answer.joins_per_ball, 2),
        )
        if answer.joins_per_ball == answer.joins_per_ball
        else say("No ball was filled.")
    )
    return reasons


def _feed_stands(answer: ShiftAnswer) -> str:
    stops = {cause: one.mean for cause, one in answer.feed_share.items() if one.mean >= 1e-4}
    share = percent(answer.feed_stop_frac)
    if not stops:
        return say("Feed: stands {share} of the time.", share=share)
    causes = shares_said(stops, stops, FEED_WORDS)
    return say("Feed: stands {share} of the time: {causes}.", share=share, causes=causes)


def _second(answer: ShiftAnswer) -> str:
    second = answer.measures["second_balls"]
    if second.mean <= 0.0:
        return ""
    return say("{balls} balls a shift are second-quality.", balls=said(second))


def _to_do(answer: ShiftAnswer) -> list[str]:
    second = _second(answer)
    if not second:
        return []
    layout = answer.layout
    steam = figure(f"{number(layout.steam_longest_s - layout.steam_s, 2)} s")
    stop = figure(f"{number(answer.longest_stop_s, 3)} s")
    if layout.dry_longest_s < math.inf:
        borne = say(
            "While the belt stands, strand may lie {steam} in steam and {dryer} in the dryer; the "
            "longest stop was {stop}.",
            steam=steam,
            dryer=figure(f"{number(layout.dry_longest_s - layout.dry_s, 2)} s"),
            stop=stop,
        )
    else:
        borne = say(
            "While the belt stands, strand may lie {steam} in steam; the longest stop was {stop}.",
            steam=steam,
            stop=stop,
        )
    fewer = say(
        "To have fewer: see that full balls wait less, or feed slower; what helps most on this "
        'line, "What to change" tells (clew line crew, the page Shift).'
    )
    if _pace_m_per_s(layout) < layout.feed_m_per_s:
        fewer = say(
            "To have fewer: feed slower or wind faster; what that is worth, "
            '"What to change" tells (clew line crew, the page Shift).'
        )
    pull = say(
        "When a belt has stood longer than that: mark the coils then in steamer and dryer, and "
        "pull the balls they are wound into."
    )
    return [joined(" ", (second, borne)), pull, fewer]
