"""Where a function crosses zero, or gives back what it is given, for many cases at once.

The rules are those of `clew.line.heat.crossing`; each case goes its own way and stops by itself.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

_MOST_STEPS = 100


def crossings(
    function: Callable[[Numbers], Numbers], low: Numbers, high: Numbers, near: float
) -> Numbers:
    """Find where a function crosses zero in each case, by the Illinois rule.

    Parameters
    ----------
    function : callable
        Monotonic between the ends in each case; takes and gives one number a case.
    low, high : array of float
        Ends of the range, one a case [any].
    near : float
        How near the answers must come [the unit of the ends].

    Returns
    -------
    array of float
        The places; the nearer end where there is no crossing [the unit of the ends].

    Notes
    -----
    Source: as `clew.line.heat.crossing.crossing`.
    """
    at_low, at_high = function(low), function(high)
    found = np.where(np.abs(at_low) <= np.abs(at_high), low, high)
    searched = (at_low != 0.0) & ((at_low > 0.0) != (at_high > 0.0))
    kept = np.zeros(len(found), dtype=int)
    for _ in range(_MOST_STEPS):
        if not searched.any():
            break
        apart = np.where(searched, at_high - at_low, 1.0)
        found = np.where(searched, (low * at_high - high * at_low) / apart, found)
        value = function(found)
        above = (value > 0.0) == (at_high > 0.0)
        moved = np.where(above, high - found, found - low)
        # an end that stays twice weighs half
        at_low = np.where(above, np.where(kept == 1, 0.5 * at_low, at_low), value)
        at_high = np.where(above, value, np.where(kept == -1, 0.5 * at_high, at_high))
        low, high = np.where(above, low, found), np.where(above, found, high)
        kept = np.where(above, 1, -1)
        searched &= (value != 0.0) & (high - low > near) & (moved > 1e-3 * near)
    return found


def all_settled(function: Callable[[Numbers], Numbers], start: Numbers, near: float) -> Numbers:
    """Find the number that a function gives back in each case, by secants.

    Parameters
    ----------
    function : callable
        Gives nearly the same number for all that lie near, one a case.
    start : array of float
        Where to begin, one a case [any].
    near : float
        How little the function may still change them [the unit of the numbers].

    Returns
    -------
    array of float
        The numbers [the unit of the start].

    Notes
    -----
    Source: as `clew.line.heat.crossing.settled`.
    """
    before = start
    added_before = function(before) - before
    at = before + added_before
    for _ in range(_MOST_STEPS):
        value = function(at)
        added = value - at
        done = np.abs(added) <= near
        if done.all():
            return value
        step = at - before
        bend = np.where(done, 1.0, added_before - added)
        secant = np.where(bend == 0.0, added, added * step / np.where(bend == 0.0, 1.0, bend))
        before, added_before = at, added
        at = np.where(done, value, at + secant)
    return at
