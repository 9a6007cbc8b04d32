"""Lines on the same shifts: differences, their doubt, and what the same shifts are good for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.line.improve.changes import with_faster_doff
from clew.line.improve.paired import (
    CoMoments,
    SideBySide,
    Tried,
    all_measures,
    difference,
    side_by_side,
    student_reach,
)
from clew.line.layout import Layout
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.measures import MEASURES, measured
from clew.line.simulate.shifts import shifts


def both(layout: Layout, changed: Layout, replications: int, seed: int) -> SideBySide:
    return side_by_side(
        [Tried(layout, all_measures), Tried(changed, all_measures)],
        replications=replications,
        seed=seed,
    )


def rows_of(layout: Layout, replications: int, seed: int) -> np.ndarray:
    return np.vstack(
        [measured(one) for one in shifts(layout, replications=replications, seed=seed)]
    )


def test_a_difference_is_that_of_two_runs_with_one_seed(small: Layout) -> None:
    changed = replace(small, doff_s=small.doff_s - 2.0)
    more = difference(small, changed, replications=30, seed=5).more
    was = shift_answer(small, replications=30, seed=5).measures
    now = shift_answer(changed, replications=30, seed=5).measures
    for name in MEASURES:
        gap = now[name].mean - was[name].mean
        assert more[name].mean == pytest.approx(gap, rel=1e-9, abs=1e-9), name


def test_its_doubt_is_that_of_the_shifts_differences(small: Layout) -> None:
    changed = replace(small, doff_s=small.doff_s - 2.0)
    found = difference(small, changed, replications=30, seed=5)
    gaps = rows_of(changed, 30, 5) - rows_of(small, 30, 5)
    for place, name in enumerate(MEASURES):
        sd = gaps[:, place].std(ddof=1)
        one = found.more[name]
        assert one.sd == pytest.approx(sd, rel=1e-6, abs=1e-4), name
        half = student_reach(30) * one.sd / np.sqrt(30)
        assert one.high - one.mean == pytest.approx(half)
        assert one.mean - one.low == pytest.approx(half)


def test_a_ratio_of_means_by_the_delta_method(small: Layout) -> None:
    """As if every shift were (a - R b) over the mean of b: the linearised ratio, by hand."""
    found = both(small, small, 40, 3)
    rows = rows_of(small, 40, 3)
    walks = rows[:, MEASURES.index("hand_walking_s")]
    balls = rows[:, MEASURES.index("balls")]
    one = found.ratio(0, "hand_walking_s", "balls")
    ratio = walks.mean() / balls.mean()
    assert one.mean == pytest.approx(ratio)
    assert one.sd == pytest.approx(((walks - ratio * balls) / balls.mean()).std(ddof=1), rel=1e-6)


def test_a_line_against_itself_is_nothing(small: Layout) -> None:
    found = both(small, small, 10, 1)
    one = found.difference(1, 0, "balls")
    assert (one.mean, one.low, one.high) == (0.0, 0.0, 0.0)
    assert found.ratio_difference(1, 0, "hand_walking_s", "balls").mean == 0.0
    assert found.variance_reduction(1, 0, "balls") == np.inf


def test_nothing_left_to_chance(sure: Layout) -> None:
    """Rounds of 50 s in 7245 s give 145 balls, rounds of 48 s give 151: exactly 6 more."""
    found = difference(sure, replace(sure, doff_s=8.0), replications=20, seed=1)
    one = found.more["balls"]
    assert shift_answer(sure, replications=20, seed=1).balls.mean == 145.0
    assert (one.mean, one.low, one.high) == (6.0, 6.0, 6.0)


def test_the_same_shifts_spare_shifts(demo_layout: Layout) -> None:
    """On the demo line a faster doff is told with a half of the shifts, and fewer."""
    faster = with_faster_doff(demo_layout, 2.0)
    assert isinstance(faster, Layout)
    found = difference(demo_layout, faster, replications=100, seed=2)
    assert found.variance_reduction["first_balls"] > 2.0
    apart = rows_of(demo_layout, 100, 2), rows_of(faster, 100, 3)
    place = MEASURES.index("first_balls")
    unpaired = sum(one[:, place].var(ddof=1) for one in apart)
    assert found.more["first_balls"].sd ** 2 < 0.6 * unpaired


def test_intervals_hold_the_truth_as_often_as_they_say(small: Layout) -> None:
    """40 seeds: fewer than 33 hits of a 95 % interval come about once in 800 times."""
    changed = replace(small, doff_s=small.doff_s - 2.0)
    truth = both(small, changed, 6000, 999)
    gap = truth.difference(1, 0, "balls").mean
    ratio = truth.ratio_difference(1, 0, "hand_walking_s", "balls").mean
    hits = [0, 0]
    for seed in range(40):
        found = both(small, changed, 25, seed)
        one = found.difference(1, 0, "balls")
        hits[0] += one.low <= gap <= one.high
        one = found.ratio_difference(1, 0, "hand_walking_s", "balls")
        hits[1] += one.low <= ratio <= one.high
    assert min(hits) >= 33


def test_an_interval_is_no_wider_than_it_must_be(small: Layout) -> None:
    """At half the confidence that is asked for the truth is often outside."""
    changed = replace(small, doff_s=small.doff_s - 2.0)
    truth = both(small, changed, 6000, 999).difference(1, 0, "balls").mean
    hits = 0
    for seed in range(40):
        one = both(small, changed, 25, seed).difference(1, 0, "balls", 0.5)
        hits += one.low <= truth <= one.high
    assert 9 <= hits <= 31


def test_any_number_of_cores_says_the_same(small: Layout) -> None:
    changed = replace(small, hands=2)
    pair = [Tried(small, all_measures), Tried(changed, all_measures)]
    one, two = (side_by_side(pair, replications=37, seed=4, cores=cores) for cores in (1, 2))
    assert np.array_equal(one.mean, two.mean)
    assert np.array_equal(one.covariance, two.covariance)


def test_moments_come_a_handful_at_a_time() -> None:
    rows = np.random.default_rng(1).normal(size=(50, 3)) + 1000.0
    moments = CoMoments()
    for part in np.array_split(rows, 7):
        moments.add(part)
    assert moments.count == 50
    assert moments.mean == pytest.approx(rows.mean(axis=0))
    assert moments.products / 49 == pytest.approx(np.cov(rows, rowvar=False), rel=1e-9)


def test_one_shift_has_no_interval(small: Layout) -> None:
    with pytest.raises(BadInput, match="replications"):
        both(small, small, 1, 1)


def test_progress_ends_at_the_end(small: Layout) -> None:
    told: list[tuple[int, int]] = []
    side_by_side(
        [Tried(small, all_measures)] * 2,
        replications=20,
        seed=1,
        progress=lambda done, total: told.append((done, total)),
    )
    assert told[-1] == (40, 40)
    assert told == sorted(told)
