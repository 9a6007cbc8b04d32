"""The first balls of a run, weighed on a mill's own line: what they say and what to set.

This joins the mill file, the expected ball and the exact update of `clew.ball.first.belief`; the
belief it returns is the one that later corrections continue.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from clew.ball.first.about import About
from clew.ball.first.belief import Belief, update
from clew.ball.first.line_settings import counter_of, expected_wind, line_settings, targets
from clew.ball.first.more_balls import WorthWeighing, worth_weighing
from clew.ball.first.next_balls import Wind, WinderView, winder_view
from clew.ball.first.odd_balls import BallCheck, check_fit
from clew.ball.first.start_belief import going_on, start_belief
from clew.ball.first.weighed import FirstBall
from clew.ball.first.winder_setting import WinderSetting
from clew.ball.from_mill import Terms
from clew.ball.turns import Binding, TurnsAnswer
from clew.faults import BadInput, Fault
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Prices


@dataclass(frozen=True, slots=True)
class WeighedBall:
    """One first ball as a hand writes it down.

    Attributes
    ----------
    ball : str
        Its number or name; no two alike.
    winder : int
        The winder's number.
    cones : tuple of (str, float)
        Cones it came from, with their shares of it [-].
    counts : float
        What the winder's own counter showed.
    mass_g : float
        Its mass, as weighed [g].
    length_m : float or None
        Its length at rest [m], where it was reeled.
    line : int or None
        Line of the file it was read from, for faults.
    """

    ball: str
    winder: int
    cones: tuple[tuple[str, float], ...]
    counts: float
    mass_g: float
    length_m: float | None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class WinderAdvice:
    """What the first balls say about one winder."""

    winder: int
    view: WinderView
    setting: WinderSetting
    weighing: WorthWeighing


@dataclass(frozen=True, slots=True)
class FirstRun:
    """What the first balls of a run say.

    Attributes
    ----------
    belief : Belief
        The mill's belief with these balls in it; later corrections continue it.
    advice : tuple of WinderAdvice
        One for each winder that a ball was weighed from.
    checks : tuple of BallCheck
        One for each ball: how it fits the others.
    target_mass_g, target_length_m : float
        What the mean ball is to be as weighed [g], and at rest [m].
    note : str
        What was carried over from another dye lot; empty otherwise.
    """

    belief: Belief
    advice: tuple[WinderAdvice, ...]
    checks: tuple[BallCheck, ...]
    target_mass_g: float
    target_length_m: float
    note: str = ""


def read_first_balls(
    terms: Terms,
    ball: Ball,
    line: Line,
    prices: Prices,
    answer: TurnsAnswer,
    weighed: Sequence[WeighedBall],
    *,
    lot_balls: int,
    about: About | None = None,
    belief: Belief | None = None,
) -> FirstRun:
    """Take first balls into the mill's belief and say what they mean for each winder.

    Parameters
    ----------
    terms, ball, line, prices
        The run, off the mill file.
    answer : TurnsAnswer
        The expected ball, before any was weighed.
    weighed : sequence of WeighedBall
        The balls; the last of each winder tells what that winder is set to now.
    lot_balls : int
        Balls the lot will make, for what a correction is worth.
    about : About, optional
        What the belief is about, off the mill file; a belief is gone on with only if it fits.
    belief : Belief, optional
        A belief to continue; the mill file's own when left out.

    Returns
    -------
    FirstRun
        The new belief, advice for each winder, and how each ball fits.

    Raises
    ------
    BadInput
        When the belief is about something else, a winder is not on the line, a ball was weighed
        before, or a reading cannot be one of these balls, with every fault.
    """
    before, note = start_belief(terms, line, answer, about), ""
    if belief is not None:
        before, note = going_on(belief, before)
    wind = expected_wind(terms, answer)
    taken = _taken(ball, line, wind, weighed)
    try:
        after = update(before, taken)
    except BadInput as bad:
        lines = {f'ball "{one.ball}"': one.line for one in weighed}
        raise BadInput(
            replace(fault, line=lines.get(fault.section, fault.line)) for fault in bad.faults
        ) from None
    checks = check_fit(before, taken)
    after = replace(after, odd=after.odd + tuple(one.ball_id for one in checks if one.odd))
    settings = line_settings(after, wind, terms, ball, line, answer, prices, lot_balls=lot_balls)
    cone_now = {one.winder: one.cones[-1][0] for one in weighed}
    by_winder = {setting.winder: setting for setting in settings}
    target_mass, target_length = targets(terms, answer)
    binding: Binding = answer.binding
    advice = tuple(
        WinderAdvice(
            number,
            winder_view(after, str(number)),
            by_winder[str(number)],
            worth_weighing(
                after,
                str(number),
                present_cone=cone,
                expected_mass_g=answer.as_weighed_g,
                lot_balls=lot_balls,
                price_per_kg=prices.yarn_per_kg,
                weighing_cost=prices.weigh_each,
                binding=binding,
            ),
        )
        for number, cone in cone_now.items()
    )
    return FirstRun(after, advice, checks, target_mass, target_length, note)


def _taken(ball: Ball, line: Line, wind: Wind, weighed: Sequence[WeighedBall]) -> list[FirstBall]:
    """Put beside each ball what was expected at its turns; refuses every one that cannot be."""
    taken: list[FirstBall] = []
    faults: list[Fault] = []
    for one in weighed:
        try:
            turns = counter_of(line, ball, one.winder).turns_of_counts(one.counts)
            length_m, mass_g = wind.at(turns)
        except BadInput as bad:
            section = f'ball "{one.ball}"'
            faults += [replace(fault, section=section, line=one.line) for fault in bad.faults]
            continue
        taken.append(
            FirstBall(
                one.ball,
                str(one.winder),
                one.cones,
                turns,
                one.mass_g,
                one.length_m,
                mass_g,
                length_m,
            )
        )
    if faults:
        raise BadInput(faults)
    return taken
