"""A simulated shift in words: what comes off, where the minutes go, what holds the line up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.line.layout import Layout
from clew.line.simulate.answer import Estimate, ShiftAnswer
from clew.quantities.show import number

CAUSE_WORDS = {
    "winding": "winding",
    "waiting_for_doff": "waiting for a doff",
    "doffing": "being doffed",
    "starved": "starved",
    "broken": "broken",
    "changing": "changing colour",
    "resting": "waiting while every hand rests",
}
"""What a winder's seconds go to."""
FEED_WORDS = {
    "full": "belt stopped, buffer full",
    "starved": "no tied cone",
    "broken": "strand broken",
    "changing": "changing colour",
}
"""What a feed stands for."""
KIND_WORDS = {
    "doff": "doffs",
    "mend": "re-ties at the winder",
    "feed": "re-ties at the feed",
    "load": "cones loaded and tied",
    "change": "part balls pulled",
    "colour": "colours tied",
}
"""What hands are called for."""
WORTH_SAYING = 0.005
LEFT = 0.01
"""More than this part of what is fed stays behind: the winders do not keep up."""
_FEED_HOLDS_UP = {
    "starved": "The creel holds the line up: cones run out before the next is tied.",
    "changing": "Changes of colour hold the line up.",
    "broken": "Breaks at the feed hold the line up.",
}
_CAUTION = (
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
    caution : str
        The usual one.
    """

    headline: str
    holds_up: str
    reasons: tuple[str, ...]
    to_do: tuple[str, ...]
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
    )


def said(estimate: Estimate) -> str:
    """Write the mean of a count with its interval, as fine as it is known: ``95 (92 to 97)``."""
    if math.isnan(estimate.low):  # one shift tells nothing of its spread
        return number(estimate.mean, 3)
    half = 0.5 * (estimate.high - estimate.low)
    places = max(0, -math.floor(math.log10(half))) if half > 0.0 else 0
    mean, low, high = (
        f"{max(value, 0.0):.{min(places, 4)}f}"
        for value in (estimate.mean, estimate.low, estimate.high)
    )
    return mean if low == high == mean else f"{mean} ({low} to {high})"


def percent(share: float, digits: int = 2) -> str:
    """Write a share: ``12 %``, ``0.3 %``; nothing smaller than what can be told from nothing."""
    if share == 0.0:
        return "0 %"
    return "below 0.01 %" if share < 1e-4 else f"{number(100.0 * share, digits)} %"


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
        return (
            f"Winders and hands take less than the feed brings: {number(left_m, 2)} m a shift, "
            "before steam, stay in the buffers, until they are full."
        )
    return (
        f"The feed sets the pace: it stands {percent(answer.feed_stop_frac)} of the time, and the "
        "winders take all that it brings."
    )


def _belt_fills(answer: ShiftAnswer) -> str:
    layout = answer.layout
    share = {cause: one.mean for cause, one in answer.winder_share.items()}
    if _pace_m_per_s(layout) < layout.feed_m_per_s:
        most = _pace_m_per_s(layout) / layout.feed_m_per_s
        return (
            f"Winders hold the line up: doffed at once they would take {percent(most)} of what "
            "the feed can bring, and the belt fills and stops."
        )
    if share["resting"] > share["waiting_for_doff"]:
        return (
            f"Rests hold the line up: full balls wait {percent(share['resting'])} of the winders' "
            "time while every hand rests, and the belt fills and stops."
        )
    return (
        f"Hands hold the line up: full balls wait {percent(share['waiting_for_doff'])} of the "
        f"winders' time, hands are busy {percent(answer.hand_busy_frac)} of theirs, and the belt "
        "fills and stops."
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
    rest = ", ".join(f"{percent(shares[cause])} {CAUSE_WORDS[cause]}" for cause in others)
    low, high = answer.balls_range
    reasons = [f"Winders: {percent(shares['winding'])} winding" + (f", {rest}." if rest else ".")]
    if answer.replications > 1:
        reasons.append(f"From shift to shift: 9 of 10 give {low} to {high} balls.")
    stops = {cause: one.mean for cause, one in answer.feed_share.items() if one.mean >= 1e-4}
    told = ", ".join(f"{percent(share)} {FEED_WORDS[cause]}" for cause, share in stops.items())
    why = f": {told}." if told else "."
    reasons.append(f"Feed: stands {percent(answer.feed_stop_frac)} of the time{why}")
    hands = {what: one.mean for what, one in answer.hand_share.items()}
    reasons.append(
        f"Hands: {percent(hands['serving'])} serving, {percent(hands['walking'])} walking "
        f"({number(answer.walked_km.mean, 2)} km each), {percent(hands['resting'])} at rest."
    )
    if answer.waits.share_longer:
        reasons.append(
            f"A full ball waits {number(answer.waits.mean_s, 2)} s for a hand, 19 of 20 at most "
            f"{number(answer.waits.p95_s, 3)} s."
        )
    reasons.append(
        f"The line makes {number(1000.0 * answer.joins_per_ball, 2)} joins in 1000 balls (cone "
        "ties and re-ties); what is on the cone already comes on top."
        if answer.joins_per_ball == answer.joins_per_ball
        else "No ball was filled."
    )
    return reasons


def _to_do(answer: ShiftAnswer) -> list[str]:
    second = answer.measures["second_balls"]
    if second.mean <= 0.0:
        return []
    layout = answer.layout
    borne = [f"{number(layout.steam_longest_s - layout.steam_s, 2)} s in steam"]
    if layout.dry_longest_s < math.inf:
        borne.append(f"{number(layout.dry_longest_s - layout.dry_s, 2)} s in the dryer")
    fewer = "see that full balls wait less, or feed slower; what helps most on this line, "
    if _pace_m_per_s(layout) < layout.feed_m_per_s:
        fewer = "feed slower or wind faster; what that is worth, "
    return [
        f"{said(second)} balls a shift are second-quality. While the belt stands, strand may lie "
        f"{' and '.join(borne)}; the longest stop was {number(answer.longest_stop_s, 3)} s.",
        "When a belt has stood longer than that: mark the coils then in steamer and dryer, and "
        "pull the balls they are wound into.",
        f'To have fewer: {fewer}"What to change" tells (clew line crew, the page Shift).',
    ]
