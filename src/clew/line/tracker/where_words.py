"""Where every tie is, in words: what to pull, and when."""

from __future__ import annotations

from collections.abc import Callable

from clew.line.tracker.answer import Span, TieAnswer, WhereAnswer
from clew.line.tracker.colours import ColourChange
from clew.line.tracker.landing import BallChance, Landing
from clew.quantities.show import number

Clock = Callable[[float], str]
"""Writes a time of the events' clock [s] as people read it."""

_CALLED = {"tie": "tie", "retie": "re-tie", "colour": "colour tie"}
_AT = {
    "lay-down": "at lay-down",
    "steamer": "in the steamer",
    "dryer": "in the dryer",
    "buffer": "in the buffer",
    "winder": "at the winder",
}
_ALL = 0.9995
"""From here on a chance is written as sure."""


def tie_words(tie: TieAnswer, clock: Clock, *, stale: bool = False) -> str:
    """Say in one sentence what to do about a tie, where it is and where it lands.

    Parameters
    ----------
    tie : TieAnswer
        The tie.
    clock : callable
        Writes a time.
    stale : bool
        Whether the line was silent for too long to say where the tie is, or to be sure of a ball.

    Returns
    -------
    str
        The sentence.
    """
    head = f"{_CALLED[tie.event.kind]} of {clock(tie.event.at_s)} on lane {tie.lane}"
    if tie.event.kind == "colour" and tie.event.name:
        head += f" ({tie.event.name})"
    if stale:
        balls = f"ball{_s(len(tie.landing.pull))} {balls_named(tie.landing.pull)}"
        return f"Perhaps {balls} of winder {tie.winder}: {head}."
    told = f"{_pull(tie)}: {head}"
    if tie.seen_s is not None:
        return f"{told} was seen there at {clock(tie.seen_s)}; {_lands(tie.landing, past=True)}."
    if tie.passed_chance > 0.5:
        sure = "is past" if tie.passed_chance > _ALL else "is probably past"
        return f"{told} {sure} the winder; {_lands(tie.landing, past=True)}."
    metres = tie.to_winder_m
    time = "the winder stands" if tie.in_s is None else f"there in about {minutes(tie.in_s.middle)}"
    return (
        f"{told} is {_AT.get(tie.station, 'on the ' + tie.station)}, "
        f"{number(max(metres.middle, 0.0), 3)} m before the winder "
        f"({_range(metres)} m, after steam), {time}; {_lands(tie.landing, past=False)}."
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
    words = [ball_words(one) for one in named]
    left = sum(one.chance for one in ranked) - sum(one.chance for one in named)
    if left >= 0.005:
        words.append(f"another ({chance(left)})")
    return "ball " + " or ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def ball_words(one: BallChance) -> str:
    """Write a ball's number with its chance: ``84 (90 %)``; by itself where it is sure."""
    return str(one.ball) if one.chance >= _ALL else f"{one.ball} ({chance(one.chance)})"


def _lands(landing: Landing, *, past: bool) -> str:
    place, best = landing.place, landing.best
    will = "it lies in" if past else "it will land in"
    if place.waste and best.waste_chance > 0.5 * best.chance:
        return f"{'it went' if past else 'it will go'} past ball {best.ball} with the waste"
    told = balls_words(landing.balls)
    if len(landing.pull) == 1 and place.ball == best.ball:
        return f"{will} {told}, at turn {place.turn:.0f}"
    return f"{will} {told}"


def pull_words(landing: Landing, winder: int) -> str:
    """Name the balls to pull."""
    if len(landing.pull) == 1:
        return f"Pull ball {landing.pull[0]} of winder {winder}"
    return f"Pull balls {balls_named(landing.pull)} of winder {winder} and look which has it"


def balls_named(balls: tuple[int, ...]) -> str:
    """Write the numbers of balls: ``41``, ``41 and 42``, ``41 to 44``, ``41 to 44 and 46``."""
    runs: list[list[int]] = []
    for ball in balls:
        if runs and ball == runs[-1][-1] + 1:
            runs[-1].append(ball)
        else:
            runs.append([ball])
    words: list[str] = []
    for run in runs:
        words += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(ball) for ball in run]
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def _pull(tie: TieAnswer) -> str:
    words = pull_words(tie.landing, tie.winder)
    if tie.off_s is None:
        return words
    if tie.off_s <= 0.0:
        return f"{words}, off already"
    return f"{words}, off in {minutes(tie.off_s)}"


def change_words(change: ColourChange, *, stale: bool = False) -> str:
    """Say what a change of colour costs, in one sentence.

    Parameters
    ----------
    change : ColourChange
        The change.
    stale : bool
        Whether the line was silent for too long to be sure of any ball.

    Returns
    -------
    str
        The sentence.
    """
    mixed = len(change.lanes)
    head = f"Change to {change.colour}" if change.colour else "Change of colour"
    words = f"{head}: {mixed} mixed ball{_s(mixed)}{', one a lane' if mixed > 1 else ''}; "
    metres = f"{number(change.held_m, 3)} m after steam"
    if stale:
        words += f"perhaps among {change.balls} ball{_s(change.balls)}."
    elif change.balls == mixed:
        words += f"pull {'them' if mixed > 1 else 'it'} ({chance(change.sure)}), {metres}."
    else:
        words += (
            f"to be sure of {'them' if mixed > 1 else 'it'} ({chance(change.sure)}) pull "
            f"{change.balls} and look, {metres}."
        )
    if change.without:
        lanes = ", ".join(str(lane) for lane in change.without)
        words += f" No colour tie was told of lane{_s(len(change.without))} {lanes}."
    return words


def told_words(found: WhereAnswer) -> str:
    """Count the ties that were told, and those that still matter."""
    matter = len(recent(found))
    if found.told == 0:
        return "no tie told"
    some = "all" if matter == found.told > 1 else str(matter or "none")
    here = "" if found.told == matter == 1 else f"{some} "
    return f"{found.told} tie{_s(found.told)} told, {here}on the way or in the latest balls"


def _s(many: int) -> str:
    return "" if many == 1 else "s"


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
