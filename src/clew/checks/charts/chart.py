"""A control chart as an answer: points, centre, limits, signals, and where the limits came from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

ON_LIMIT = 1e-9
"""A point within this part of its limit's distance lies on it; a point on a limit does not signal.

A count on its limit is common (16 + 3 √16 = 28 exactly), and rounding must not decide it.
"""


@dataclass(frozen=True, slots=True)
class Signal:
    """A group that the chart points at.

    Attributes
    ----------
    group : int
        Its place on the chart, from 1.
    rule : str
        Name of the rule that called.
    value : float
        The point there, in the panel's unit.
    words : str
        The reason in words.
    """

    group: int
    rule: str
    value: float
    words: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One row of points with its limits.

    Attributes
    ----------
    quantity : str
        What is charted: ``"mean"``, ``"range"``, ``"sd"``, ``"moving range"``...
    points, center, ucl, lcl : array of float, shape (groups,)
        Point, centre and limits of each group; NaN where a group has none.
    signals : tuple of Signal
        What calls in this panel, by group.
    """

    quantity: str
    points: Points
    center: Points
    ucl: Points
    lcl: Points
    signals: tuple[Signal, ...] = ()


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift that a sum of deviations found.

    Attributes
    ----------
    upward : bool
        True where the level rose.
    began : int
        First group after the shift, from 1: the sum last stood at zero just before it.
    seen : int
        Group at which the sum passed its limit, from 1.
    level : float
        Estimated level since then, in the unit of the values.
    """

    upward: bool
    began: int
    seen: int
    level: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of one winder, lane, lot, or of all.

    Attributes
    ----------
    kind : str
        ``"xbar-s"``, ``"xbar-r"``, ``"individuals"``, ``"ewma"``, ``"cusum"``, ``"c"`` or ``"u"``.
    sizes : array of float, shape (groups,)
        Balls (or units) in each group.
    panel : Panel
        The chart proper.
    second : Panel or None
        Its second panel, where it has one.
    center : float
        Its centre; the target of a cusum.
    sd : float
        Standard deviation of one ball that the limits rest on.
    sd_words : str
        Where it came from.
    sd_points : array of float, shape (groups,)
        Standard deviation of each point that the limits rest on.
    ucl, lcl : float or None
        Limits as one number: the same for every group, or those a chart settles to; None where
        groups differ.
    widths : tuple of (str, float)
        Half width of the limits of a typical group, by where the variance came from.
    rules : tuple of str
        Rules that were switched on.
    shifts : tuple of Shift
        What a cusum says about when and how much.
    cautions : tuple of str
        What weakens the answer, each one sentence.
    independent : bool
        Whether the law of independent points holds for its calls: not where cones tie points
        together or make its limits too narrow.
    lag_one : float
        Correlation of each group's mean with the one before [1].
    groups : tuple of str or None
        Names of the groups; None where they are numbered from 1.
    """

    kind: str
    sizes: Points
    panel: Panel
    second: Panel | None
    center: float
    sd: float
    sd_words: str
    sd_points: Points
    ucl: float | None
    lcl: float | None
    widths: tuple[tuple[str, float], ...] = ()
    rules: tuple[str, ...] = ()
    shifts: tuple[Shift, ...] = ()
    cautions: tuple[str, ...] = ()
    independent: bool = True
    lag_one: float = 0.0
    groups: tuple[str, ...] | None = None

    @property
    def signals(self) -> tuple[int, ...]:
        """Groups that the chart proper points at, from 1, each once.

        Both averages of an ewma with a head start count, and both sums of a cusum; the spread panel
        of a chart of means has its own.
        """
        called = {signal.group for signal in self.panel.signals}
        if self.kind == "ewma" and self.second is not None:
            called |= {signal.group for signal in self.second.signals}
        return tuple(sorted(called))

    def group_name(self, group: int) -> str:
        """Name a group.

        Parameters
        ----------
        group : int
            Its place on the chart, from 1.

        Returns
        -------
        str
            Its name.
        """
        return str(group) if self.groups is None else self.groups[group - 1]


def beyond(points: Points, center: Points, limit: Points, *, above: bool) -> NDArray[np.bool_]:
    """Tell which points lie beyond a limit; a point on it does not.

    Parameters
    ----------
    points, center, limit : array of float, shape (groups,)
        Points, their centre and one limit; NaN is never beyond.
    above : bool
        Whether it is the upper limit.

    Returns
    -------
    array of bool, shape (groups,)
        True beyond.
    """
    reach = np.abs(limit - center)
    slack = ON_LIMIT * np.maximum(reach, ON_LIMIT * np.abs(center))
    outward = points - limit if above else limit - points
    return np.asarray(outward > slack)


def constant(limits: Points) -> float | None:
    """Give limits as one number where all groups share it.

    Parameters
    ----------
    limits : array of float, shape (groups,)
        A limit of each group.

    Returns
    -------
    float or None
        The limit, or None where groups differ.
    """
    known = limits[~np.isnan(limits)]
    if not known.size:
        return None
    low, high = float(known.min()), float(known.max())
    return low if high - low <= ON_LIMIT * max(abs(low), abs(high)) else None
