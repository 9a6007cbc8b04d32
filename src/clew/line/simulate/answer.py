"""A shift of the line, answered: what comes off, where every second went, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from clew.line.layout import Layout
from clew.line.simulate.books import Books, books_of
from clew.line.simulate.measures import (
    COUNTS,
    FEED_CAUSES,
    HAND_SECONDS,
    LEVELS,
    MEASURES,
    WAIT_ENDS_S,
    WINDER_CAUSES,
    Sums,
    add_handful,
    no_sums,
)
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.shifts import shifts

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean over shifts, with its doubt.

    Attributes
    ----------
    mean : float
        The mean [the measure's unit].
    low, high : float
        Ends of the interval that holds the true mean, 95 times in 100 [the measure's unit].
    sd : float
        Standard deviation from shift to shift [the measure's unit].
    """

    mean: float
    low: float
    high: float
    sd: float

    def times(self, factor: float) -> Estimate:
        """Give the same in another unit; the factor is above 0."""
        return Estimate(self.mean * factor, self.low * factor, self.high * factor, self.sd * factor)


@dataclass(frozen=True, slots=True)
class LaneAnswer:
    """What one lane does in a mean shift.

    Attributes
    ----------
    balls, laid_m, waste_m : float
        Full balls, strand fed and strand wasted before steam [1], [m].
    winder_share, feed_share : dict of str to float
        Shares of the shift by cause [1].
    """

    balls: float
    laid_m: float
    waste_m: float
    winder_share: dict[str, float]
    feed_share: dict[str, float]


@dataclass(frozen=True, slots=True)
class Waits:
    """How long a full ball waits for its doff.

    Attributes
    ----------
    mean_s, median_s, p95_s, longest_s : float
        Mean, what half of them and what 19 of 20 at most wait, and the longest of all shifts [s].
        The second and third are known to 2 s, and are the longest where they pass the classes that
        are counted; NaN when nothing was doffed.
    share_longer : tuple of (float, float)
        Waits longer than so many seconds, as a share of all [s], [1].
    """

    mean_s: float
    median_s: float
    p95_s: float
    longest_s: float
    share_longer: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class ShiftAnswer:
    """What a shift of a line gives.

    Attributes
    ----------
    layout : Layout
        What was asked.
    replications, seed : int
        Shifts drawn, and from what.
    measures : dict of str to Estimate
        Every measure of `MEASURES`, all lanes or hands of a shift together.
    balls_range : tuple of int
        Balls of a shift: 1 shift of 20 has fewer than the first, 1 of 20 more than the second.
    lanes : tuple of LaneAnswer
        Lane by lane.
    waits : Waits
        For a doff.
    joins_per_ball : float
        Mean of the joins in a ball that the line made: cone ties and re-ties; NaN without a
        ball [1].
    ball_joins : tuple of float
        Shares of balls with 0, 1, 2, ... such joins; the last class is open [1].
    served : dict of str to float
        Calls answered in a shift, by kind [1].
    level_mean, level_low, level_high : tuple of float
        Level of the buffer as a part of what it holds, at moments evenly over the shift: mean, and
        what 1 lane of 10 is below and above [1].
    longest_stop_s : float
        Longest stop of the belt in any shift [s].
    books : Books
        Strand, to the last metre.
    """

    layout: Layout
    replications: int
    seed: int
    measures: dict[str, Estimate]
    balls_range: tuple[int, int]
    lanes: tuple[LaneAnswer, ...]
    waits: Waits
    joins_per_ball: float
    ball_joins: tuple[float, ...]
    served: dict[str, float]
    level_mean: tuple[float, ...]
    level_low: tuple[float, ...]
    level_high: tuple[float, ...]
    longest_stop_s: float
    books: Books

    @property
    def balls(self) -> Estimate:
        """Full balls of a shift."""
        return self.measures["balls"]

    @property
    def kg(self) -> Estimate:
        """Full balls by their mass as they leave the line, at the regain off the dryer [kg]."""
        return self.balls.times(self.layout.ball_kg)

    @property
    def winder_share(self) -> dict[str, Estimate]:
        """Shares of all winders' time by cause; their means add up to 1."""
        part = 1.0 / (self.layout.lanes * self.layout.shift_s)
        return {cause: self.measures[f"winder_{cause}_s"].times(part) for cause in WINDER_CAUSES}

    @property
    def feed_share(self) -> dict[str, Estimate]:
        """Shares of all lanes' time in which the feed stood, by cause."""
        part = 1.0 / (self.layout.lanes * self.layout.shift_s)
        return {cause: self.measures[f"feed_{cause}_s"].times(part) for cause in FEED_CAUSES}

    @property
    def feed_stop_frac(self) -> float:
        """Share of all lanes' time in which the feed stood [1]."""
        return sum(one.mean for one in self.feed_share.values())

    @property
    def hand_share(self) -> dict[str, Estimate]:
        """Shares of all hands' time: serving, walking, resting."""
        part = 1.0 / (self.layout.hands * self.layout.shift_s)
        return {what: self.measures[f"hand_{what}_s"].times(part) for what in HAND_SECONDS}

    @property
    def hand_busy_frac(self) -> float:
        """Share of the hands' time in which they serve or walk to serve [1]."""
        share = self.hand_share
        return share["serving"].mean + share["walking"].mean

    @property
    def walked_km(self) -> Estimate:
        """Way of one hand in a shift [km]."""
        speed = self.layout.walk_m_per_s / (1000.0 * self.layout.hands)
        return self.measures["hand_walking_s"].times(speed)


