"""Balls from one cone are alike: what a chart does that takes them for independent."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import ndtr

from clew.checks.charts.run_length_chain import Array, check_between, gauss_nodes
from clew.checks.charts.run_length_cusum import cusum_run_length
from clew.checks.charts.run_length_ewma import ewma_limit, ewma_run_length
from clew.checks.charts.run_length_shewhart import shewhart_run_length

LimitsFrom = Literal["total", "within"]

MOST_LENGTH = 200_000
MOST_DRAWN = 20_000.0
"""Longest run, for independent points, that is drawn."""

SEED = 1931
_CONE_NODES = 120
_FAR = 9.0
_NEARLY_CERTAIN = 1.0 - 2.0**-53
"""The largest chance below 1: its logarithm is finite, and times no ball still 0."""


@dataclass(frozen=True, slots=True)
class ConeRun:
    """A false-alarm run when balls of one cone are alike.

    Attributes
    ----------
    arl : float
        Points to a call on average, as it truly is; no shift.
    standard_error : float
        Of `arl`; 0 where it is exact.
    believed_arl : float
        What one would expect who takes the points for independent.
    runs, seed : int
        What was drawn; 0 where it is exact.
    """

    arl: float
    standard_error: float
    believed_arl: float
    runs: int
    seed: int


def cone_shewhart(
    width: float, *, balls_a_cone: int, rho: float, limits_from: LimitsFrom = "total"
) -> ConeRun:
    """False-alarm run of single balls against fixed limits, cone after cone, exactly.

    Parameters
    ----------
    width : float
        Limits, in sd as the chart takes it, 0.5 to 6 [1].
    balls_a_cone : int
        Points plotted from one cone before the next, 1 to 1000.
    rho : float
        Share of the variance that lies between cones, 0 to 0.99 [1].
    limits_from : {"total", "within"}
        Limits set on the whole spread, or on the spread within cones (moving ranges, or groups of
        one cone), which leaves the cones out.

    Returns
    -------
    ConeRun
        Exact.

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    Given its cone a ball calls or not by itself; cones are independent. With G_i the chance that i
    balls of a cone stay quiet, the run is (G_0 + ... + G_{r-1})/(1 - G_r) (DERIVED).
    """
    spread = _spread(balls_a_cone, rho, limits_from)
    check_between("width", width, 0.5, 6.0, "limits in sd")
    unit, weight = gauss_nodes(_CONE_NODES)
    cone = _FAR * unit
    chance = _FAR * weight * np.exp(-0.5 * cone**2) / math.sqrt(2.0 * math.pi)
    own = math.sqrt(1.0 - rho)
    off = math.sqrt(rho) * cone
    limit = width * spread
    calls = ndtr((-limit - off) / own) + ndtr((-limit + off) / own)
    # 1 - q^r by log1p: a cone seldom calls, and the difference must keep its digits
    log_quiet = np.log1p(-np.minimum(calls, _NEARLY_CERTAIN))
    some = float(chance @ -np.expm1(balls_a_cone * log_quiet))
    ages = np.arange(balls_a_cone)
    alive = float(sum(chance @ np.exp(age * log_quiet) for age in ages))
    believed = shewhart_run_length(width).arl
    return ConeRun(alive / some, 0.0, believed, 0, 0)


def cone_ewma(
    weight: float,
    width: float,
    *,
    balls_a_cone: int,
    rho: float,
    limits_from: LimitsFrom = "total",
    runs: int = 4000,
    seed: int = SEED,
) -> ConeRun:
    """The same for an EWMA with fixed limits, by drawing balls.

    Parameters
    ----------
    weight, width : float
        λ and L [1].
    balls_a_cone : int
        Points plotted from one cone, 1 to 1000.
    rho : float
        Share of the variance between cones, 0 to 0.99 [1].
    limits_from : {"total", "within"}
        As in `cone_shewhart`.
    runs, seed : int
        Runs to draw (100 to 100 000) and the seed.

    Returns
    -------
    ConeRun
        With its standard error.

    Raises
    ------
    BadInput
        When a value is out of range, or the chart would run too long to draw.
    """
    believed = ewma_run_length(weight, width).arl
    limit = ewma_limit(weight, width)

    def step(sums: Array, point: Array) -> tuple[Array, Array]:
        sums[0] += weight * (point - sums[0])
        return sums, np.abs(sums[0]) > limit

    spread = _spread(balls_a_cone, rho, limits_from)
    return _drawn(step, 1, believed, spread, balls_a_cone, rho, runs, seed)


def cone_cusum(
    k: float,
    h: float,
    *,
    balls_a_cone: int,
    rho: float,
    limits_from: LimitsFrom = "total",
    runs: int = 4000,
    seed: int = SEED,
) -> ConeRun:
    """The same for a two-sided CUSUM, by drawing balls.

    Parameters
    ----------
    k, h : float
        Reference and decision value, in sd as the chart takes it [1].
    balls_a_cone : int
        Points plotted from one cone, 1 to 1000.
    rho : float
        Share of the variance between cones, 0 to 0.99 [1].
    limits_from : {"total", "within"}
        As in `cone_shewhart`.
    runs, seed : int
        Runs to draw (100 to 100 000) and the seed.

    Returns
    -------
    ConeRun
        With its standard error.

    Raises
    ------
    BadInput
        When a value is out of range, or the chart would run too long to draw.
    """
    believed = cusum_run_length(k, h).arl

    def step(sums: Array, point: Array) -> tuple[Array, Array]:
        sums[0] = np.maximum(sums[0] + point - k, 0.0)
        sums[1] = np.maximum(sums[1] - point - k, 0.0)
        return sums, (sums[0] > h) | (sums[1] > h)

    spread = _spread(balls_a_cone, rho, limits_from)
    return _drawn(step, 2, believed, spread, balls_a_cone, rho, runs, seed)


def _spread(balls_a_cone: int, rho: float, limits_from: LimitsFrom) -> float:
    """What the chart takes for one sd, in true sd of a ball."""
    check_between("balls_a_cone", balls_a_cone, 1, 1000, "points from one cone")
    check_between("rho", rho, 0.0, 0.99, "a share of the variance")
    return 1.0 if limits_from == "total" else math.sqrt(1.0 - rho)


def _drawn(
    step: Callable[[Array, Array], tuple[Array, Array]],
    sums: int,
    believed: float,
    spread: float,
    balls_a_cone: int,
    rho: float,
    runs: int,
    seed: int,
) -> ConeRun:
    check_between("runs", runs, 100, 100_000, "runs")
    check_between("believed_arl", believed, 1.0, MOST_DRAWN, "a run short enough to draw")
    random = np.random.default_rng(seed)
    lengths = np.zeros(runs)
    who = np.arange(runs)
    state = np.zeros((sums, runs))
    cone = np.zeros(runs)
    for points in range(1, MOST_LENGTH):
        if (points - 1) % balls_a_cone == 0:
            cone = math.sqrt(rho) * random.standard_normal(who.size)
        ball = cone + math.sqrt(1.0 - rho) * random.standard_normal(who.size)
        state, calls = step(state, ball / spread)
        if calls.any():
            lengths[who[calls]] = points
            quiet = np.logical_not(calls)
            who, state, cone = who[quiet], state[:, quiet], cone[quiet]
            if not who.size:
                break
    lengths[who] = MOST_LENGTH
    error = float(lengths.std(ddof=1)) / math.sqrt(runs)
    return ConeRun(float(lengths.mean()), error, believed, runs, seed)
