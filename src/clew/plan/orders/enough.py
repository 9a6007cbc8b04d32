"""How surely so many cones give so many first-quality balls, and how many cones that takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from clew.plan.orders.strand_use import StrandUse

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]

NODES = 20
MOST_CONES = 1_000_000
"""More cones than any order is reckoned with."""
EVERY_CONE, _STEP_CONES = 4096, 64
"""Cones up to which every number is reckoned; above it every 64th, and a straight line between."""


def chance_enough(use: StrandUse, cones: ArrayLike, balls: ArrayLike) -> Floats:
    """Chance that so many cones give so many first-quality balls.

    Parameters
    ----------
    use : StrandUse
        What the run takes of the dye lot.
    cones, balls : array of int
        Cones fetched, first-quality balls wanted; the shapes are broadcast.

    Returns
    -------
    array of float
        Chances [1].

    Notes
    -----
    Source: DERIVED. Given what the run shares, the balls from n cones are a sum of many small
    parts and taken as normal: of mean n l/b less a ball a lane (half of one lost at the start and
    half at the end, each uniform), with the variance of the cones' lengths, of the part balls and
    of what is spoilt; l is the length of a cone, b a ball and its waste. That is averaged over
    what the run shares, itself log-normal, by Gauss and Hermite.
    """
    from scipy.special import ndtr

    n, wanted = np.broadcast_arrays(
        np.asarray(cones, dtype=np.float64), np.asarray(balls, dtype=np.float64)
    )
    shared, weights = _shared(use)
    mean, sd = _first_balls(use, n[..., None], shared)
    # balls are whole: half a ball below is still as many
    chances = np.asarray(ndtr((mean - wanted[..., None] + 0.5) / sd) @ weights, dtype=np.float64)
    return np.where(wanted <= 0.0, 1.0, np.where(n <= 0.0, 0.0, np.minimum(chances, 1.0)))


def _shared(use: StrandUse) -> tuple[Floats, Floats]:
    nodes, weights = _normal_nodes()
    return np.exp(use.shared_cv * nodes), weights


@lru_cache(maxsize=1)
def _normal_nodes() -> tuple[Floats, Floats]:
    """Nodes and weights of a normal distribution, by Gauss and Hermite."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    weights = weights / math.sqrt(2.0 * math.pi)
    nodes.setflags(write=False)
    weights.setflags(write=False)
    return nodes, weights


def _first_balls(use: StrandUse, cones: Floats, shared: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of first-quality balls, given what the run shares."""
    per_cone, first = use.balls_on_a_cone * shared, use.first_frac
    lanes = np.minimum(use.lanes, cones)
    wound = np.maximum(cones * per_cone - lanes, 0.0)
    variance = (
        first**2 * (cones * (per_cone * use.cone_cv) ** 2 + lanes / 6.0)
        + wound * (use.spoilt_variance + use.knots_variance)
    )  # fmt: skip
    return first * wound, np.sqrt(np.maximum(variance, 1e-12))


def chance_lot_suffices(cones: int, runs: Sequence[tuple[StrandUse, int]]) -> float:
    """Chance that the cones of one lot suffice for all its runs together.

    Parameters
    ----------
    cones : int
        Cones in stock.
    runs : sequence of (StrandUse, int)
        What each run takes of the lot, and its first-quality balls.

    Returns
    -------
    float
        The chance [1].

    Notes
    -----
    Source: DERIVED. As `chance_enough`, with the cones that each run takes as normal given what
    the lot's runs share; that is taken as the same in all of them. A run's last cone goes on into
    the next run, so the chance is above that of whole cones for each.
    """
    from scipy.special import ndtr

    if not runs:
        return 1.0
    mean = np.zeros(NODES)
    variance = np.zeros(NODES)
    for use, balls in runs:
        shared, weights = _shared(use)
        per_cone = use.balls_on_a_cone * shared
        wanted = (balls - 0.5) / use.first_frac
        needed = np.maximum(np.minimum((wanted + use.lanes) / per_cone, wanted / np.maximum(
            per_cone - 1.0, 1e-9)), 1e-9)  # fmt: skip
        _, sd = _first_balls(use, needed, shared)
        mean += needed
        variance += (sd / (use.first_frac * per_cone)) ** 2
    chance = np.asarray(ndtr((cones - mean) / np.sqrt(variance)), dtype=np.float64)
    return min(float(chance @ weights), 1.0)


def most_balls(use: StrandUse, cones: ArrayLike, sure_frac: float) -> Wholes:
    """Most first-quality balls that so many cones give with such a chance.

    Parameters
    ----------
    use : StrandUse
        What the run takes of the dye lot.
    cones : array of int
        Cones.
    sure_frac : float
        How surely, above 0 and below 1 [1].

    Returns
    -------
    array of int
        Balls; 0 where not even one is so sure.
    """
    n = np.atleast_1d(np.asarray(cones, dtype=np.int64))
    low = np.zeros(n.shape, dtype=np.int64)
    spread = 1.0 + 10.0 * (use.shared_cv + use.cone_cv)
    high = np.ceil(n * use.balls_on_a_cone * spread + 20.0).astype(np.int64)
    while np.any(high - low > 1):
        middle = (low + high) // 2
        good = chance_enough(use, n, middle) >= sure_frac
        low, high = np.where(good, middle, low), np.where(good, high, middle)
    return np.maximum.accumulate(low) if np.all(np.diff(n) > 0) else low


def balls_table(use: StrandUse, most_cones: int, sure_frac: float) -> tuple[int, ...]:
    """Most first-quality balls that 0, 1, 2, ... up to so many cones give with such a chance.

    The same cones of the same use are not reckoned again: a longer table is kept and cut.
    """
    # a power of two, so that orders of other sizes share the table
    kept = _table(use, 1 << max(most_cones, 63).bit_length(), sure_frac)
    return kept[: most_cones + 1]


@lru_cache(maxsize=256)
def _table(use: StrandUse, cones: int, sure_frac: float) -> tuple[int, ...]:
    every = np.arange(cones)
    if cones <= EVERY_CONE:
        return tuple(most_balls(use, every, sure_frac).tolist())
    some = np.append(np.arange(EVERY_CONE), np.arange(EVERY_CONE, cones + _STEP_CONES, _STEP_CONES))
    balls = np.interp(every, some, most_balls(use, some, sure_frac))
    return tuple(np.floor(balls).astype(np.int64).tolist())


def mean_cones(use: StrandUse, balls: int) -> int:
    """Fewest cones that suffice on average, the change's part balls in it."""
    wound = use.wound_for(balls)
    cones = math.ceil((wound + use.lanes) / use.balls_on_a_cone - 1e-9)
    if cones >= use.lanes:
        return cones
    # a run of fewer cones than lanes takes as many lanes as cones
    return min(cones, math.ceil(wound / max(use.balls_on_a_cone - 1.0, 1e-9) - 1e-9))


def cones_for(use: StrandUse, balls: int, sure_frac: float) -> int:
    """Fewest cones that give so many first-quality balls with such a chance.

    Parameters
    ----------
    use : StrandUse
        What the run takes of the dye lot.
    balls : int
        First-quality balls.
    sure_frac : float
        How surely [1].

    Returns
    -------
    int
        Cones; `MOST_CONES` where no such number is enough.
    """
    high = max(mean_cones(use, balls), 1)
    while high < MOST_CONES and chance_enough(use, high, balls) < sure_frac:
        high *= 2
    low, high = 0, min(high, MOST_CONES)
    while high - low > 1:
        middle = (low + high) // 2
        if chance_enough(use, middle, balls) >= sure_frac:
            high = middle
        else:
            low = middle
    return high
