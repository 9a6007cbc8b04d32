"""What varies between balls of different cones, and so between the means of groups of them.

Balls from one cone share its count. A group of five balls from one cone has a mean that varies
with the cone, which the spread inside such a group never shows: limits from it are too narrow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

_FEWEST_TO_DRIFT = 8
_ONE_IN_TWENTY = 1.645


@dataclass(frozen=True, slots=True)
class ConeSpread:
    """Spread between cones and between balls of one cone.

    Attributes
    ----------
    cone_sd, within_sd : float
        Standard deviation between cones, and of balls of one cone, in the unit of the values.
    neighbour_sd : float
        Standard deviation between cones from the differences of each cone to the one before.
    drifting : bool
        Whether neighbouring cones are more alike than chance allows: the level moved in time.
    cones : int
        Cones that the balls came from.
    unnamed : int
        Balls without a cone's name; each is taken as from a cone of its own.
    group, cone : array of int64, shape (pairs,)
        Group and cone of each pair that occurs, by group.
    share : array of float, shape (pairs,)
        Part of the group's balls that came from that cone.
    likeness : array of float, shape (groups,)
        Sum of the squared shares: 1 where a group is of one cone, 1/n where each ball has its own.
    cones_are_groups : bool
        True where every group is one cone and every cone one group: a drift from group to group
        then cannot be told from one cone to the next.
    """

    cone_sd: float
    within_sd: float
    neighbour_sd: float
    drifting: bool
    cones: int
    unnamed: int
    group: Places
    cone: Places
    share: Numbers
    likeness: Numbers
    cones_are_groups: bool

    @property
    def limits_cone_sd(self) -> float:
        """Standard deviation between cones that limits rest on: a moving level is no spread."""
        return self.neighbour_sd if self.drifting else self.cone_sd

    @property
    def shared(self) -> bool:
        """Whether a cone gave balls to several groups, so that their means vary together."""
        return bool(np.bincount(self.cone).max() > 1)

    @property
    def ball_sd(self) -> float:
        """Standard deviation of one ball of any cone, as limits see it."""
        return math.hypot(self.limits_cone_sd, self.within_sd)

    def mean_sd(self, sizes: NDArray[np.int64]) -> Numbers:
        """Give the standard deviation of each group's mean.

        Parameters
        ----------
        sizes : array of int64, shape (groups,)
            Balls in each group.

        Returns
        -------
        array of float, shape (groups,)
            sqrt(cone variance × likeness + within variance / size).
        """
        return np.sqrt(self.limits_cone_sd**2 * self.likeness + self.within_sd**2 / sizes)


def cones_repeat(cones: NDArray[np.int32]) -> bool:
    """Tell whether cones can be told from balls: two cones or more, one with several balls.

    Parameters
    ----------
    cones : array of int32, shape (balls,)
        Place of each ball's cone; -1 where it has no name.

    Returns
    -------
    bool
        True where both spreads can be estimated.
    """
    counts = np.bincount(cones[cones >= 0]) if (cones >= 0).any() else np.zeros(0, np.int64)
    named = int((counts > 0).sum()) + int((cones < 0).sum())
    return bool(counts.size) and named > 1 and int(counts.max()) > 1


def cone_spread(values: Numbers, places: Places, cones: NDArray[np.int32]) -> ConeSpread:
    """Estimate the spread between cones and within them.

    Parameters
    ----------
    values : array of float, shape (balls,)
        What was measured; no NaN.
    places : array of int64, shape (balls,)
        Place of each ball's group, from 0.
    cones : array of int32, shape (balls,)
        Place of each ball's cone; -1 where it has no name.

    Returns
    -------
    ConeSpread
        Both spreads, and how the groups' balls share the cones.

    Raises
    ------
    BadInput
        Where the two spreads cannot be told apart.

    Notes
    -----
    Source: analysis of variance of one random factor with unequal numbers: within variance MSW,
    cone variance (MSB - MSW)/n0, n0 = (N - Σ n²/N)/(k - 1), not below 0 (S. R. Searle, Variance
    Components, 1992, MEMORY). For equal numbers it is the REML estimate unless that is 0. Limits
    rest on it, unless cones in their order are more alike than chance allows (one-sided 5 %; J. von
    Neumann, Annals of Mathematical Statistics 12 (1941), MEMORY): then on half the mean squared
    difference of neighbouring cones, less what their balls make of it (DERIVED), since a level that
    moves would otherwise widen the limits that are to show it.
    """
    if not cones_repeat(cones):
        raise BadInput(
            Fault(
                say("cones cannot be told from balls"),
                say("two cones or more, at least one with several balls"),
                key="cone",
            )
        )
    nameless = cones < 0
    codes = cones.astype(np.int64)
    codes[nameless] = int(cones.max()) + 1 + np.arange(int(nameless.sum()))
    counts_all = np.bincount(codes)
    compact = np.cumsum(counts_all > 0) - 1
    codes, counts = compact[codes], counts_all[counts_all > 0]
    off = values - values.mean()
    means = np.bincount(codes, off) / counts
    balls, kinds = values.size, counts.size
    within = float(((off - means[codes]) ** 2).sum()) / (balls - kinds)
    between = float((counts * (means - off.mean()) ** 2).sum()) / (kinds - 1)
    n0 = (balls - float((counts.astype(float) ** 2).sum()) / balls) / (kinds - 1)
    neighbour, drifting = _neighbours(means, counts, codes, within)
    pair, times = np.unique(places.astype(np.int64) * kinds + codes, return_counts=True)
    group, cone = pair // kinds, pair % kinds
    share = times / np.bincount(places)[group]
    return ConeSpread(
        cone_sd=math.sqrt(max(0.0, (between - within) / n0)),
        within_sd=math.sqrt(within),
        neighbour_sd=neighbour,
        drifting=drifting,
        cones=kinds - int(nameless.sum()),
        unnamed=int(nameless.sum()),
        group=group,
        cone=cone,
        share=share,
        likeness=np.asarray(np.bincount(group, share**2), dtype=np.float64),
        cones_are_groups=bool((np.bincount(group) == 1).all() and (np.bincount(cone) == 1).all()),
    )


def _neighbours(means: Numbers, counts: Places, codes: Places, within: float) -> tuple[float, bool]:
    """Spread between cones from those that follow each other, and whether their level moves."""
    kinds = counts.size
    first = np.empty(kinds, dtype=np.int64)
    first[codes[::-1]] = np.arange(codes.size)[::-1]  # the last one written is the first ball
    order = np.argsort(first)
    step = np.diff(means[order])
    noise = within / counts[order]
    excess = float((step**2 - noise[1:] - noise[:-1]).sum()) / (2.0 * (kinds - 1))
    total = float(((means - means.mean()) ** 2).sum())
    if kinds < _FEWEST_TO_DRIFT or total == 0.0:
        return math.sqrt(max(0.0, excess)), False
    ratio = float((step**2).sum()) / total
    least = 2.0 - _ONE_IN_TWENTY * 2.0 * math.sqrt((kinds - 2) / (kinds**2 - 1))
    return math.sqrt(max(0.0, excess)), ratio < least


def lag_one(values: Numbers) -> float:
    """Give the correlation of each value with the one before.

    Parameters
    ----------
    values : array of float, shape (n,)
        Values in order.

    Returns
    -------
    float
        The lag-1 autocorrelation coefficient [1]; 0 where all are equal or there are fewer than
        two.

    Notes
    -----
    Source: r1 = Σ (y_i - ȳ)(y_{i+1} - ȳ) / Σ (y_i - ȳ)², as the NIST reference data sets define it.
    """
    if values.size < 2:
        return 0.0
    off = values - values[0]
    off = off - off.mean()
    total = float(off @ off)
    return float(off[1:] @ off[:-1]) / total if total > 0.0 else 0.0
