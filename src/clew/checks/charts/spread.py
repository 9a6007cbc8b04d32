"""The standard deviation that limits rest on: near balls, moving ranges, cones, or a given one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.constants import d2, of_sizes
from clew.checks.charts.grouping import Groups
from clew.checks.charts.variance import ConeSpread, lag_one
from clew.faults import BadInput, Fault
from clew.languages import say, say_many

Numbers = NDArray[np.float64]

WITHIN = "within subgroup"
MOVING = "moving range"
CONES = "cones counted"
GIVEN = "given"

TELLING = 0.05
"""Cones that change a figure by a smaller part than this are not held against it; our choice."""


@dataclass(frozen=True, slots=True)
class Spread:
    """What the limits rest on.

    Attributes
    ----------
    words : str
        `WITHIN`, `MOVING`, `CONES` or `GIVEN`.
    sd : float
        Standard deviation of one ball, in the unit of the values.
    points : array of float, shape (groups,)
        Standard deviation of each group's mean.
    near_sd : float
        That of balls weighed near each other, which a panel of ranges or of standard deviations
        is set against.
    near_words : str
        `WITHIN`, `MOVING` or `GIVEN`.
    cones : ConeSpread or None
        The cones, where the data tell them apart.
    """

    words: str
    sd: float
    points: Numbers
    near_sd: float
    near_words: str
    cones: ConeSpread | None = None

    def widths(self, sizes: NDArray[np.int64], width: float) -> tuple[tuple[str, float], ...]:
        """Give the half width of the limits of a typical group by each variance there is.

        Parameters
        ----------
        sizes : array of int64, shape (groups,)
            Balls in each group.
        width : float
            Half width in standard deviations [1].

        Returns
        -------
        tuple of (str, float)
            The one from near balls first; the median group's.
        """
        found = [(self.near_words, width * float(np.median(self.near_sd / np.sqrt(sizes))))]
        if self.cones is not None and self.near_words != GIVEN:
            found.append((CONES, width * float(np.median(self.cones.mean_sd(sizes)))))
        return tuple(found)


def sd_from_sds(groups: Groups) -> float:
    """Estimate the standard deviation of a ball from those of the groups.

    Parameters
    ----------
    groups : Groups
        The groups; those of one ball say nothing.

    Returns
    -------
    float
        The estimate, in the unit of the values.

    Raises
    ------
    BadInput
        Where no group has two balls.

    Notes
    -----
    Source: weighted mean of s/c4 with the weights c4²/(1 - c4²) of least variance (I. W. Burr,
    1969, MEMORY); for groups of one size it is s̄/c4.
    """
    return _weighted(groups, groups.sds, "c4")


def sd_from_ranges(groups: Groups) -> float:
    """Estimate the standard deviation of a ball from the ranges of the groups.

    Parameters
    ----------
    groups : Groups
        The groups; those of one ball say nothing.

    Returns
    -------
    float
        The estimate, in the unit of the values.

    Raises
    ------
    BadInput
        Where no group has two balls, or one has more than 1000.

    Notes
    -----
    Source: weighted mean of R/d2 with the weights (d2/d3)²; for groups of one size it is R̄/d2.
    """
    return _weighted(groups, groups.ranges, "d2")


def _weighted(groups: Groups, spreads: Numbers, name: str) -> float:
    several = groups.sizes > 1
    if not several.any():
        raise BadInput(
            Fault(
                say("every group holds one ball"),
                say("groups of two or more; else chart individuals"),
            )
        )
    sizes = groups.sizes[several]
    mean = of_sizes(name, sizes)
    variance = 1.0 - mean**2 if name == "c4" else of_sizes("d3", sizes) ** 2
    weights = mean**2 / variance
    return float((weights * spreads[several] / mean).sum() / weights.sum())


def moving_ranges(values: Numbers, span: int) -> Numbers:
    """Give the range of each value and those just before it.

    Parameters
    ----------
    values : array of float, shape (n,)
        Values in order.
    span : int
        Values in each range, at least 2.

    Returns
    -------
    array of float, shape (n,)
        The ranges; NaN for the first ``span - 1``.

    Raises
    ------
    BadInput
        For a span below 2, or of more values than there are.
    """
    if values.size < 2:
        raise BadInput(
            Fault(
                say("one ball tells no spread"),
                say("two balls or more, or the sd of one ball"),
                key="sd",
            )
        )
    if not 2 <= span <= values.size:
        raise BadInput(
            Fault(
                "no moving range of so many balls",
                f"2 to {values.size}",
                key="span",
                value=str(span),
            )
        )
    high = np.array(values[span - 1 :], dtype=float)
    low = high.copy()
    for back in range(1, span):
        before = values[span - 1 - back : values.size - back]
        np.maximum(high, before, out=high)
        np.minimum(low, before, out=low)
    return np.concatenate((np.full(span - 1, np.nan), high - low))


def spread_of(
    groups: Groups,
    *,
    by: str = "sd",
    span: int = 2,
    given_sd: float | None = None,
    cones: ConeSpread | None = None,
    count_cones: bool = False,
) -> Spread:
    """Choose the standard deviation of a ball and of each group's mean.

    Parameters
    ----------
    groups : Groups
        The groups.
    by : str
        ``"sd"`` or ``"range"`` inside groups; groups of one ball are set by moving ranges.
    span : int
        Balls in a moving range.
    given_sd : float or None
        Standard deviation of one ball, where it is known; it overrides the data.
    cones : ConeSpread or None
        The cones, where the data tell them apart.
    count_cones : bool
        Whether limits rest on them.

    Returns
    -------
    Spread
        The choice, with its words.

    Raises
    ------
    BadInput
        Where the data say nothing about it.
    """
    if given_sd is not None:
        points = given_sd / np.sqrt(groups.sizes)
        return Spread(GIVEN, given_sd, points, given_sd, GIVEN, cones)
    if groups.sizes.max() > 1:
        near = sd_from_ranges(groups) if by == "range" else sd_from_sds(groups)
        words = WITHIN
    else:
        near = float(np.nanmean(moving_ranges(groups.means, span))) / d2(span)
        words = MOVING
    if cones is not None and count_cones:
        return Spread(CONES, cones.ball_sd, cones.mean_sd(groups.sizes), near, words, cones)
    return Spread(words, near, near / np.sqrt(groups.sizes), near, words, cones)


def uncounted(spread: Spread, sizes: NDArray[np.int64]) -> float:
    """Tell how much wider limits would be with cones counted, where they are not.

    Parameters
    ----------
    spread : Spread
        From `spread_of`.
    sizes : array of int64, shape (groups,)
        Balls in each group.

    Returns
    -------
    float
        Standard deviation of a typical group's mean as its cones make it, over the one that limits
        rest on [1]; 1 where cones are counted or not known.
    """
    if spread.words == CONES or spread.cones is None or not (spread.points > 0.0).all():
        return 1.0
    return float(np.median(spread.cones.mean_sd(sizes) / spread.points))


def false_calls_hold(spread: Spread, sizes: NDArray[np.int64], *, one_by_one: bool) -> bool:
    """Tell whether the law of independent points holds for the calls of a chart.

    Parameters
    ----------
    spread : Spread
        From `spread_of`.
    sizes : array of int64, shape (groups,)
        Balls in each group.
    one_by_one : bool
        Whether each point calls by itself, so that only its own limits matter: not with run rules,
        and not where points are summed up as if they were independent.

    Returns
    -------
    bool
        False where cones make limits too narrow, or tie neighbouring points together.
    """
    cones = spread.cones
    if cones is None:
        return True
    if uncounted(spread, sizes) > 1.0 + TELLING:
        return False
    mean_variance = np.maximum(cones.mean_sd(sizes) ** 2, 1e-300)  # balls all equal have none
    part = cones.limits_cone_sd**2 * cones.likeness / mean_variance
    return one_by_one or not cones.shared or float(np.median(part)) <= TELLING


def spread_cautions(groups: Groups, spread: Spread) -> tuple[str, ...]:
    """Say what weakens limits that rest on a spread.

    Parameters
    ----------
    groups : Groups
        The groups.
    spread : Spread
        From `spread_of`.

    Returns
    -------
    tuple of str
        Sentences.
    """
    said: list[str] = []
    if not spread.sd > 0.0:
        said.append(
            say("All balls near each other are alike: the scale may be too coarse to see more.")
        )
    if spread.words != GIVEN and groups.count < 20:
        said.append(
            say_many(
                "Limits from {n} group only; twenty or more settle them.",
                "Limits from {n} groups only; twenty or more settle them.",
                groups.count,
            )
        )
    cones = spread.cones
    if spread.words == CONES and cones is not None:
        if cones.cones_are_groups:
            said.append(
                say(
                    "Every group is one cone: a slow drift counts as a difference between cones "
                    "here."
                )
            )
        elif cones.drifting:
            said.append(
                say(
                    "Neighbouring cones differ less than all cones do: the level moved from cone "
                    "to cone, and limits rest on neighbouring cones, so that they do not hide it."
                )
            )
        if cones.unnamed:
            said.append(
                say("{n} balls name no cone; each counts as a cone of its own.", n=cones.unnamed)
            )
    wider = uncounted(spread, groups.sizes)
    if wider > 1.0 + TELLING:
        said.append(
            say(
                "Cones are not counted: a point varies {wider:.2g} times as much as its limits "
                "take it to, and calls for nothing far more often.",
                wider=wider,
            )
        )
    alike = lag_one(groups.means)
    if groups.count >= 20 and abs(alike) > 2.0 / np.sqrt(groups.count):
        said.append(
            say(
                "Each group's mean resembles the one before, by more than chance: the level moved, "
                "or groups are not independent, and then run rules and false-call times do not "
                "hold."
            )
        )
    return tuple(said)
