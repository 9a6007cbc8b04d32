"""The pieces of a ball that came back: how short, and whether the shortest-piece rule is met."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.knots.cutting import FirstRule
from clew.knots.pieces import no_piece_under

Array = NDArray[np.float64]

ROUNDING_M = 1e-9
"""A piece short by less than this is short by rounding only."""


def shortest_pieces(places: Array, rule: FirstRule) -> tuple[float, float] | None:
    """Give the shortest piece, as a place is read at the one side of its join or at the other.

    Parameters
    ----------
    places : array
        Places of joins in order, from either end of the ball [m].
    rule : FirstRule
        Length of ball and of a join.

    Returns
    -------
    (float, float) or None
        The shorter and the longer reading of the shortest piece [m]; None without any place.

    Notes
    -----
    A join takes w of the ball. Between joins a piece loses w whichever end the places are read
    from. At the ball's ends it depends: read from the start of the winding, the last piece loses w;
    read from its end, the first. Source: DERIVED from the rule of `plan_cuts`.
    """
    if not places.size:
        return None
    join_m = rule.join_length_m
    inner_m = float(np.diff(places).min()) - join_m if places.size > 1 else np.inf
    first_m, last_m = float(places[0]), rule.ball_length_m - float(places[-1])
    readings = (
        max(min(inner_m, first_m, last_m - join_m), 0.0),
        max(min(inner_m, first_m - join_m, last_m), 0.0),
    )
    return min(readings), max(readings)


def pieces_met(
    joins: int, shortest_m: tuple[float, float] | None, rule: FirstRule, *, all_placed: bool
) -> bool | None:
    """Say whether no piece is shorter than the rule allows.

    Parameters
    ----------
    joins : int
        Joins in the ball.
    shortest_m : tuple of float or None
        From `shortest_pieces` [m].
    rule : FirstRule
        The rule.
    all_placed : bool
        Whether every join was placed.

    Returns
    -------
    bool or None
        None where the places do not tell: not all are known, or the two readings differ.
    """
    least_m = rule.min_piece_m
    if least_m == 0.0:
        return True
    needed_m = (joins + 1) * least_m + joins * rule.join_length_m
    if needed_m > rule.ball_length_m + ROUNDING_M:
        return False
    if shortest_m is not None:
        if shortest_m[1] < least_m - ROUNDING_M:
            return False
        if shortest_m[0] < least_m - ROUNDING_M:
            return None
    return True if all_placed else None


def chance_long_enough(joins: Array, rule: FirstRule, least_m: float) -> Array:
    """Chance that so many joins leave no piece shorter than so much.

    Parameters
    ----------
    joins : array
        Numbers of joins [1].
    rule : FirstRule
        Length of ball and of a join.
    least_m : float
        Least length of a piece [m]; 0 asks for nothing.

    Returns
    -------
    array, shape of ``joins``
        Probabilities.

    Notes
    -----
    A join of w touches a ball of L from L + w places, and a piece of m needs m + w of them, as in
    the price of limits wound straight through. Source: DERIVED.
    """
    if least_m == 0.0:
        return np.ones(np.asarray(joins).shape)
    join_m = rule.join_length_m
    return no_piece_under(joins, rule.ball_length_m + join_m, least_m + join_m)
