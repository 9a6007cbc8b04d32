"""The first balls of a run, weighed on a mill's own line: what they say and what to set.

This joins the mill file, the expected ball and the exact update of `clew.ball.belief`; the belief
it returns is the one that later corrections continue.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.ball.belief import Belief, prior_belief, update
from clew.ball.counter import Counter
from clew.ball.first_balls import Wind, WinderView, winder_view
from clew.ball.from_mill import Terms
from clew.ball.more_balls import WorthWeighing, worth_weighing
from clew.ball.odd_balls import BallCheck, check_fit
from clew.ball.turns import Binding, TurnsAnswer
from clew.ball.weighed import FirstBall
from clew.ball.wind import build, length_at
from clew.ball.winder_setting import PresentSetting, WinderSetting, winder_settings
from clew.faults import BadInput, Fault
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Prices

REACH = 1.6
"""How much further than the set turns the expected ball is wound, to ask changes of it."""


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
    """

    ball: str
    winder: int
    cones: tuple[tuple[str, float], ...]
    counts: float
    mass_g: float
    length_m: float | None


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
    """

    belief: Belief
    advice: tuple[WinderAdvice, ...]
    checks: tuple[BallCheck, ...]
    target_mass_g: float
    target_length_m: float


def counter_of(line: Line, ball: Ball, winder: int) -> Counter:
    """Find the counter of a winder; raises `BadInput` when the line has no such winder."""
    for one in line.winder:
        if one.number == winder:
            return Counter(one.counter_on, one.turns_per_count, ball.wind_ratio)
    numbers = ", ".join(str(one.number) for one in line.winder)
    raise BadInput(
        Fault(
            f"no such winder on {line.name}",
            expected=f"one of {numbers}",
            key="winder",
            value=str(winder),
        )
    )


def start_belief(terms: Terms, line: Line, answer: TurnsAnswer) -> Belief:
    """State what the mill file itself makes one believe before a ball is weighed.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    line : Line
        The line, with its winders, scale and reel.
    answer : TurnsAnswer
        The expected ball.

    Returns
    -------
    Belief
        One factor a winder, one for the lot's count, and one for each cone as it is met.
    """
    strand = terms.strand
    by_key = {spread.key: spread.cv for spread in strand.spreads}
    of_length = {row.key: row.length_log_sd for row in answer.contributions}
    return prior_belief(
        [str(one.number) for one in line.winder],
        winder_cv=terms.winding.turn_length_cv,
        lot_cv=math.hypot(*(spread.cv for spread in strand.spreads if not spread.per_ball)),
        cone_cv=by_key["count_cone"],
        length_cv=math.hypot(of_length.get("pack_density", 0.0), of_length.get("tension", 0.0)),
        within_cv=math.hypot(by_key["count_within"], strand.moisture.cv),
        scale_sd_g=line.scale_sd_g,
        reel_cv=line.reel_cv,
        area_elasticity=answer.area_elasticity,
    )


def expected_wind(terms: Terms, answer: TurnsAnswer) -> Wind:
    """Expected length at rest and mass as weighed, a good way past the set turns.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    answer : TurnsAnswer
        The expected ball.

    Returns
    -------
    Wind
        Length [m] at any turns, and mass of a metre [g/m].
    """
    wound = build(
        terms.winding.setting, answer.build.area_mm2, turns=math.ceil(REACH * answer.turns)
    )
    at_rest = answer.length_m / answer.laid_length_m

    def length(turns: float) -> float:
        if turns > wound.turns:
            # past the wound ball: the last turn again and again, only ever asked while searching
            return at_rest * (
                wound.length_m + (turns - wound.turns) * float(wound.turn_length_mm[-2]) / 1000.0
            )
        return at_rest * length_at(wound, turns)

    return Wind(length, answer.as_weighed_g / answer.length_m)


def read_first_balls(
    terms: Terms,
    ball: Ball,
    line: Line,
    prices: Prices,
    answer: TurnsAnswer,
    weighed: Sequence[WeighedBall],
    *,
    lot_balls: int,
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
    belief : Belief, optional
        A belief to continue; the mill file's own when left out.

    Returns
    -------
    FirstRun
        The new belief, advice for each winder, and how each ball fits.

    Raises
    ------
    BadInput
        When a winder is not on the line, a ball was weighed before, or a reading cannot be one of
        these balls, with every fault.
    """
    wind = expected_wind(terms, answer)
    taken: list[FirstBall] = []
    faults: list[Fault] = []
    present: dict[int, PresentSetting] = {}
    cone_now: dict[int, str] = {}
    for one in weighed:
        try:
            counter = counter_of(line, ball, one.winder)
            turns = counter.turns_of_counts(one.counts)
            length_m, mass_g = wind.at(turns)
        except BadInput as bad:
            faults += [
                Fault(f.what, f.expected, section=f'ball "{one.ball}"', key=f.key, value=f.value)
                for f in bad.faults
            ]
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
        present[one.winder] = PresentSetting(str(one.winder), counter, round(one.counts))
        cone_now[one.winder] = one.cones[-1][0]
    if faults:
        raise BadInput(faults)
    before = belief or start_belief(terms, line, answer)
    after = update(before, taken)
    basis = answer.as_weighed_g / answer.mass_g
    target_mass, target_length = terms.promise.target_mass_g * basis, terms.promise.target_length_m
    settings = winder_settings(
        after,
        wind,
        list(present.values()),
        target_mass_g=target_mass,
        target_length_m=target_length,
    )
    binding: Binding = answer.binding
    advice = tuple(
        WinderAdvice(
            number,
            winder_view(after, str(number)),
            setting,
            worth_weighing(
                after,
                str(number),
                present_cone=cone_now[number],
                expected_mass_g=answer.as_weighed_g,
                lot_balls=lot_balls,
                price_per_kg=prices.yarn_per_kg,
                weighing_cost=prices.weigh_each,
                binding=binding,
            ),
        )
        for number, setting in zip(present, settings, strict=True)
    )
    return FirstRun(after, advice, check_fit(before, taken), target_mass, target_length)


def balls_of_lot(ball_mass_g: float, cones: int, cone_mass_g: float) -> int:
    """Balls a lot makes, no waste taken off.

    Parameters
    ----------
    ball_mass_g : float
        Mass of a ball [g].
    cones : int
        Cones in the lot.
    cone_mass_g : float
        Mass of a cone [g].

    Returns
    -------
    int
        Whole balls, at least 1.
    """
    return max(1, int(cones * cone_mass_g / ball_mass_g))


__all__ = [
    "FirstRun",
    "WeighedBall",
    "WinderAdvice",
    "balls_of_lot",
    "counter_of",
    "read_first_balls",
    "start_belief",
]
