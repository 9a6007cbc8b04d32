"""A split of one ball's joins by source: its parts, and how they are told."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.sources import Sources

Array = NDArray[np.float64]

KINDS = ("breaks", "cone_ties", "line_breaks", "colour_ties")
"""The sources, in the order in which they are told."""

MOST_JOINS = 200
"""A ball with more joins than this is not a ball to answer for: look at the count."""


@dataclass(frozen=True, slots=True)
class JoinSplit:
    """What the joins of one ball probably were.

    Attributes
    ----------
    joins : int
        Joins in the ball.
    expected : dict
        Mean number of joins by source, given how many there are; they add up to ``joins``.
    chances : dict
        By source, the chance of 0, 1, ... ``joins`` of that kind.
    by_join : tuple of dict
        For each join in order along the ball, the chance of each source; all alike where the
        places were not known.
    rate_times : float or None
        Mean break rate of the cones of this ball over the usual rate, each cone weighed by its
        metres in the ball; None where no spread of rates is stated.
    rate_over_twice : float or None
        Chance that a metre of this ball, picked at random, comes off a cone of more than twice the
        usual rate.
    usual_over_twice : float or None
        The same for any ball of the mill, before its joins were counted.
    placed : bool
        Whether the places of the joins were used.
    draws : int
        Draws of the ties' places; 0 where the answer is exact.
    standard_error : float
        Standard error of the expected number of ties; 0 where the answer is exact.
    """

    joins: int
    expected: dict[str, float]
    chances: dict[str, Array]
    by_join: tuple[dict[str, float], ...]
    rate_times: float | None
    rate_over_twice: float | None
    usual_over_twice: float | None
    placed: bool
    draws: int
    standard_error: float


def check_joins(joins: int) -> None:
    """Refuse a number of joins that cannot be.

    Parameters
    ----------
    joins : int
        Joins counted in the ball.

    Raises
    ------
    BadInput
        Below 0 or above 200.
    """
    if not 0 <= joins <= MOST_JOINS:
        raise BadInput(
            Fault(
                "no such number of joins",
                expected=f"a whole number from 0 to {MOST_JOINS}",
                key="joins",
                value=str(joins),
            )
        )


def usual_over_twice(sources: Sources) -> float | None:
    """Chance that any cone of the mill breaks more than twice as often as the mean cone.

    Parameters
    ----------
    sources : Sources
        Where joins come from.

    Returns
    -------
    float or None
        The chance; None where no spread of rates is stated.
    """
    if math.isinf(sources.dispersion) or sources.breaks_per_m == 0.0:
        return None
    from scipy.special import gammaincc

    return float(gammaincc(sources.dispersion, 2.0 * sources.dispersion))


def told_by_kind(joint: Array) -> tuple[dict[str, float], dict[str, Array]]:
    """Turn the joint chances of ties, breaks and colour ties into a mean and a law by source.

    Parameters
    ----------
    joint : array, shape (n + 1, n + 1, c)
        Chance of so many ties, breaks and colour ties in a ball of n joins; line breaks are what is
        left.

    Returns
    -------
    (dict, dict)
        Mean number, and chances of 0, 1, ... n, by source.
    """
    joins = joint.shape[0] - 1
    numbers = np.arange(joins + 1)
    ties, breaks, colours = np.nonzero(joint)
    weight = joint[ties, breaks, colours]
    counts = (breaks, ties, joins - ties - breaks - colours, colours)
    chances = {
        kind: np.bincount(count, weight, joins + 1).astype(np.float64)
        for kind, count in zip(KINDS, counts, strict=True)
    }
    return {kind: float(chances[kind] @ numbers) for kind in KINDS}, chances
