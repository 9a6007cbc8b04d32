"""How unsure the cost of a ball is: each doubt at its ends, the others left alone."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from clew.languages import say
from clew.plan.costing.figures import QUANTILE, BallFigures
from clew.plan.costing.stages import stages_of
from clew.plan.sequence.timed_run import Change, MoneyPart

_MOST_LOST_FRAC = 0.999
"""At the high end of the break rate, so that some ball is first-quality and has a cost."""


@dataclass(frozen=True, slots=True)
class CostDoubt:
    """One doubt, and what the ball would cost at its ends.

    Attributes
    ----------
    key, words : str
        Its stable key, and what is unsure.
    low, high : float
        The lower and the higher cost [money].
    """

    key: str
    words: str
    low: float
    high: float

    @property
    def width(self) -> float:
        """How far the two are apart [money]."""
        return self.high - self.low


def doubts_of(
    figures: BallFigures, run_balls: int, change: Change | None, pack: tuple[MoneyPart, ...]
) -> tuple[CostDoubt, ...]:
    """Work out the cost at the ends of each doubt.

    Parameters
    ----------
    figures, run_balls, change, pack
        As for `clew.plan.costing.stages.stages_of`.

    Returns
    -------
    tuple of CostDoubt
        Mean ball (count, shrink, winders), joins (break rate), pace; the widest first.

    Notes
    -----
    Each end is worked out through the whole sum. The pace of a run is the mean of as many shifts as
    it takes, one at least. Source: DERIVED.
    """

    def cost(there: BallFigures) -> float:
        stages = stages_of(there, run_balls, change, pack)
        return sum(part.money for stage in stages for part in stage.parts)

    mean = figures.mean_g_band
    shifts = run_balls * figures.wound_per_first / (figures.balls_per_h * figures.shift_h)
    pace = QUANTILE * figures.pace_cv / math.sqrt(max(shifts, 1.0))
    tried = (
        (
            "mean_ball",
            say("the mean ball of a run: count, shrink, winders"),
            [figures.at_mean(one) for one in (mean.low, mean.high)],
        ),
        ("joins", say("the rate of breaks on the cone"), _at_rates(figures)),
        (
            "pace",
            say("the pace of a run's shifts"),
            [figures.at_pace(max(1.0 + one, 0.1)) for one in (-pace, pace)],
        ),
    )
    found = []
    for key, words, ends in tried:
        costs = sorted((cost(figures), *(cost(one) for one in ends)))
        found.append(CostDoubt(key, words, costs[0], costs[-1]))
    return tuple(sorted(found, key=lambda one: -one.width))


def _at_rates(figures: BallFigures) -> list[BallFigures]:
    second, waste = figures.knot_second_band, figures.knot_waste_band
    most = min(second.high, _MOST_LOST_FRAC)
    return [
        replace(figures, knot_second_frac=a, knot_waste_frac=b)
        for a, b in ((second.low, waste.low), (most, min(waste.high, _MOST_LOST_FRAC - most)))
    ]


def joined(total: float, doubts: tuple[CostDoubt, ...]) -> tuple[float, float]:
    """Join doubts as independent ones.

    Parameters
    ----------
    total : float
        The cost [money].
    doubts : tuple of CostDoubt
        The cost at the ends of each.

    Returns
    -------
    tuple of float
        Low and high [money].

    Notes
    -----
    Distances of either side are added by their squares. Source: common practice for independent
    doubts.
    """
    below = math.hypot(*(total - one.low for one in doubts))
    above = math.hypot(*(one.high - total for one in doubts))
    return total - below, total + above
