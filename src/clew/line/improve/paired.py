"""Several lines under the same chance: what parts them, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput, Fault
from clew.line.improve.co_moments import CoMoments
from clew.line.layout import Layout, checked_layout
from clew.line.simulate.answer import CONFIDENCE, Estimate
from clew.line.simulate.measures import MEASURES, measured
from clew.line.simulate.records import Floats
from clew.line.simulate.shifts import checked_chance, handful, in_order

Watch = Callable[[Layout, Floats], dict[str, Floats]]
"""Columns made of the measures of some shifts, one row a shift."""
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Tried:
    """A line and what is watched on it.

    Attributes
    ----------
    layout : Layout
        The line.
    watch : callable
        Makes the watched columns of the measures of its shifts; the same names on every line.
    """

    layout: Layout
    watch: Watch


def all_measures(_layout: Layout, rows: Floats) -> dict[str, Floats]:
    """Watch everything that is measured."""
    return dict(zip(MEASURES, rows.T, strict=True))


@dataclass(frozen=True, slots=True)
class SideBySide:
    """What several lines did in the same shifts.

    Attributes
    ----------
    layouts : tuple of Layout
        The lines.
    names : tuple of str
        What was watched on each.
    replications, seed : int
        Shifts drawn, and from what.
    mean : array, shape (lines, names)
        Means of a shift.
    covariance : array, shape (lines, names, lines, names)
        Covariances from shift to shift.
    """

    layouts: tuple[Layout, ...]
    names: tuple[str, ...]
    replications: int
    seed: int
    mean: Floats
    covariance: Floats

    def estimate(self, line: int, name: str, confidence: float = CONFIDENCE) -> Estimate:
        """Give the mean of one line with its interval [the column's unit]."""
        return self._combined(self._mean(line, name), {(line, name): 1.0}, confidence)

    def difference(
        self,
        line: int,
        base: int,
        name: str,
        confidence: float = CONFIDENCE,
        *,
        base_adds: tuple[str, float] | None = None,
    ) -> Estimate:
        """Give how much more a line does than another, shift against the same shift.

        To the line's value may be added that of another column of the base, times a factor.
        """
        gap = self._mean(line, name) - self._mean(base, name)
        weights = {(line, name): 1.0, (base, name): -1.0}
        if base_adds is not None:
            other, factor = base_adds
            gap += factor * self._mean(base, other)
            weights[base, other] = weights.get((base, other), 0.0) + factor
        return self._combined(gap, weights, confidence)

    def ratio(self, line: int, over: str, under: str, confidence: float = CONFIDENCE) -> Estimate:
        """Give one mean over another of the same line; NaN where the latter is nothing."""
        found, weights = self._ratio(line, over, under)
        return self._combined(found, weights, confidence)

    def ratio_difference(
        self,
        line: int,
        base: int,
        over: str,
        under: str,
        confidence: float = CONFIDENCE,
        *,
        base_adds: str | None = None,
    ) -> Estimate:
        """Give how much more a ratio of means is on a line than on another.

        To the line's upper mean may be added that of another column of the base.
        """
        there, weights = self._ratio(line, over, under)
        bottom = self._mean(line, under)
        if base_adds is not None and bottom != 0.0:
            extra = self._mean(base, base_adds) / bottom
            there += extra
            weights[line, under] -= extra / bottom
            weights[base, base_adds] = 1.0 / bottom
        here, others = self._ratio(base, over, under)
        for key, weight in others.items():
            weights[key] = weights.get(key, 0.0) - weight
        return self._combined(there - here, weights, confidence)

    def mean_over(
        self,
        line: int,
        base: int,
        name: str,
        factor: float,
        confidence: float = CONFIDENCE,
    ) -> Estimate:
        """Give a line's mean over that of another line, times a factor."""
        top, bottom = self._mean(line, name), self._mean(base, name)
        if bottom == 0.0:
            return Estimate(math.nan, math.nan, math.nan, math.nan)
        found = factor * top / bottom
        weights = {(line, name): factor / bottom}
        weights[base, name] = weights.get((base, name), 0.0) - found / bottom
        return self._combined(found, weights, confidence)

    def variance_reduction(self, line: int, base: int, name: str) -> float:
        """How many times fewer shifts a difference takes than with chance of its own for each.

        The variance of a difference of independent shifts over that of the same shifts: infinite
        where the lines always differ by as much.
        """
        place = self.names.index(name)
        apart = (
            self.covariance[line, place, line, place] + self.covariance[base, place, base, place]
        )
        paired = apart - 2.0 * self.covariance[line, place, base, place]
        if paired <= 1e-12 * apart:  # nothing but rounding is left
            return math.inf if apart > 0.0 else math.nan
        return float(apart / paired)

    def _mean(self, line: int, name: str) -> float:
        return float(self.mean[line, self.names.index(name)])

    def _ratio(
        self, line: int, over: str, under: str
    ) -> tuple[float, dict[tuple[int, str], float]]:
        """A ratio of means, and its slopes by both: all that the delta method needs."""
        top, bottom = self._mean(line, over), self._mean(line, under)
        if bottom == 0.0:
            return math.nan, {(line, over): math.nan}
        ratio = top / bottom
        return ratio, {(line, over): 1.0 / bottom, (line, under): -ratio / bottom}

    def _combined(
        self, mean: float, weights: dict[tuple[int, str], float], confidence: float
    ) -> Estimate:
        """Put the interval of Student about a sum of means, each with its weight."""
        terms = [(line, self.names.index(name), w) for (line, name), w in weights.items()]
        variance = sum(
            float(self.covariance[line, place, other, at]) * w * v
            for line, place, w in terms
            for other, at, v in terms
        )
        sd = variance if math.isnan(variance) else math.sqrt(max(variance, 0.0))
        half = student_reach(self.replications, confidence) * sd / math.sqrt(self.replications)
        return Estimate(mean, mean - half, mean + half, sd)


def student_reach(number: int, confidence: float = CONFIDENCE) -> float:
    """Standard errors that the interval of a mean over so many shifts reaches to either side."""
    from scipy.special import stdtrit

    return float(stdtrit(number - 1, 0.5 + 0.5 * confidence))


def checked_shifts(seed: int, replications: int) -> None:
    """Refuse what no interval can come from; raises `BadInput`."""
    checked_chance(seed, replications)
    if replications < 2:
        raise BadInput(Fault("one shift shows no spread", "2 or more", key="replications"))


def side_by_side(
    tried: Sequence[Tried],
    *,
    replications: int,
    seed: int,
    cores: int | None = None,
    progress: Progress | None = None,
) -> SideBySide:
    """Run the same shifts on several lines.

    Parameters
    ----------
    tried : sequence of Tried
        The lines and what is watched on each.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the shifts done, of all lines together, and their number.

    Returns
    -------
    SideBySide
        Means and covariances; memory does not grow with the shifts.

    Raises
    ------
    BadInput
        When a layout, the seed or the number cannot be.

    Notes
    -----
    Every cone, break and pace of a hand is drawn from the seed, the shift, the lane and how
    manieth it is, so lines meet the same chance as far as they do the same (common random
    numbers). Intervals are Student's; those of ratios by the delta method. Source: A. M. Law,
    Simulation Modeling and Analysis, on variance reduction, MEMORY.
    """
    checked_shifts(seed, replications)
    for one in tried:
        checked_layout(one.layout)
    moments = CoMoments()
    names: tuple[str, ...] = ()
    for columns in _handfuls(tried, replications, seed, cores):
        names = tuple(columns[0])
        moments.add(np.column_stack([column[name] for column in columns for name in names]))
        if progress is not None:
            progress(moments.count * len(tried), replications * len(tried))
    shape = (len(tried), len(names))
    return SideBySide(
        layouts=tuple(one.layout for one in tried),
        names=names,
        replications=replications,
        seed=seed,
        mean=moments.mean.reshape(shape),
        covariance=(moments.products / (moments.count - 1)).reshape(shape + shape),
    )


def _handfuls(
    tried: Sequence[Tried], replications: int, seed: int, cores: int | None
) -> Iterator[list[dict[str, Floats]]]:
    """Give the watched columns of all lines, some shifts at a time, in order."""

    def watched(first: int, size: int) -> list[dict[str, Floats]]:
        return [
            one.watch(one.layout, measured(handful(one.layout, seed, first, size))) for one in tried
        ]

    return in_order(watched, replications, cores)


@dataclass(frozen=True, slots=True)
class Difference:
    """What a change of a line does to every measure of a shift.

    Attributes
    ----------
    replications, seed : int
        Shifts drawn, and from what.
    more : dict of str to Estimate
        How much more of each of `MEASURES` the changed line has in the same shift.
    variance_reduction : dict of str to float
        How many times fewer shifts that took than with chance of its own for each line [1].
    """

    replications: int
    seed: int
    more: dict[str, Estimate]
    variance_reduction: dict[str, float]


def difference(
    layout: Layout,
    changed: Layout,
    *,
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
) -> Difference:
    """Run the same shifts on a line and on the changed one.

    Parameters
    ----------
    layout, changed : Layout
        The line, and as it would be.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores.

    Returns
    -------
    Difference
        Of every measure, each with the interval of Student over the differences of shifts.

    Raises
    ------
    BadInput
        When a layout, the seed or the number cannot be.
    """
    both = side_by_side(
        [Tried(layout, all_measures), Tried(changed, all_measures)],
        replications=replications,
        seed=seed,
        cores=cores,
    )
    return Difference(
        replications=replications,
        seed=seed,
        more={name: both.difference(1, 0, name) for name in MEASURES},
        variance_reduction={name: both.variance_reduction(1, 0, name) for name in MEASURES},
    )
