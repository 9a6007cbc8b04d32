"""One point of a sweep: a shift's answer as a few plain numbers, and points side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.line.layout import Layout
from clew.line.simulate.answer import CONFIDENCE, Estimate, ShiftAnswer, answer_of
from clew.line.simulate.measures import MEASURES, add_handful, no_sums
from clew.line.simulate.records import Floats
from clew.line.simulate.shifts import shifts

MOST_GROUPS = 100
"""Shifts are kept in at most so many groups, so that a point stays small however many it has."""
WITHIN_FRAC = 0.01
"""How near to the best a point is still as good, for who would spare hands or speed."""


@dataclass(frozen=True, slots=True)
class ShiftPoint:
    """What a shift gives at one point of a sweep.

    Ends of intervals hold the true mean, 95 times in 100; NaN when one shift was drawn.

    Attributes
    ----------
    balls_mean, balls_low, balls_high : float
        Full balls of a shift.
    first_balls_mean, first_balls_low, first_balls_high : float
        Those of first quality.
    second_balls_mean, second_balls_low, second_balls_high : float
        Those of second quality.
    kg_mean, kg_low, kg_high : float
        Full balls by their mass as they leave the line [kg].
    winder_winding_share, winder_waiting_share, winder_resting_share : float
        Shares of the winders' time: winding, full and waiting for a doff, waiting while every hand
        rests [1].
    winder_doffing_share, winder_starved_share, winder_broken_share, winder_changing_share : float
        The same: being doffed, dry, broken, changing colour [1].
    feed_stop_share, feed_full_share, feed_starved_share : float
        Share of the lanes' time in which the feed stood; of it with the belt stopped by a full
        buffer, and without a tied cone [1].
    hand_busy_frac : float
        Share of the hands' time in which they serve or walk to serve [1].
    walked_km_per_hand : float
        Way of one hand in a shift [km].
    doff_wait_mean_s, doff_wait_p95_s, doff_wait_longest_s : float
        How long a full ball waits: mean, 19 of 20, and the longest of all shifts [s].
    belt_stops_mean : float
        Stops of the belts in a shift.
    waste_m_mean : float
        Strand wasted in a shift, before steam [m].
    line_joins_per_ball : float
        Mean of the joins in a ball that the line made [1].
    first_balls_by_group : tuple of int
        First-quality balls of the shifts in order, added up in even groups: what tells two points
        apart that met the same shifts.
    """

    balls_mean: float
    balls_low: float
    balls_high: float
    first_balls_mean: float
    first_balls_low: float
    first_balls_high: float
    second_balls_mean: float
    second_balls_low: float
    second_balls_high: float
    kg_mean: float
    kg_low: float
    kg_high: float
    winder_winding_share: float
    winder_waiting_share: float
    winder_resting_share: float
    winder_doffing_share: float
    winder_starved_share: float
    winder_broken_share: float
    winder_changing_share: float
    feed_stop_share: float
    feed_full_share: float
    feed_starved_share: float
    hand_busy_frac: float
    walked_km_per_hand: float
    doff_wait_mean_s: float
    doff_wait_p95_s: float
    doff_wait_longest_s: float
    belt_stops_mean: float
    waste_m_mean: float
    line_joins_per_ball: float
    first_balls_by_group: tuple[int, ...]


def point_of(layout: Layout, *, replications: int, seed: int) -> ShiftPoint:
    """Simulate shifts of a line on one core, as `shift_answer` does, and keep a few numbers.

    Parameters
    ----------
    layout : Layout
        The line.
    replications, seed : int
        How many shifts, and what chance depends on.

    Returns
    -------
    ShiftPoint
        The numbers.

    Raises
    ------
    BadInput
        When the layout, the seed or the number cannot be.
    LineLostError
        When the loop fails a check of its own.
    """
    column = MEASURES.index("first_balls")
    groups = min(replications, MOST_GROUPS)
    by_group = np.zeros(max(groups, 1))
    sums = no_sums(layout)
    for handful in shifts(layout, replications=replications, seed=seed, cores=1):
        rows = add_handful(sums, layout, handful)
        places = (handful.first + np.arange(len(rows))) * groups // replications
        np.add.at(by_group, places, rows[:, column])
    answer = answer_of(layout, sums, seed)
    return _point(answer, tuple(round(float(one)) for one in by_group))


def _point(answer: ShiftAnswer, by_group: tuple[int, ...]) -> ShiftPoint:
    first, second = answer.measures["first_balls"], answer.measures["second_balls"]
    winder = {cause: one.mean for cause, one in answer.winder_share.items()}
    feed = {cause: one.mean for cause, one in answer.feed_share.items()}
    kg = answer.kg
    return ShiftPoint(
        balls_mean=answer.balls.mean,
        balls_low=answer.balls.low,
        balls_high=answer.balls.high,
        first_balls_mean=first.mean,
        first_balls_low=first.low,
        first_balls_high=first.high,
        second_balls_mean=second.mean,
        second_balls_low=second.low,
        second_balls_high=second.high,
        kg_mean=kg.mean,
        kg_low=kg.low,
        kg_high=kg.high,
        winder_winding_share=winder["winding"],
        winder_waiting_share=winder["waiting_for_doff"],
        winder_resting_share=winder["resting"],
        winder_doffing_share=winder["doffing"],
        winder_starved_share=winder["starved"],
        winder_broken_share=winder["broken"],
        winder_changing_share=winder["changing"],
        feed_stop_share=answer.feed_stop_frac,
        feed_full_share=feed["full"],
        feed_starved_share=feed["starved"],
        hand_busy_frac=answer.hand_busy_frac,
        walked_km_per_hand=answer.walked_km.mean,
        doff_wait_mean_s=answer.waits.mean_s,
        doff_wait_p95_s=answer.waits.p95_s,
        doff_wait_longest_s=answer.waits.longest_s,
        belt_stops_mean=answer.measures["belt_stops"].mean,
        waste_m_mean=answer.measures["waste_m"].mean,
        line_joins_per_ball=answer.joins_per_ball,
        first_balls_by_group=by_group,
    )


@dataclass(frozen=True, slots=True)
class Standing:
    """Points that met the same shifts, against the one with the most first-quality balls.

    Attributes
    ----------
    best : int
        Number of that point.
    less : tuple of Estimate
        First-quality balls of a shift that each point gives less than it.
    not_told : tuple of int
        Other points that these shifts cannot tell from it.
    within : tuple of int
        Points that surely give all but 1 % of it, and it itself.
    perhaps_within : tuple of int
        Points of which these shifts cannot say whether they do.
    """

    best: int
    less: tuple[Estimate, ...]
    not_told: tuple[int, ...]
    within: tuple[int, ...]
    perhaps_within: tuple[int, ...]


def standing(
    points: Sequence[ShiftPoint], replications: int, order: Sequence[int] | None = None
) -> Standing:
    """Compare points shift by shift with the best of them.

    Parameters
    ----------
    points : sequence of ShiftPoint
        Points of one sweep, all from one seed.
    replications : int
        Shifts of each.
    order : sequence of int or None
        Numbers of the points, in the order in which they are preferred where they give the same.

    Returns
    -------
    Standing
        How they stand; with one shift nothing is told.

    Notes
    -----
    Intervals are Student's for differences within the same shifts. They are widened (Bonferroni)
    to hold together 95 times in 100 over all pairs of points, since the best was itself picked by
    these shifts: for the difference, and for the difference less 1 %.
    """
    from scipy.special import stdtrit

    sums = np.array([one.first_balls_by_group for one in points], dtype=float)
    groups = sums.shape[1]
    sizes = np.bincount(np.arange(replications) * groups // replications).astype(float)
    totals = sums.sum(axis=1)
    ranked = range(len(points)) if order is None else order
    best = max(ranked, key=lambda place: totals[place])
    pairs = max(len(points) * (len(points) - 1), 1)
    reach = math.nan
    if groups > 1:
        reach = float(stdtrit(groups - 1, 1.0 - 0.5 * (1.0 - CONFIDENCE) / pairs))
    less = _estimates(sums[best] - sums, sizes, reach)
    short = _estimates((1.0 - WITHIN_FRAC) * sums[best] - sums, sizes, reach)
    others = [place for place in range(len(points)) if place != best]
    sure = {best, *(place for place in others if short[place].high <= 0.0)}
    return Standing(
        best=best,
        less=tuple(less),
        not_told=tuple(place for place in others if not less[place].low > 0.0),
        within=tuple(sorted(sure)),
        perhaps_within=tuple(
            place for place in others if place not in sure and not short[place].low > 0.0
        ),
    )


def _estimates(sums: Floats, sizes: Floats, reach: float) -> list[Estimate]:
    """Give each row's mean over shifts, from sums over groups of so many shifts each."""
    number, groups = sizes.sum(), len(sizes)
    means = sums.sum(axis=1) / number
    apart = sums / sizes - means[:, None]
    # A group's mean varies less the larger it is; its weight makes that good.
    spread = (sizes * apart**2).sum(axis=1) / (groups - 1) if groups > 1 else means * math.nan
    return [
        Estimate(float(mean), float(mean - half), float(mean + half), float(sd))
        for mean, half, sd in zip(
            means, reach * np.sqrt(spread / number), np.sqrt(spread), strict=True
        )
    ]
