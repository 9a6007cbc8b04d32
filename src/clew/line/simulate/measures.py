"""What is measured of every shift, and how the measures of many shifts are added up."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from clew.line.layout import Layout
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.records import JOINS, SAMPLES, WAITS, Floats
from clew.line.simulate.shifts import Handful

WINDER_CAUSES = (
    "winding",
    "waiting_for_doff",
    "doffing",
    "starved",
    "broken",
    "changing",
    "resting",
)
"""What a winder's seconds go to; they add up to the shift."""
FEED_CAUSES = ("full", "starved", "broken", "changing")
"""What the feed stops for."""
COUNTS = (
    "balls",
    "second_balls",
    "balls_together",
    "part_balls",
    "laid_m",
    "waste_m",
    "spoilt_m",
    "belt_stops",
    "dries",
    "cones",
    "ties",
    "feed_breaks",
    "wind_breaks",
    "joins",
)
"""Sums over the lanes."""
HAND_SECONDS = ("serving", "walking", "resting")
MEASURES = (
    *COUNTS,
    *(f"winder_{cause}_s" for cause in WINDER_CAUSES),
    *(f"feed_{cause}_s" for cause in FEED_CAUSES),
    *(f"hand_{what}_s" for what in HAND_SECONDS),
    "first_balls",
)
"""Everything that is measured of a shift, in the order of its columns."""
LEVELS = 20
"""Classes of the buffer's level, from empty to full."""
WAIT_ENDS_S = np.concatenate((np.arange(2.0, 201.0, 2.0), 200.0 + 20.0 * np.arange(1, WAITS - 99)))
"""Where the classes of waits for a doff end [s]; the last one has no end."""


def measured(handful: Handful) -> Floats:
    """Measure each shift of a handful.

    Parameters
    ----------
    handful : Handful
        Shifts.

    Returns
    -------
    array, shape (shifts, measures)
        One row a shift, one column each of `MEASURES`.
    """
    lanes, hands = handful.lanes, handful.hands
    columns = [lanes[name].sum(axis=1) for name in COUNTS]
    columns += [
        lanes["winder_s"][:, :, 0].sum(axis=1),
        lanes["waiting_s"].sum(axis=1),
        lanes["doffing_s"].sum(axis=1),
        lanes["winder_s"][:, :, 1].sum(axis=1),
        lanes["broken_s"].sum(axis=1),
        lanes["changing_s"].sum(axis=1),
        lanes["resting_s"].sum(axis=1),
    ]
    columns += [lanes["feed_s"][:, :, cause].sum(axis=1) for cause in range(1, 5)]
    columns += [hands[f"{what}_s"].sum(axis=1) for what in HAND_SECONDS]
    columns.append(columns[0] - columns[COUNTS.index("second_balls")])
    return np.column_stack(columns)


def imbalance_m(handful: Handful) -> Floats:
    """Strand that the books miss in each lane.

    Initial strand and strand fed, less what lies on the belt and in the buffer and what the winder
    took, as balls, on the mandrel or as waste; all in metres before steam.

    Parameters
    ----------
    handful : Handful
        Shifts.

    Returns
    -------
    array, shape (shifts, lanes)
        Nothing, but for rounding [m].
    """
    lanes = handful.lanes
    came_m = lanes["initial_m"] + lanes["laid_m"]
    return np.asarray(came_m - lanes["belt_m"] - lanes["buffer_m"] - lanes["taken_m"])


@dataclass(slots=True)
class Moments:
    """Mean and spread of rows that come a handful at a time (Chan, Golub and LeVeque 1983).

    Attributes
    ----------
    count : int
        Rows so far.
    mean, squares : array, shape (columns,)
        Means, and sums of squared distances from them.
    """

    count: int = 0
    mean: Floats = field(default_factory=lambda: np.zeros(0))
    squares: Floats = field(default_factory=lambda: np.zeros(0))

    def add(self, rows: Floats) -> None:
        """Take more rows of the same columns."""
        count, mean = len(rows), rows.mean(axis=0)
        squares = ((rows - mean) ** 2).sum(axis=0)
        if self.count == 0:
            self.count, self.mean, self.squares = count, mean, squares
            return
        both, gap = self.count + count, mean - self.mean
        self.mean = self.mean + gap * count / both
        self.squares = self.squares + squares + gap**2 * (self.count * count / both)
        self.count = both

    @property
    def sd(self) -> Floats:
        """Standard deviations of a row; nothing is known of it from one."""
        if self.count < 2:
            return np.full_like(self.mean, math.nan)
        return np.asarray(np.sqrt(self.squares / (self.count - 1)))

    @property
    def error(self) -> Floats:
        """Standard errors of the means."""
        return np.asarray(self.sd / math.sqrt(self.count))


