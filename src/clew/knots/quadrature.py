"""Gauss-Legendre quadrature, its rule made once: finding it takes longer than using it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@lru_cache(maxsize=8)
def legendre_rule(points: int) -> tuple[Array, Array]:
    """Give points and weights for an integral from -1 to 1.

    Parameters
    ----------
    points : int
        How many points [1].

    Returns
    -------
    points, weights : array, shape (points,)
        Both read-only; exact for polynomials up to degree 2 points - 1. Source:
        `numpy.polynomial.legendre.leggauss`.
    """
    rule = np.polynomial.legendre.leggauss(points)
    for part in rule:
        part.setflags(write=False)
    return rule
