"""The lowest point of a smooth criterion within bounds, for a handful of steps."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Asked = Callable[[Floats], tuple[float, Floats]]

SETTLED = 1e-4
"""Slope of minus twice the log-likelihood, per standardised step, at which a fit has settled."""

_REACH = 1e-5
_MOST_ROUNDS = 60
_MOST_HALVINGS = 30


def lowest(
    asked: Asked, start: Floats, low: Floats, high: Floats, *, close: float = 1e-9
) -> tuple[Floats, bool]:
    """Find the lowest point of a criterion within bounds, and say whether it has settled.

    Parameters
    ----------
    asked : callable
        Steps to the criterion and its slopes.
    start, low, high : array of float
        Where to start, and the bounds [standardised steps].
    close : float
        Slope at which it stops [criterion per step].

    Returns
    -------
    array of float, bool
        The point, and whether the slopes are nil or point out of bounds.

    Notes
    -----
    Newton's method on the steps that are free, curvature by differences of the slopes and its
    directions made to go down, halved until the criterion falls. Steps are so scaled that the
    criterion is nearly a parabola, so a few rounds do. Source: projected Newton, common practice.
    """
    at = np.clip(start, low, high)
    if not len(at):
        return at, True
    value, slope = asked(at)
    for _ in range(_MOST_ROUNDS):
        uphill = _within(slope, at, low, high)
        free = np.flatnonzero(uphill != 0.0)
        size = float(np.abs(uphill).max())
        if size <= close:
            break
        step = np.zeros(len(at))
        step[free] = _newton(asked, at, slope, uphill[free], free, high)
        for halving in range(_MOST_HALVINGS):
            tried = np.clip(at - step * 0.5**halving, low, high)
            found, its_slope = asked(tried)
            falls = found < value - 1e-6 * float(uphill @ (at - tried))
            left = float(np.abs(_within(its_slope, tried, low, high)).max())
            # where rounding hides the fall, a smaller slope tells as well
            level = abs(found - value) <= 1e-11 * max(1.0, abs(value)) and left < size
            if falls or level:
                at, value, slope = tried, found, its_slope
                break
        else:
            break
    return at, bool(np.abs(_within(slope, at, low, high)).max() < max(SETTLED, close))


def _within(slope: Floats, at: Floats, low: Floats, high: Floats) -> Floats:
    """Slopes, but nil where they point out of bounds."""
    out = ((at <= low) & (slope > 0.0)) | ((at >= high) & (slope < 0.0))
    return np.where(out, 0.0, slope)


def _newton(
    asked: Asked, at: Floats, slope: Floats, uphill: Floats, free: NDArray[np.intp], high: Floats
) -> Floats:
    """Newton's step on the free steps."""
    curve = np.empty((len(free), len(free)))
    for i, place in enumerate(free):
        away = at.copy()
        reach = _REACH * max(1.0, abs(float(at[place])))
        if away[place] + reach > high[place]:
            reach = -reach
        away[place] += reach
        curve[i] = (asked(away)[1][free] - slope[free]) / reach
    bends, along = np.linalg.eigh(0.5 * (curve + curve.T))
    bends = np.maximum(np.abs(bends), 1e-3)
    step = along @ ((along.T @ uphill) / bends)
    longest = float(np.abs(step).max())
    most = max(2.0, 0.5 * float(np.abs(at[free]).max()))
    return np.asarray(step * min(1.0, most / longest) if longest > 0.0 else step)