@dataclass(slots=True)
class Sums:
    """Everything that is kept of many shifts, however many.

    Attributes
    ----------
    measures : Moments
        Of every measure of a shift.
    lane_seconds, lane_counts : arrays, shape (lanes, causes) and (lanes, counts)
        Sums over the shifts, lane by lane.
    waits : array, shape (classes,)
        Waits for a doff by their length.
    joins : array, shape (classes,)
        Balls by the joins in them that the line made.
    served : array, shape (kinds,)
        Calls answered.
    levels : array, shape (moments, classes)
        How often the buffer stood how high at moments of the shift.
    level_m : array, shape (moments,)
        Levels of the buffers, together [m].
    balls : array
        Shifts by their balls.
    worst_imbalance_m, through_m : float
        Most strand that the books of any lane missed, and strand that came into that lane [m].
    waited_s : float
        Waits for a doff that a hand ended, together [s].
    longest_wait_s, longest_stop_s : float
        Of any shift [s].
    raw_m, steamed_m, taken_m, initial_m, initial_raw_m : float
        Strand on the belt before and after steam and in the buffer, taken by the winders, there
        at first, and of that before steam [m].
    """

    measures: Moments
    lane_seconds: Floats
    lane_counts: Floats
    waits: Floats = field(default_factory=lambda: np.zeros(WAITS))
    joins: Floats = field(default_factory=lambda: np.zeros(JOINS))
    served: Floats = field(default_factory=lambda: np.zeros(len(KIND_ORDER)))
    levels: Floats = field(default_factory=lambda: np.zeros((SAMPLES, LEVELS)))
    level_m: Floats = field(default_factory=lambda: np.zeros(SAMPLES))
    balls: Floats = field(default_factory=lambda: np.zeros(0))
    worst_imbalance_m: float = 0.0
    through_m: float = 0.0
    waited_s: float = 0.0
    longest_wait_s: float = 0.0
    longest_stop_s: float = 0.0
    raw_m: float = 0.0
    steamed_m: float = 0.0
    taken_m: float = 0.0
    initial_m: float = 0.0
    initial_raw_m: float = 0.0


def no_sums(layout: Layout) -> Sums:
    """Begin to add up shifts of a layout."""
    return Sums(
        Moments(),
        np.zeros((layout.lanes, len(WINDER_CAUSES) + len(FEED_CAUSES))),
        np.zeros((layout.lanes, len(COUNTS))),
    )


def add_handful(sums: Sums, layout: Layout, handful: Handful) -> Floats:
    """Add a handful of shifts to the sums, and give the measures of each.

    Parameters
    ----------
    sums : Sums
        What is added to.
    layout : Layout
        The line.
    handful : Handful
        Shifts.

    Returns
    -------
    array, shape (shifts, measures)
        As `measured`.
    """
    lanes = handful.lanes
    rows = measured(handful)
    sums.measures.add(rows)
    winder = (
        lanes["winder_s"][:, :, 0],
        lanes["waiting_s"],
        lanes["doffing_s"],
        lanes["winder_s"][:, :, 1],
        lanes["broken_s"],
        lanes["changing_s"],
        lanes["resting_s"],
        *(lanes["feed_s"][:, :, cause] for cause in range(1, 5)),
    )
    sums.lane_seconds += np.column_stack([one.sum(axis=0) for one in winder])
    sums.lane_counts += np.column_stack([lanes[name].sum(axis=0) for name in COUNTS])
    sums.waits += lanes["doff_waits"].sum(axis=(0, 1))
    sums.joins += lanes["ball_joins"].sum(axis=(0, 1))
    sums.served += handful.hands["served"].sum(axis=(0, 1))
    sums.level_m += lanes["level_m"].sum(axis=(0, 1))
    place = np.minimum(lanes["level_m"] / layout.buffer_m * LEVELS, LEVELS - 1).astype(int)
    for level in range(LEVELS):
        sums.levels[:, level] += (place == level).sum(axis=(0, 1))
    balls = np.bincount(rows[:, 0].astype(int))
    longer = np.zeros(max(len(balls), len(sums.balls)))
    longer[: len(sums.balls)] = sums.balls
    longer[: len(balls)] += balls
    sums.balls = longer
    missed_m = np.abs(imbalance_m(handful))
    if missed_m.max() >= sums.worst_imbalance_m:
        worst = np.unravel_index(missed_m.argmax(), missed_m.shape)
        sums.worst_imbalance_m = float(missed_m[worst])
        sums.through_m = float(lanes["initial_m"][worst] + lanes["laid_m"][worst])
    sums.waited_s += float(lanes["doff_wait_s"].sum())
    sums.longest_wait_s = max(sums.longest_wait_s, float(lanes["longest_wait_s"].max()))
    sums.longest_stop_s = max(sums.longest_stop_s, float(lanes["longest_stop_s"].max()))
    sums.raw_m += float(lanes["raw_m"].sum())
    sums.steamed_m += float((lanes["belt_m"] - lanes["raw_m"] + lanes["buffer_m"]).sum())
    sums.taken_m += float(lanes["taken_m"].sum())
    sums.initial_m += float(lanes["initial_m"].sum())
    sums.initial_raw_m += float(lanes["initial_raw_m"].sum())
    return rows
