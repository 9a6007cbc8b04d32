"""Where every tie is, in words: what to pull, and when."""

from __future__ import annotations

from collections.abc import Callable

from clew.line.tracker.answer import Span, TieAnswer, WhereAnswer
from clew.line.tracker.colours import ColourChange
from clew.line.tracker.landing import BallChance, Landing
from clew.quantities.show import number

Clock = Callable[[float], str]
"""Writes a time of the events' clock [s] as people read it."""

_CALLED = {"tie": "Tie", "retie": "Re-tie", "colour": "Colour tie"}
_AT = {
    "lay-down": "at lay-down",
    "steamer": "in the steamer",
    "dryer": "in the dryer",
    "buffer": "in the buffer",
    "winder": "at the winder",
}
_ALL = 0.9995
"""From here on a chance is written as sure."""


def tie_words(tie: TieAnswer, clock: Clock) -> str:
    """Say in one sentence where a tie is, where it lands and what to do.

    Parameters
    ----------
    tie : TieAnswer
        The tie.
    clock : callable
        Writes a time.

    Returns
    -------
    str
        The sentence.
    """
    head = f"{_CALLED[tie.event.kind]} of {clock(tie.event.at_s)} on lane {tie.lane}"
    if tie.event.kind == "colour" and tie.event.name:
        head += f" ({tie.event.name})"
    if tie.seen_s is not None:
        where = f"was seen at winder {tie.winder} at {clock(tie.seen_s)}"
        return f"{head} {where}; {_lands(tie.landing, past=True)}: {_pull(tie)}."
    if tie.passed_chance > 0.5:
        sure = "is past" if tie.passed_chance > _ALL else "is probably past"
        return f"{head} {sure} winder {tie.winder}; {_lands(tie.landing, past=True)}: {_pull(tie)}."
    metres = tie.to_winder_m
    time = "the winder stands" if tie.in_s is None else f"about {minutes(tie.in_s.middle)}"
    return (
        f"{head} is {_AT.get(tie.station, 'on the ' + tie.station)}, "
        f"{number(max(metres.middle, 0.0), 3)} m before winder {tie.winder} "
        f"({_range(metres)}), {time}; {_lands(tie.landing, past=False)}: {_pull(tie)}."
    )


def minutes(time_s: float) -> str:
    """Write a time from now in minutes, below a minute and a half in seconds."""
    time_s = max(time_s, 0.0)
    return f"{time_s:.0f} s" if time_s < 90.0 else f"{number(time_s / 60.0, 2)} min"


def chance(share: float) -> str:
    """Write a chance in whole per cent; never 100 or 0 where it is not."""
    if share >= _ALL:
        return "sure"
    return "99.9 %" if share >= 0.995 else f"{max(100.0 * share, 1.0):.0f} %"


def _range(span: Span) -> str:
    return f"{number(max(span.low, 0.0), 3)} to {number(max(span.high, 0.0), 3)}"


def balls_words(balls: tuple[BallChance, ...], most: int = 3) -> str:
    """Name the likeliest balls with their chances, and what is left for all others."""
    ranked = sorted(balls, key=lambda one: (-one.chance, one.ball))
    if ranked[0].chance >= _ALL:
        return f"ball {ranked[0].ball}"
    named = [one for one in ranked[:most] if one.chance >= 0.005] or ranked[:1]
    words = [f"{one.ball} {chance(one.chance)}" for one in named]
    left = sum(one.chance for one in ranked) - sum(one.chance for one in named)
    if left >= 0.005:
        words.append(f"another {chance(left)}")
    return "ball " + ", ".join(words)


def _lands(landing: Landing, *, past: bool) -> str:
    place, best = landing.place, landing.best
    will = "it lies in" if past else "it will land in"
    if place.waste and best.waste_chance > 0.5 * best.chance:
        return f"{'it went' if past else 'it will go'} past ball {best.ball} with the waste"
    told = balls_words(landing.balls)
    if len(landing.pull) == 1 and place.ball == best.ball:
        return f"{will} {told}, at turn {place.turn:.0f}"
    return f"{will} {told}"


def pull_words(landing: Landing) -> str:
    """Name the balls to pull."""
    if len(landing.pull) == 1:
        return f"pull ball {landing.pull[0]}"
    return f"pull balls {balls_named(landing.pull)} and look which has it"


def balls_named(balls: tuple[int, ...]) -> str:
    """Write the numbers of balls: ``41``, ``41 and 42``, ``41 to 44``."""
    if len(balls) > 2 and balls[-1] - balls[0] == len(balls) - 1:
        return f"{balls[0]} to {balls[-1]}"
    if len(balls) == 1:
        return str(balls[0])
    return f"{', '.join(str(ball) for ball in balls[:-1])} and {balls[-1]}"


def _pull(tie: TieAnswer) -> str:
    words = pull_words(tie.landing)
    if tie.off_s is None:
        return words
    if tie.off_s <= 0.0:
        return f"{words}, off already"
    return f"{words}, off in {minutes(tie.off_s)}"


def change_words(change: ColourChange) -> str:
    """Say what a change of colour costs, in one sentence.

    Parameters
    ----------
    change : ColourChange
        The change.

    Returns
    -------
    str
        The sentence.
    """
    colour = f" to {change.colour}" if change.colour else ""
    plural = "" if change.balls == 1 else "s"
    words = (
        f"Change{colour}: {change.balls} ball{plural} of {len(change.lanes)} lane"
        f"{'' if len(change.lanes) == 1 else 's'} to second quality, "
        f"{number(change.held_m, 3)} m; all mixed balls are among them ({chance(change.sure)})."
    )
    if change.without:
        lanes = ", ".join(str(lane) for lane in change.without)
        words += f" No colour tie was told of lane{'s' * (len(change.without) > 1)} {lanes}."
    return words


def recent(found: WhereAnswer, balls_back: int = 2) -> tuple[TieAnswer, ...]:
    """Ties that still matter: on their way, or in one of the latest balls.

    Parameters
    ----------
    found : WhereAnswer
        The answer.
    balls_back : int
        How many balls before the one on the winder are still at hand.

    Returns
    -------
    tuple of TieAnswer
        By lane, soonest at the winder first.
    """
    on = {one.lane: one.ball for one in found.lanes}
    kept = [one for one in found.ties if max(one.landing.pull) >= on[one.lane] - balls_back]
    return tuple(sorted(kept, key=lambda one: (one.lane, one.to_winder_m.middle)))