def shift_answer(
    layout: Layout,
    *,
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> ShiftAnswer:
    """Simulate shifts of a line and answer from them.

    Parameters
    ----------
    layout : Layout
        The line.
    replications, seed : int
        How many shifts, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the shifts done and their number, now and then.

    Returns
    -------
    ShiftAnswer
        The answer.

    Raises
    ------
    BadInput
        When the layout, the seed or the number cannot be.
    LineLostError
        When the loop fails a check of its own.

    Notes
    -----
    Intervals are those of Student for means over independent shifts.
    """
    sums = no_sums(layout)
    for handful in shifts(layout, replications=replications, seed=seed, cores=cores):
        add_handful(sums, layout, handful)
        if progress is not None:
            progress(sums.measures.count, replications)
    return answer_of(layout, sums, seed)


def answer_of(layout: Layout, sums: Sums, seed: int) -> ShiftAnswer:
    """Turn sums over shifts into an answer; the seed is only named in it."""
    number = sums.measures.count
    measures = dict(zip(MEASURES, estimates(sums), strict=True))
    balls = measures["balls"].mean * number
    return ShiftAnswer(
        layout=layout,
        replications=number,
        seed=seed,
        measures=measures,
        balls_range=_range(sums.balls),
        lanes=tuple(_lane(layout, sums, lane) for lane in range(layout.lanes)),
        waits=_waits(sums),
        joins_per_ball=measures["joins"].mean * number / balls if balls else math.nan,
        ball_joins=tuple(float(one) for one in sums.joins / max(balls, 1.0)),
        served=dict(zip(KIND_ORDER, (float(one) for one in sums.served / number), strict=True)),
        **_levels(sums, layout),
        longest_stop_s=sums.longest_stop_s,
        books=books_of(layout, sums),
    )


def estimates(sums: Sums) -> list[Estimate]:
    """Give each measure's mean with the interval of Student [the measure's unit]."""
    from scipy.special import stdtrit

    number = sums.measures.count
    reach = math.nan if number < 2 else float(stdtrit(number - 1, 0.5 + 0.5 * CONFIDENCE))
    return [
        Estimate(float(mean), float(mean - reach * error), float(mean + reach * error), float(sd))
        for mean, error, sd in zip(
            sums.measures.mean, sums.measures.error, sums.measures.sd, strict=True
        )
    ]


def _range(shifts_by_balls: np.ndarray) -> tuple[int, int]:
    below = np.cumsum(shifts_by_balls) / shifts_by_balls.sum()
    return int(np.searchsorted(below, 0.05)), int(np.searchsorted(below, 0.95))


def _lane(layout: Layout, sums: Sums, lane: int) -> LaneAnswer:
    number = sums.measures.count
    shares = sums.lane_seconds[lane] / (number * layout.shift_s)
    counts = dict(zip(COUNTS, sums.lane_counts[lane] / number, strict=True))
    causes = len(WINDER_CAUSES)
    return LaneAnswer(
        balls=float(counts["balls"]),
        laid_m=float(counts["laid_m"]),
        waste_m=float(counts["waste_m"]),
        winder_share=dict(zip(WINDER_CAUSES, map(float, shares[:causes]), strict=True)),
        feed_share=dict(zip(FEED_CAUSES, map(float, shares[causes:]), strict=True)),
    )


def _waits(sums: Sums) -> Waits:
    total = sums.waits.sum()
    if total == 0:
        return Waits(math.nan, math.nan, math.nan, 0.0, ())
    below = np.cumsum(sums.waits) / total
    ends_s = WAIT_ENDS_S

    def within(share: float) -> float:
        at = int(np.searchsorted(below, share))
        if at >= len(ends_s) - 1:  # the last class is open
            return sums.longest_wait_s
        return float(min(ends_s[at], sums.longest_wait_s))

    return Waits(
        mean_s=float(sums.waited_s / total),
        median_s=within(0.5),
        p95_s=within(0.95),
        longest_s=sums.longest_wait_s,
        share_longer=tuple(
            (float(end_s), float(1.0 - share))
            for end_s, share in zip(ends_s[:-1], below[:-1], strict=True)
        ),
    )


def _levels(sums: Sums, layout: Layout) -> dict[str, tuple[float, ...]]:
    share = sums.levels / sums.levels.sum(axis=1, keepdims=True)
    count = sums.measures.count * layout.lanes
    below = np.cumsum(share, axis=1)
    ends = np.arange(1, LEVELS + 1) / LEVELS

    def at(part: float) -> tuple[float, ...]:
        place = (below < part).sum(axis=1)
        before = np.where(
            place > 0, np.take_along_axis(below, np.maximum(place - 1, 0)[:, None], 1)[:, 0], 0.0
        )
        inside = np.take_along_axis(share, place[:, None], 1)[:, 0]
        return tuple(float(one) for one in ends[place] - (1.0 - (part - before) / inside) / LEVELS)

    return {
        "level_mean": tuple(float(one) for one in sums.level_m / count / layout.buffer_m),
        "level_low": at(0.1),
        "level_high": at(0.9),
    }
