"""A simulated shift in words: what comes off, where the minutes go, what holds the line up."""

from __future__ import annotations

from dataclasses import dataclass

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
BUSY = 0.85
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
    return ShiftWords(
        headline=f"{said(answer.balls)} balls a shift, {number(answer.kg.mean, 3)} kg.",
        holds_up=_holds_up(answer),
        reasons=tuple(_reasons(answer)),
        to_do=tuple(_to_do(answer)),
    )


def said(estimate: Estimate, digits: int = 4) -> str:
    """Write a mean with its interval: ``3124 (3121 to 3128)``; to whole numbers from 100 on."""
    if estimate.low != estimate.low:  # one shift tells nothing of its spread
        return f"{_plain(estimate.mean, digits)} (one shift, no interval)"
    low, high = _plain(estimate.low, digits), _plain(estimate.high, digits)
    mean = _plain(estimate.mean, digits)
    return mean if low == high == mean else f"{mean} ({low} to {high})"


def _plain(value: float, digits: int) -> str:
    return f"{value:.0f}" if abs(value) >= 100.0 else number(value, digits - 1)


def percent(share: float, digits: int = 2) -> str:
    """Write a share: ``12 %``, ``0.3 %``; nothing smaller than what can be told from nothing."""
    if share == 0.0:
        return "0 %"
    return "below 0.01 %" if share < 1e-4 else f"{number(100.0 * share, digits)} %"


def _holds_up(answer: ShiftAnswer) -> str:
    winder = {cause: one.mean for cause, one in answer.winder_share.items()}
    feed = {cause: one.mean for cause, one in answer.feed_share.items()}
    lost = winder["waiting_for_doff"] + winder["resting"]
    if answer.feed_stop_frac < WORTH_SAYING and winder["starved"] >= WORTH_SAYING:
        return "The feed holds the line up: it never stands, and winders run dry of it."
    if answer.feed_stop_frac < WORTH_SAYING:
        return "Nothing holds the line up: the feed never stands."
    worst = max(feed, key=lambda cause: feed[cause])
    if worst == "full":
        if lost >= winder["doffing"] or answer.hand_busy_frac > BUSY:
            return (
                f"Hands hold the line up: full balls wait {percent(lost)} of the winders' time, "
                f"hands are busy {percent(answer.hand_busy_frac)} of theirs, and the belt fills "
                "and stops."
            )
        return "Winders hold the line up: they take no more, and the belt fills and stops."
    return _FEED_HOLDS_UP[worst]


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
    spare = [f"{number(layout.steam_longest_s - layout.steam_s, 3)} s in steam"]
    if layout.dry_longest_s < float("inf"):
        spare.append(f"{number(layout.dry_longest_s - layout.dry_s, 3)} s in the dryer")
    return [
        f"{said(second)} balls a shift are second-quality: their strand stood too long when the "
        f"belt stopped (longest stop {number(answer.longest_stop_s, 3)} s; it bears "
        f"{' and '.join(spare)} of stops).",
        "When a belt has stood longer than that: mark the coils then in steamer and dryer, and "
        "pull the balls they are wound into.",
        "To have fewer: doff full balls sooner (more hands, or doffs first), a larger buffer, or "
        "a slower feed.",
    ]
