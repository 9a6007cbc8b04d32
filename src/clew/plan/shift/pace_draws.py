"""Simulated shifts as draws of a pace: when a run ends, and how many balls come before a time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from clew.line.layout import Layout
from clew.line.simulate.measures import MEASURES, measured
from clew.line.simulate.records import Floats
from clew.line.simulate.shifts import shifts

LEAST_PACE_FRAC = 0.05
"""No stretch of time is drawn with less of the mean pace than this: a run must end."""
SHORTEST_S = 60.0
"""Over shorter stretches a pace is not parted further."""
INTERVAL_FRAC = 0.95
"""Intervals of a shift plan hold what comes so often."""


@dataclass(frozen=True, slots=True)
class PaceDraws:
    """Balls of simulated shifts of one ball on one line.

    Attributes
    ----------
    layout : Layout
        The line with its crew and rests.
    balls : tuple of float
        Full balls of each shift.
    """

    layout: Layout
    balls: tuple[float, ...]

    @property
    def balls_per_s(self) -> float:
        """Mean pace, rests and stops in it [1/s]."""
        return max(sum(self.balls) / len(self.balls), 1e-9) / self.layout.shift_s

    @property
    def cv_shift(self) -> float:
        """Standard deviation of a shift's balls as a share of their mean [1]."""
        drawn = np.asarray(self.balls)
        return float(drawn.std() / max(drawn.mean(), 1e-9))

    def ratios(self, over_s: Floats | float) -> Floats:
        """Draw the pace over stretches of time, as a share of the mean pace.

        Parameters
        ----------
        over_s : array or float
            Length of each draw's stretch [s].

        Returns
        -------
        array
            One a simulated shift [1].

        Notes
        -----
        Balls of separate stretches are taken as independent: over w seconds a shift's deviation
        from the mean is scaled by the root of shift/w. Source: DERIVED, tried against shifts
        simulated at other lengths (tests/plan/shift/test_pace_draws.py).
        """
        drawn = np.asarray(self.balls)
        off = drawn / max(float(drawn.mean()), 1e-9) - 1.0
        reach = np.sqrt(self.layout.shift_s / np.maximum(over_s, SHORTEST_S))
        return np.asarray(np.maximum(1.0 + off * reach, LEAST_PACE_FRAC))

    def takes_s(self, balls: float) -> Floats:
        """Draw the time in which so many balls are wound [s]."""
        mean_s = balls / self.balls_per_s
        return np.asarray(mean_s / self.ratios(mean_s))

    def gives(self, balls: float, within_s: Floats) -> Floats:
        """Draw how many of so many balls are wound within a time, draw by draw [1]."""
        time_s = np.maximum(within_s, 0.0)
        over_s = np.minimum(time_s, balls / self.balls_per_s)
        return np.minimum(self.balls_per_s * time_s * self.ratios(over_s), balls)


def pace_draws(layout: Layout, *, replications: int, seed: int) -> PaceDraws:
    """Simulate shifts of a line and keep the balls of each.

    Parameters
    ----------
    layout : Layout
        The line with its crew and rests.
    replications, seed : int
        How many shifts, and what chance depends on.

    Returns
    -------
    PaceDraws
        The same line with the same seed is not simulated again.

    Raises
    ------
    BadInput
        When the layout, the seed or the number cannot be.
    """
    return PaceDraws(layout, _balls(layout, replications, seed))


@lru_cache(maxsize=256)
def _balls(layout: Layout, replications: int, seed: int) -> tuple[float, ...]:
    column = MEASURES.index("balls")
    return tuple(
        float(one)
        for some in shifts(layout, replications=replications, seed=seed)
        for one in measured(some)[:, column]
    )


@dataclass(frozen=True, slots=True)
class Expected:
    """A number with its doubt.

    Attributes
    ----------
    mean : float
        Mean of the draws [its own unit].
    low, high : float
        Between these are 95 of 100 draws [its own unit].
    """

    mean: float
    low: float
    high: float


def expected(drawn: Floats) -> Expected:
    """Sum draws up: their mean, and where the middle 95 of 100 lie."""
    tail = 0.5 * (1.0 - INTERVAL_FRAC)
    low, high = np.quantile(drawn, [tail, 1.0 - tail])
    mean = float(drawn.mean())
    return Expected(mean, min(float(low), mean), max(float(high), mean))


def pace_sd_per_root_s(draws: PaceDraws) -> float:
    """Spread of one lane's pace, as time gained or lost for the root of the time [s/√s]."""
    return draws.cv_shift * math.sqrt(draws.layout.shift_s * draws.layout.lanes)
