"""Sums of positive terms too large or too small for a float."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def log_binomials(count: int) -> Array:
    """Logarithms of the binomial coefficients of one row.

    Parameters
    ----------
    count : int
        The row, 0 or more.

    Returns
    -------
    array, shape (count + 1,)
        log C(count, 0), ..., log C(count, count).
    """
    up = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1.0, count + 1.0)))])
    return np.asarray(up[-1] - up - up[::-1])


def log_sum(logs: Array) -> float:
    """Logarithm of a sum of terms given by their logarithms.

    Parameters
    ----------
    logs : array
        Logarithms of the terms; minus infinity is a term of 0, but not all may be.

    Returns
    -------
    float
        Logarithm of the sum.
    """
    top = logs.max()
    return float(top + np.log(np.exp(logs - top).sum()))
