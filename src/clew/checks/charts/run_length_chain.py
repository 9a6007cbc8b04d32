"""How long a chart runs before it calls: the chain that every kind of chart is brought to.

A chart that has not called yet is in some state. A matrix says how likely it stays quiet and goes
from each state to each other; a row says the same of the first point. All else follows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

Array = NDArray[np.float64]

CLOSE_REL = 1e-8
"""A run length is called converged when doubling the nodes changes it less than this."""

LONGEST = 1e12
"""A run past this cannot be told from never: a float has no digits left for it."""

NEVER = "the chart practically never calls"

MOST_NODES = 1024
MOST_STEPS = 20_000


@dataclass(frozen=True, slots=True)
class RunLength:
    """A chart's average run length.

    Attributes
    ----------
    arl : float
        Points plotted on average until the chart calls, the calling one counted.
    nodes : int
        Nodes of the finest quadrature used; 0 for a closed form or an exact chain.
    change_rel : float
        How much the last doubling of the nodes changed it, relative.
    """

    arl: float
    nodes: int = 0
    change_rel: float = 0.0

    @property
    def converged(self) -> bool:
        """Whether doubling the nodes changed it by less than `CLOSE_REL`; to a million it does."""
        return self.change_rel < CLOSE_REL


@dataclass(frozen=True, slots=True)
class Chain:
    """A chart as a chain of quiet states.

    Attributes
    ----------
    quiet : array, shape (states, states)
        Chance (or kernel times weight) of going from a state to another without a call.
    start : array, shape (states,)
        The same for the first point.
    nodes : int
        Nodes of the quadrature it rests on; 0 when the chain is exact.
    """

    quiet: Array
    start: Array
    nodes: int = 0

    def remaining(self) -> Array:
        """Points still to come, on average, from each state; shape (states,)."""
        states = self.quiet.shape[0]
        return np.asarray(np.linalg.solve(np.eye(states) - self.quiet, np.ones(states)))

    def arl(self) -> float:
        """Average run length: the first point, and what remains after it."""
        return float(1.0 + self.start @ self.remaining())

    def silence(self, points: int) -> Array:
        """Chance that the chart is still quiet after 0, 1, ... points; shape (points + 1,)."""
        chances = np.ones(points + 1)
        still = np.ones(self.quiet.shape[0])
        for number in range(1, points + 1):
            chances[number] = self.start @ still
            still = self.quiet @ still
        return chances

    def quantile(self, share: float) -> int:
        """Points within which a chart has called with a chance.

        Parameters
        ----------
        share : float
            The chance, above 0 and below 1 [1].

        Returns
        -------
        int
            The least number of points so that the chance of a call by then is at least `share`.

        Notes
        -----
        Far out the silence falls by one factor a point (the largest eigenvalue); once the share
        that calls at a point has settled to nine digits the rest is taken from it.
        """
        quiet = 1.0 - share
        still = np.ones(self.quiet.shape[0])
        before, fall = 1.0, 0.0
        for number in range(1, MOST_STEPS):
            now = float(self.start @ still)
            if now <= quiet:
                return number
            factor = now / before
            called = 1.0 - factor
            if number > 10 and called > 1e-7 and abs(factor - fall) < 1e-9 * called:
                return number + math.ceil(math.log(quiet / now) / math.log(factor))
            before, fall = now, factor
            still = self.quiet @ still
        # so long a run ends at a constant rate, one in its average
        return math.ceil(-math.log(quiet) * self.arl())


@lru_cache(maxsize=64)
def gauss_nodes(count: int) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights on -1 to 1; shape (count,) each."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return np.asarray(nodes), np.asarray(weights)


def refined(length_at: Callable[[int], float], first: int = 32) -> RunLength:
    """Double the nodes until the run length stands still.

    Parameters
    ----------
    length_at : callable
        Average run length by so many nodes.
    first : int
        Nodes to begin with.

    Returns
    -------
    RunLength
        With the change at the last doubling, whether or not that was small enough.

    Raises
    ------
    BadInput
        When the run is longer than `LONGEST`.
    """
    nodes, before = first, length_at(first)
    while True:
        nodes *= 2
        now = length_at(nodes)
        now = not_never(now)
        change = abs(now - before) / abs(now)
        # what a float loses in so long a run; more nodes would not bring it back
        lost = 1e-15 * now * nodes
        if change < max(CLOSE_REL, lost) or 2 * nodes > MOST_NODES:
            return RunLength(now, nodes, change)
        before = now


def not_never(arl: float) -> float:
    """Pass a run on; refuse one that a float cannot tell from never.

    Parameters
    ----------
    arl : float
        Average run length as it was solved [points].

    Returns
    -------
    float
        The same, at least 1 [points].

    Raises
    ------
    BadInput
        When it is longer than `LONGEST`, or so long that the solution broke down.
    """
    if not 0.999 <= arl <= LONGEST:
        raise BadInput(Fault(NEVER, f"limits that are passed within {LONGEST:g} points"))
    return max(arl, 1.0)


def steady_length(before: Chain, after: Chain) -> float:
    """Average run after a shift that comes when the chart has long been quiet.

    Parameters
    ----------
    before, after : Chain
        The same chart and nodes without and with the shift.

    Returns
    -------
    float
        Points from the shift to the call, on average [1].

    Notes
    -----
    The state at the shift is spread as the quiet chain's left eigenvector (conditional steady
    state): found by inverse iteration, which converges at once because a chart is nearly always
    quiet. Source: Lucas & Saccucci 1990 and Crosier 1986 use it, MEMORY.
    """
    states = before.quiet.shape[0]
    inverse = np.linalg.inv(np.eye(states) - before.quiet.T)
    spread = before.start / before.start.sum()
    for _ in range(500):
        new = inverse @ spread
        new /= new.sum()
        moved = float(np.abs(new - spread).sum())
        spread = new
        if moved < 1e-13:
            break
    return float(spread @ after.remaining())


def check_between(key: str, value: float, low: float, high: float, what: str = "") -> None:
    """Refuse a number outside a range.

    Parameters
    ----------
    key : str
        Its name, for the fault.
    value : float
        The number [any].
    low, high : float
        Least and most, both allowed [as the number].
    what : str
        What it is, for the fault.

    Raises
    ------
    BadInput
        When it is outside, or not a number.
    """
    if not low <= value <= high:
        expected = f"{what or 'a number'} from {low:g} to {high:g}"
        raise BadInput(Fault("out of range", expected, key=key, value=f"{value:g}"))
