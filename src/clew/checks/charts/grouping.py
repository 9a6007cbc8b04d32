"""Balls put into groups: sizes, means, standard deviations and ranges, in one pass each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Groups:
    """Groups of balls in the order they are charted.

    Attributes
    ----------
    sizes : array of int64, shape (groups,)
        Balls in each group, at least one.
    means : array of float, shape (groups,)
        Their mean.
    sds : array of float, shape (groups,)
        Their standard deviation; NaN in a group of one.
    ranges : array of float, shape (groups,)
        Largest less smallest; NaN in a group of one.
    """

    sizes: NDArray[np.int64]
    means: Numbers
    sds: Numbers
    ranges: Numbers

    @property
    def count(self) -> int:
        """How many groups."""
        return int(self.sizes.size)

    @property
    def mean(self) -> float:
        """Mean of all balls: every ball weighs the same, in a large group or a small one."""
        start = float(self.means[0])
        return start + float((self.sizes * (self.means - start)).sum() / self.sizes.sum())


def group_balls(values: Numbers, places: Places) -> Groups:
    """Sum up balls by group.

    Parameters
    ----------
    values : array of float, shape (balls,)
        What was measured; no NaN.
    places : array of int, shape (balls,)
        Place of each ball's group, from 0, every place taken.

    Returns
    -------
    Groups
        Sizes, means, standard deviations and ranges.

    Raises
    ------
    BadInput
        Where there is no ball, or a value is not a number.
    """
    if not values.size:
        raise BadInput(Fault(say("no balls to chart"), expected=say("at least two groups of them")))
    if not np.isfinite(values).all():
        raise BadInput(Fault("a value that is not a number", expected="numbers"))
    count = int(places.max()) + 1
    if count == values.size and (places == np.arange(count)).all():
        alone = np.full(count, np.nan)
        return Groups(np.ones(count, np.int64), values.astype(float), alone, alone)
    sizes = np.bincount(places, minlength=count)
    # deviations from one ball first: the digits of a large mean do not eat those of its spread
    start = float(values[0])
    means = np.bincount(places, values - start, count) / sizes + start
    squares = np.bincount(places, (values - means[places]) ** 2, count)
    several = sizes > 1
    sds = np.full(count, np.nan)
    sds[several] = np.sqrt(squares[several] / (sizes[several] - 1))
    ordered = values
    if (np.diff(places) < 0).any():
        ordered = values[np.argsort(places, kind="stable")]
    first = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    ranges = np.maximum.reduceat(ordered, first) - np.minimum.reduceat(ordered, first)
    return Groups(sizes, means, sds, np.where(several, ranges, np.nan))


def consecutive(balls: int, size: int) -> tuple[Places, int]:
    """Put balls into groups as they come.

    Parameters
    ----------
    balls : int
        How many there are.
    size : int
        Balls in a group.

    Returns
    -------
    (array of int64, int)
        Place of each ball's group, from 0, and how many balls at the end make no whole group and
        are left out: a group is charted when its last ball is weighed. Where not even one group
        fills, all balls are one group.
    """
    whole = balls // size * size or balls
    return np.arange(whole) // size, balls - whole
