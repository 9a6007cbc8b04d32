"""Where a function of one number crosses zero, or gives back what it is given."""

from __future__ import annotations

from collections.abc import Callable

_MOST_STEPS = 100


def crossing(function: Callable[[float], float], low: float, high: float, near: float) -> float:
    """Find where a function crosses zero, by the Illinois rule.

    Parameters
    ----------
    function : callable
        Monotonic between the ends.
    low, high : float
        Ends of the range [any].
    near : float
        How near the answer must come [the unit of the ends].

    Returns
    -------
    float
        The place [the unit of the ends]; the nearer end where there is no crossing.

    Notes
    -----
    False position that halves the weight of an end which stays twice (Illinois); it keeps the
    crossing between its ends and needs few calls. Source: MEMORY.
    """
    at_low, at_high = function(low), function(high)
    if at_low == 0.0 or (at_low > 0.0) == (at_high > 0.0):
        return low if abs(at_low) <= abs(at_high) else high
    kept = 0
    for _ in range(_MOST_STEPS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = function(middle)
        if (value > 0.0) == (at_high > 0.0):
            moved, high, at_high = high - middle, middle, value
            at_low, kept = (0.5 * at_low if kept == 1 else at_low), 1
        else:
            moved, low, at_low = middle - low, middle, value
            at_high, kept = (0.5 * at_high if kept == -1 else at_high), -1
        if value == 0.0 or high - low <= near or moved <= 1e-3 * near:
            return middle
    return 0.5 * (low + high)


def settled(function: Callable[[float], float], start: float, near: float) -> float:
    """Find the number that a function gives back, by secants.

    Parameters
    ----------
    function : callable
        Gives nearly the same number for all that lie near.
    start : float
        Where to begin [any].
    near : float
        How little the function may still change it [the unit of the number].

    Returns
    -------
    float
        The number [the unit of the start].

    Notes
    -----
    The secant rule on what the function adds; where that stands still, plain repetition. Source:
    MEMORY.
    """
    before = start
    added_before = function(before) - before
    at = before + added_before
    for _ in range(_MOST_STEPS):
        value = function(at)
        added = value - at
        if abs(added) <= near:
            return value
        slope = (added - added_before) / (at - before)
        before, added_before = at, added
        at = value if slope == 0.0 else at - added / slope
    return at
