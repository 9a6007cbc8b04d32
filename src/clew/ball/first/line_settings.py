"""What every winder of a line is set to, by a belief: the one rule of first balls and run card."""

from __future__ import annotations

import math

from clew.ball.counter import Counter
from clew.ball.first.belief import Belief
from clew.ball.first.next_balls import Wind
from clew.ball.first.winder_setting import PresentSetting, Stakes, WinderSetting, winder_settings
from clew.ball.from_mill import Terms
from clew.ball.turns import TurnsAnswer
from clew.ball.wind.build import build, length_at
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Prices

REACH = 1.6
"""How much further than the set turns the expected ball is wound, to ask changes of it."""


def counter_of(line: Line, ball: Ball, winder: int) -> Counter:
    """Find the counter of a winder; raises `BadInput` when the line has no such winder."""
    for one in line.winder:
        if one.number == winder:
            return Counter(one.counter_on, one.turns_per_count, ball.wind_ratio)
    numbers = ", ".join(str(one.number) for one in line.winder)
    raise BadInput(
        Fault(
            say("no such winder on {name}", name=line.name),
            expected=say("one of {numbers}", numbers=numbers),
            key="winder",
            value=str(winder),
        )
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


def targets(terms: Terms, answer: TurnsAnswer) -> tuple[float, float]:
    """What the mean ball is to be: mass as weighed [g], length at rest [m]."""
    basis = answer.as_weighed_g / answer.mass_g
    return terms.promise.target_mass_g * basis, terms.promise.target_length_m


def line_settings(
    belief: Belief,
    wind: Wind,
    terms: Terms,
    ball: Ball,
    line: Line,
    answer: TurnsAnswer,
    prices: Prices,
    *,
    lot_balls: int,
) -> tuple[WinderSetting, ...]:
    """Say for every winder of a line what to set it to, after the balls of a belief.

    Parameters
    ----------
    belief : Belief
        The belief.
    wind : Wind
        What was expected before any ball was weighed.
    terms, ball, line, prices
        The run, off the mill file.
    answer : TurnsAnswer
        The expected ball.
    lot_balls : int
        Balls the lot will make.

    Returns
    -------
    tuple of WinderSetting
        In the order of the line's winders. A winder stands at what its last ball was wound with,
        and before its first ball at the card's own counts.
    """
    last = {one.winder: one.turns for one in belief.balls}
    present = []
    for one in line.winder:
        counter = counter_of(line, ball, one.number)
        turns = last.get(str(one.number))
        counts = (
            counter.counts_for_turns(float(answer.turns)).counts
            if turns is None
            else max(1, round(turns / counter.flyer_turns_per_count))
        )
        present.append(PresentSetting(str(one.number), counter, counts))
    target_mass_g, target_length_m = targets(terms, answer)
    return winder_settings(
        belief,
        wind,
        present,
        target_mass_g=target_mass_g,
        target_length_m=target_length_m,
        stakes=Stakes(
            declared_mass_g=terms.promise.declared_mass_g * answer.as_weighed_g / answer.mass_g,
            declared_length_m=terms.promise.declared_length_m,
            winder_balls=lot_balls / len(line.winder),
            price_per_kg=prices.yarn_per_kg,
            check_cost=prices.weigh_each,
        ),
    )


def balls_of_lot(ball_mass_g: float, cones: int, cone_mass_g: float) -> int:
    """Balls a lot makes, no waste taken off.

    Parameters
    ----------
    ball_mass_g : float
        Mass of a ball [g].
    cones : int
        Cones in the lot; a lot with none in stock counts as one cone.
    cone_mass_g : float
        Mass of a cone [g].

    Returns
    -------
    int
        Whole balls, at least 1.
    """
    return max(1, int(max(cones, 1) * cone_mass_g / ball_mass_g))
