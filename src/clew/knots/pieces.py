"""The shortest piece of a ball, and the share of balls within a limit of knots."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def no_piece_under(joins: Array, ball_length_m: float, least_m: float) -> Array:
    """Chance that no piece is shorter than so much, for given numbers of joins.

    Parameters
    ----------
    joins : array
        Numbers of joins in the ball [1].
    ball_length_m : float
        Length of the ball [m].
    least_m : float
        Least length of a piece, end pieces included [m].

    Returns
    -------
    array, shape of ``joins``
        Probabilities.

    Notes
    -----
    n joins uniform on the ball leave n + 1 pieces, all at least m long with chance
    (1 - (n+1)m/L)^n, or 0 where they do not fit. Exact for Poisson joins, and with one tie in a
    ball that starts anywhere when cones are longer than the ball and all have one break rate. Two
    ties in one ball stand a cone apart, so their pieces are longer than this says; breaks that
    crowd on one side of a tie make them shorter. Source: uniform spacings, MEMORY.
    """
    numbers = np.asarray(joins, dtype=np.float64)
    room = np.maximum(1.0 - (numbers + 1.0) * least_m / ball_length_m, 0.0)
    fits = (numbers + 1.0) * least_m <= ball_length_m
    return np.asarray(np.where(fits, room**numbers, 0.0))


def mean_shortest_m(joins: Array, ball_length_m: float) -> Array:
    """Mean length of the shortest piece, for given numbers of joins.

    Parameters
    ----------
    joins : array
        Numbers of joins in the ball [1].
    ball_length_m : float
        Length of the ball [m].

    Returns
    -------
    array, shape of ``joins``
        L / (n+1)^2 [m].

    Notes
    -----
    The integral of `no_piece_under`; the same validity. Source: uniform spacings, MEMORY.
    """
    return np.asarray(ball_length_m / (np.asarray(joins, dtype=np.float64) + 1.0) ** 2)


def within_limit(pmf: Array, ball_length_m: float, limit: int, least_m: float = 0.0) -> float:
    """Share of balls with at most so many joins and no piece too short, wound straight through.

    Parameters
    ----------
    pmf : array, shape (n,)
        Chances of 0, 1, 2, ... joins.
    ball_length_m : float
        Length of the ball [m].
    limit : int
        Knot limit.
    least_m : float
        Least length of a piece, end pieces included [m].

    Returns
    -------
    float
        Share of balls [1].
    """
    some = pmf[: max(limit + 1, 0)]
    joins = np.arange(some.size, dtype=np.float64)
    return float(np.dot(some, no_piece_under(joins, ball_length_m, least_m)))
