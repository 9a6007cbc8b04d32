"""How long an exponentially weighted average runs before it calls."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq

from clew.checks.charts.run_length_chain import (
    LONGEST,
    Array,
    Chain,
    RunLength,
    check_between,
    gauss_nodes,
    refined,
    steady_length,
)
from clew.checks.charts.run_length_shewhart import MOST_SHIFT
from clew.faults import BadInput, Fault

LEAST_WEIGHT = 0.005
LEAST_MOVING = 0.02
"""Least weight with a head start or exact limits: a smaller one takes too long to follow."""

SETTLED = 1e-10
"""Moving limits count as fixed once they are this near to them, relative."""


def ewma_limit(weight: float, width: float) -> float:
    """Distance of the fixed limits from the centre.

    Parameters
    ----------
    weight : float
        Weight λ of the newest point [1].
    width : float
        Limits in sd of the average itself, L [1].

    Returns
    -------
    float
        L √(λ/(2 - λ)), in sd of a plotted point [1].
    """
    return width * math.sqrt(weight / (2.0 - weight))


def ewma_chain(
    weight: float, width: float, shift: float = 0.0, *, nodes: int = 0, start: float = 0.0
) -> Chain:
    """An EWMA with fixed limits as a chain on Gauss-Legendre nodes.

    Parameters
    ----------
    weight : float
        Weight λ of the newest point [1].
    width : float
        Limits in sd of the average, L [1].
    shift : float
        Shift of the mean, in sd of a plotted point [1].
    nodes : int
        Nodes; 0 for a number that suits the weight.
    start : float
        Where the average starts, in sd of a plotted point [1].

    Returns
    -------
    Chain
        States are the nodes.

    Notes
    -----
    L(z) = 1 + (1/λ) ∫ L(y) φ((y - (1-λ) z)/λ - shift) dy over the limits. Source: S. V. Crowder,
    Technometrics 29 (1987) 401-407, equation MEMORY.
    """
    limit = ewma_limit(weight, width)
    count = nodes or first_nodes(weight, width)
    unit, wide = gauss_nodes(count)
    places = limit * unit
    quiet = _step(weight, shift, places, places) * (limit * wide)
    first = _step(weight, shift, np.array([start]), places)[0] * (limit * wide)
    return Chain(quiet, first, count)


def first_nodes(weight: float, width: float) -> int:
    """Nodes that resolve the kernel between the limits, to some eight digits of the run."""
    return 20 + 2 * math.ceil(1.5 * ewma_limit(weight, width) / weight)


def _step(weight: float, shift: float, origin: Array, target: Array) -> Array:
    """Density of the next average at each target from each origin; shape (origins, targets)."""
    scaled = (target[None, :] - (1.0 - weight) * origin[:, None]) / weight - shift
    return np.asarray(np.exp(-0.5 * scaled**2) / (weight * math.sqrt(2.0 * math.pi)))


def ewma_run_length(
    weight: float,
    width: float,
    shift: float = 0.0,
    *,
    head_start: float = 0.0,
    exact_limits: bool = False,
) -> RunLength:
    """Average run length of a two-sided EWMA.

    Parameters
    ----------
    weight : float
        Weight λ of the newest point, 0.005 to 1; from 0.02 with a head start or exact limits [1].
    width : float
        Limits in sd of the average, L, 0.1 to 8 [1].
    shift : float
        Shift of the mean from the first point on, in sd of a plotted point [1].
    head_start : float
        Share of the limit at which two averages start, one on each side, 0 to below 1 [1].
    exact_limits : bool
        Limits that widen with the number of points, L √(λ/(2-λ) (1-(1-λ)^2t)), instead of fixed.

    Returns
    -------
    RunLength
        Converged to `CLOSE_REL` where it says so.

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    Two averages that start at ±a and see the same points differ by a (1-λ)^t each from the one that
    starts at the centre, so a head start is a narrower limit at first: h_t - a (1-λ)^t. Moving
    limits are followed point by point until they stand still; from there the fixed chart's integral
    equation tells the rest. Source: Lucas & Saccucci, Technometrics 32 (1990) 1-12 (head start);
    the recursion DERIVED, held by printed tables.
    """
    _check(weight, width, shift)
    check_between("head_start", head_start, 0.0, 0.99, "a share of the limit")
    nodes = first_nodes(weight, width)
    if head_start == 0.0 and not exact_limits:
        return refined(lambda count: ewma_chain(weight, width, shift, nodes=count).arl(), nodes)
    check_between("weight", weight, LEAST_MOVING, 1.0, "a weight, where limits move,")
    limits = _moving_limits(weight, width, head_start, exact_limits)
    return refined(lambda count: _followed(weight, width, shift, limits, count), nodes)


def _check(weight: float, width: float, shift: float) -> None:
    check_between("weight", weight, LEAST_WEIGHT, 1.0, "the weight of the newest point")
    check_between("width", width, 0.1, 8.0, "limits in sd of the average")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a plotted point")


def _moving_limits(weight: float, width: float, head_start: float, exact: bool) -> Array:
    """Limits after point 1, 2, ... until they stand still."""
    final = ewma_limit(weight, width)
    keep = 1.0 - weight
    if keep <= 0.0:
        return np.array([final])
    last = math.ceil(math.log(SETTLED) / math.log(keep))
    times = np.arange(1, last + 1)
    base = final * np.sqrt(1.0 - keep ** (2.0 * times)) if exact else np.full(last, final)
    # the head starts at its share of the limit of the first point, so that it never starts outside
    ahead = head_start * (width * weight if exact else final)
    return np.asarray(base - ahead * keep**times)


def _followed(weight: float, width: float, shift: float, limits: Array, nodes: int) -> float:
    unit, wide = gauss_nodes(nodes)
    origin, mass = np.zeros(1), np.ones(1)
    length = 1.0
    for limit in limits:
        places = limit * unit
        mass = (mass @ _step(weight, shift, origin, places)) * (limit * wide)
        origin = places
        alive = float(mass.sum())
        length += alive
        if alive < 1e-15:
            return length
    # the limits stand still: what remains is the fixed chart's own, from wherever the average is
    chain = ewma_chain(weight, width, shift, nodes=nodes)
    return length - float(mass.sum()) + float(mass @ chain.remaining())


def ewma_steady_length(weight: float, width: float, shift: float) -> RunLength:
    """Average run after a shift that comes when the EWMA has long been quiet.

    Parameters
    ----------
    weight, width : float
        The chart: λ and L [1].
    shift : float
        The shift, in sd of a plotted point [1].

    Returns
    -------
    RunLength
        Points from the shift to the call.

    Raises
    ------
    BadInput
        When a value is out of range.
    """
    _check(weight, width, shift)

    def at(nodes: int) -> float:
        before = ewma_chain(weight, width, 0.0, nodes=nodes)
        return steady_length(before, ewma_chain(weight, width, shift, nodes=nodes))

    return refined(at, first_nodes(weight, width))


@lru_cache(maxsize=4096)
def ewma_width_for(arl: float, weight: float, *, exact_limits: bool = False) -> float:
    """Limits that give a chosen average run without a shift.

    Parameters
    ----------
    arl : float
        Average run length, 2 to 1e7 [points].
    weight : float
        Weight λ, 0.005 to 1 [1].
    exact_limits : bool
        Limits that widen with the number of points.

    Returns
    -------
    float
        Width L in sd of the average [1].

    Raises
    ------
    BadInput
        When no width from 0.1 to 8 does it.
    """
    check_between("arl", arl, 2.0, 1e7, "points on average")

    def length(width: float) -> float:
        if exact_limits:
            return ewma_run_length(weight, width, exact_limits=True).arl
        return _unshifted_length(weight, width)

    return width_that_gives(length, arl, low=0.1, high=6.5)


def _unshifted_length(weight: float, width: float) -> float:
    """Average run without a shift; alike on both sides, so that half the nodes are enough."""
    chain = ewma_chain(weight, width)
    half = chain.start.size // 2
    folded = chain.quiet[half:, half:] + chain.quiet[half:, half - 1 :: -1]
    start = 2.0 * chain.start[half:]
    return Chain(folded, start).arl()


def width_that_gives(
    length: Callable[[float], float], arl: float, *, low: float, high: float
) -> float:
    """Find the width of a chart from its average run.

    Parameters
    ----------
    length : callable
        Average run by width, growing with it.
    arl : float
        Average run wanted [points].
    low, high : float
        Widths to look between [as the width].

    Returns
    -------
    float
        The width [as the width].

    Raises
    ------
    BadInput
        When none between them gives it.
    """

    def log_length(width: float) -> float:
        now = length(width)
        return math.log(now if 1.0 <= now <= LONGEST else LONGEST)

    goal = math.log(arl)
    # step up first: at the far end the run is past what a float can resolve
    step, below = low, log_length(low) - goal
    if below > 0.0:
        raise BadInput(
            Fault("no chart runs so short", f"at least {length(low):.4g} points", value=f"{arl:g}")
        )
    above_at = low
    while above_at < high:
        above_at = min(above_at + 0.5, high)
        if log_length(above_at) >= goal:
            found = brentq(
                lambda width: log_length(width) - goal, step, above_at, xtol=1e-10, rtol=1e-12
            )
            return float(found)
        step = above_at
    raise BadInput(Fault("no chart runs so long", "a shorter average run", value=f"{arl:g}"))
