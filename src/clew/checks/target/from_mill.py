"""What a mill file says of a ball before one is weighed: its spread, and turns for a target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.ball.counter import CountSetting
from clew.ball.doubt import Contribution
from clew.ball.first.line_settings import counter_of
from clew.ball.from_mill import Terms
from clew.ball.turns import TurnsAnswer, set_turns
from clew.checks.target.spread import Level, Sd, Spread
from clew.mill.balls import Ball
from clew.mill.lines import Line


@dataclass(frozen=True, slots=True)
class TargetTurns:
    """The turns that wind a target.

    Attributes
    ----------
    turns : int
        Fewest whole flyer turns whose mean ball is on the target.
    mass_g, length_m : float
        That mean ball as weighed off the line [g], at rest [m].
    counts : tuple of (int, CountSetting)
        What each winder's own counter is set to, by winder.
    """

    turns: int
    mass_g: float
    length_m: float
    counts: tuple[tuple[int, CountSetting], ...]


def spread_of_contributions(contributions: Sequence[Contribution]) -> Spread:
    """Sort a ball's sources of doubt by what they differ between.

    Parameters
    ----------
    contributions : sequence of Contribution
        From `clew.ball.turns.set_turns`.

    Returns
    -------
    Spread
        Levels on the relative scale; what moves mass and length alike makes their correlation.

    Notes
    -----
    A standard deviation of a logarithm is taken for one of the share, which for the few per cent of
    a ball it is. Source: DERIVED.
    """

    def level(name: str) -> Level:
        here = [one for one in contributions if one.level == name]
        mass = math.hypot(*(one.mass_log_sd for one in here)) if here else 0.0
        length = math.hypot(*(one.length_log_sd for one in here)) if here else 0.0
        if mass == 0.0 or length == 0.0:
            return Level(Sd(mass), Sd(length))
        shared = sum(one.mass_log_sd * one.length_log_sd for one in here) / (mass * length)
        return Level(Sd(mass), Sd(length), max(min(shared, 1.0), -1.0))

    return Spread(
        lot=level("run"), cone=level("cone"), winder=level("winder"), within=level("ball")
    )


def turns_for(
    terms: Terms, ball: Ball, line: Line, answer: TurnsAnswer, mass_g: float, length_m: float
) -> TargetTurns:
    """Find the whole turns, and each winder's whole counts, that reach a target.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    ball : Ball
        The ball.
    line : Line
        The line with its winders.
    answer : TurnsAnswer
        The present turns of the model.
    mass_g, length_m : float
        The mean ball to reach in either or both [g as weighed], [m]; 0 where it is not asked.

    Returns
    -------
    TargetTurns
        Turns rounded up: a ball must not fall short of its target.

    Raises
    ------
    BadInput
        When the target is beyond what a winder makes.
    """
    slope = answer.turns_elasticity
    wanted = max(mass_g / answer.as_weighed_g, length_m / answer.length_m)
    turns = max(math.floor(answer.turns * wanted ** (1.0 / slope)) - 2, 1)
    while True:
        found = set_turns(terms.strand, terms.promise, terms.winding, turns=turns)
        if found.as_weighed_g >= mass_g and found.length_m >= length_m:
            break
        turns += 1
    counts = tuple(
        (one.number, counter_of(line, ball, one.number).counts_for_turns(float(turns)))
        for one in sorted(line.winder, key=lambda winder: winder.lane)
    )
    return TargetTurns(turns, found.as_weighed_g, found.length_m, counts)
