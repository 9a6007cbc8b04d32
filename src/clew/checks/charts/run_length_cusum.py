"""How long a cumulative sum runs before it calls."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

import numpy as np
from scipy.special import ndtr

from clew.checks.charts.run_length_chain import (
    Chain,
    RunLength,
    check_between,
    gauss_nodes,
    refined,
    steady_length,
)
from clew.checks.charts.run_length_ewma import width_that_gives
from clew.checks.charts.run_length_shewhart import MOST_SHIFT

Sides = Literal["one", "two"]


def cusum_chain(
    k: float, h: float, shift: float = 0.0, *, nodes: int = 0, start: float = 0.0
) -> Chain:
    """An upper CUSUM as a chain: the sum at nought, and nodes between nought and h.

    Parameters
    ----------
    k : float
        What each point must exceed to be added, in sd of a plotted point [1].
    h : float
        The sum calls above it, in sd of a plotted point [1].
    shift : float
        Shift of the mean, in sd of a plotted point [1].
    nodes : int
        Nodes; 0 for a number that suits h.
    start : float
        Where the sum starts, in sd of a plotted point [1].

    Returns
    -------
    Chain
        State 0 is the sum at nought.

    Notes
    -----
    L(s) = 1 + L(0) Φ(k - s - shift) + ∫ L(y) φ(y + k - s - shift) dy over 0 to h. Source: E. S.
    Page 1954; solved by Gauss-Legendre as Vance, J. Qual. Tech. 18 (1986) 189-193, MEMORY.
    """
    count = nodes or cusum_nodes(h)
    unit, wide = gauss_nodes(count)
    places = 0.5 * h * (unit + 1.0)
    origin = np.concatenate([[0.0], places, [start]])
    rows = np.empty((count + 2, count + 1))
    rows[:, 0] = ndtr(k - origin - shift)
    moved = places[None, :] + k - origin[:, None] - shift
    rows[:, 1:] = np.exp(-0.5 * moved**2) * (0.5 * h / math.sqrt(2.0 * math.pi) * wide)
    return Chain(rows[:-1], rows[-1], count)


def cusum_nodes(h: float) -> int:
    """Nodes that resolve a bell of sd 1 between nought and h."""
    return 16 + math.ceil(1.75 * h)


def cusum_run_length(
    k: float, h: float, shift: float = 0.0, *, head_start: float = 0.0, sides: Sides = "two"
) -> RunLength:
    """Average run length of a tabular CUSUM.

    Parameters
    ----------
    k : float
        Reference value, in sd of a plotted point, 0 to 5 [1].
    h : float
        Decision value, in sd of a plotted point, 0.01 to 100 [1].
    shift : float
        Shift of the mean from the first point on, in sd of a plotted point [1].
    head_start : float
        Where each sum starts, in sd of a plotted point: 0 to below h for one side, to h/2 + k for
        two [1].
    sides : {"one", "two"}
        One sum that looks up, or one each way.

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
    With a, b the runs of the two sums from nought and A, B those from the head start, two sides run
    (A b + B a - a b)/(a + b), which from nought is the reciprocal rule. It is exact as long as one
    sum stands at nought when the other calls, which holds while the two head starts together are no
    more than h + 2k: with both above nought their total falls by 2k a point. Source: Lucas &
    Crosier, Technometrics 24 (1982) 199-205, rule MEMORY; its condition DERIVED.
    """
    check_between("k", k, 0.0, 5.0, "a reference value in sd of a plotted point")
    check_between("h", h, 0.01, 100.0, "a decision value in sd of a plotted point")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a plotted point")
    most = math.nextafter(h, 0.0) if sides == "one" else min(h / 2.0 + k, math.nextafter(h, 0.0))
    check_between("head_start", head_start, 0.0, most, "below h (one side), to h/2 + k (two)")
    nodes = cusum_nodes(h)
    return refined(lambda count: _length(k, h, shift, head_start, sides, count), nodes)


def _length(k: float, h: float, shift: float, start: float, sides: Sides, nodes: int) -> float:
    up_start, up = _from_start(k, h, shift, start, nodes)
    if sides == "one":
        return up_start
    down_start, down = _from_start(k, h, -shift, start, nodes)
    # divided through by a b, so that a side that never calls does not overflow
    return (up_start / up + down_start / down - 1.0) / (1.0 / up + 1.0 / down)


def _from_start(k: float, h: float, shift: float, start: float, nodes: int) -> tuple[float, float]:
    """Average run from the head start and from nought."""
    chain = cusum_chain(k, h, shift, nodes=nodes, start=start)
    remaining = chain.remaining()
    # a side that a shift drives away runs past what a float can hold: it never calls
    if not np.all(remaining > 0.0) or remaining[0] > 1e14:
        return 1e14, 1e14
    return float(1.0 + chain.start @ remaining), float(remaining[0])


def cusum_steady_length(k: float, h: float, shift: float) -> RunLength:
    """Average run of the sum on the side of a shift that comes after a long quiet time.

    Parameters
    ----------
    k, h : float
        The chart, in sd of a plotted point [1].
    shift : float
        The shift, in sd of a plotted point [1].

    Returns
    -------
    RunLength
        Points from the shift to the call; the other side could only make it shorter.

    Raises
    ------
    BadInput
        When a value is out of range.
    """
    check_between("k", k, 0.0, 5.0, "a reference value in sd of a plotted point")
    check_between("h", h, 0.01, 100.0, "a decision value in sd of a plotted point")
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a plotted point")

    def at(nodes: int) -> float:
        before = cusum_chain(k, h, 0.0, nodes=nodes)
        return steady_length(before, cusum_chain(k, h, shift, nodes=nodes))

    return refined(at, cusum_nodes(h))


@lru_cache(maxsize=4096)
def cusum_h_for(arl: float, k: float, *, sides: Sides = "two") -> float:
    """Decision value that gives a chosen average run without a shift.

    Parameters
    ----------
    arl : float
        Average run length, 2 to 1e7 [points].
    k : float
        Reference value, 0 to 5 [1].
    sides : {"one", "two"}
        One sum or one each way.

    Returns
    -------
    float
        h in sd of a plotted point [1].

    Raises
    ------
    BadInput
        When no h from 0.01 to 100 does it: k alone already runs longer, or the run is too long.
    """
    check_between("arl", arl, 2.0, 1e7, "points on average")
    check_between("k", k, 0.0, 5.0, "a reference value in sd of a plotted point")

    def length(h: float) -> float:
        # without a shift both sides run alike, and two run half as long as one
        one = cusum_chain(k, h).arl()
        return one if sides == "one" else 0.5 * one

    return width_that_gives(length, arl, low=0.01, high=100.0)
