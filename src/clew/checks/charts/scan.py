"""Sums that forget: y[t] = a[t] y[t-1] + x[t] for whole columns, without a loop over balls."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

_NOTHING = 1e-20


def decayed_sum(x: Numbers, keep: float) -> Numbers:
    """Sum a column with weights that fall off by a constant factor a step.

    Parameters
    ----------
    x : array of float, shape (steps,)
        What is added at each step.
    keep : float
        Part of the sum that is kept from one step to the next, 0 to below 1 [1].

    Returns
    -------
    array of float, shape (steps,)
        y[t] = keep y[t-1] + x[t], from y[-1] = 0.

    Notes
    -----
    Doubling: a sum over the last 2s steps is that over the last s, plus keep^s times the one s
    steps before. Ends when keep^s is nothing beside 1.
    """
    y = x.astype(float)
    step, power = 1, keep
    while step < y.size and power > _NOTHING:
        y[step:] += power * y[:-step].copy()
        step, power = 2 * step, power * power
    return y


def decayed_sum_by(x: Numbers, keep: Numbers) -> Numbers:
    """Sum a column with a factor of its own at each step.

    Parameters
    ----------
    x : array of float, shape (steps,)
        What is added at each step.
    keep : array of float, shape (steps,)
        Part of the sum that step keeps, 0 to below 1; 0 where a new sum starts.

    Returns
    -------
    array of float, shape (steps,)
        y[t] = keep[t] y[t-1] + x[t], from y[-1] = 0.
    """
    y, a = x.astype(float), keep.astype(float)
    a[:1] = 0.0
    step = 1
    while step < y.size and (a > _NOTHING).any():
        y[step:] += a[step:] * y[:-step].copy()
        a[step:] *= a[:-step].copy()
        a[:step] = 0.0
        step *= 2
    return y
