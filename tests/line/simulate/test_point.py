"""A point of a sweep holds what the shift's answer says, and points are compared honestly."""

from __future__ import annotations

import functools
import json
import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from clew.campaign.records import plain, record_from
from clew.faults import BadInput
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.point import MOST_GROUPS, ShiftPoint, point_of, standing
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def layout(demo_mill: Mill) -> Layout:
    return replace(layout_of(demo_mill, "Line 1", "Querl 200"), lanes=3, hands=1)


@pytest.fixture(scope="module")
def point(layout: Layout) -> ShiftPoint:
    return point_of(layout, replications=30, seed=7)


def test_a_point_says_what_the_answer_says(layout: Layout, point: ShiftPoint) -> None:
    answer = shift_answer(layout, replications=30, seed=7)
    first, second = answer.measures["first_balls"], answer.measures["second_balls"]
    share = {cause: one.mean for cause, one in answer.winder_share.items()}
    expected = {
        "balls_mean": answer.balls.mean,
        "balls_low": answer.balls.low,
        "balls_high": answer.balls.high,
        "first_balls_mean": first.mean,
        "first_balls_low": first.low,
        "first_balls_high": first.high,
        "second_balls_mean": second.mean,
        "second_balls_low": second.low,
        "second_balls_high": second.high,
        "kg_mean": answer.kg.mean,
        "kg_low": answer.kg.low,
        "kg_high": answer.kg.high,
        "winder_winding_share": share["winding"],
        "winder_waiting_share": share["waiting_for_doff"],
        "winder_resting_share": share["resting"],
        "winder_doffing_share": share["doffing"],
        "winder_starved_share": share["starved"],
        "winder_broken_share": share["broken"],
        "winder_changing_share": share["changing"],
        "feed_stop_share": answer.feed_stop_frac,
        "feed_full_share": answer.feed_share["full"].mean,
        "feed_starved_share": answer.feed_share["starved"].mean,
        "hand_busy_frac": answer.hand_busy_frac,
        "walked_km_per_hand": answer.walked_km.mean,
        "doff_wait_mean_s": answer.waits.mean_s,
        "doff_wait_p95_s": answer.waits.p95_s,
        "doff_wait_longest_s": answer.waits.longest_s,
        "belt_stops_mean": answer.measures["belt_stops"].mean,
        "waste_m_mean": answer.measures["waste_m"].mean,
        "line_joins_per_ball": answer.joins_per_ball,
    }
    found = plain(point)
    by_group = found.pop("first_balls_by_group")
    assert found == expected
    assert len(by_group) == 30
    assert sum(by_group) == pytest.approx(30 * first.mean, rel=1e-12)
    # One shift a group: their spread is that of the shifts.
    assert np.std(by_group, ddof=1) == pytest.approx(first.sd, rel=1e-9)


def test_groups_are_even_however_many_shifts(layout: Layout) -> None:
    few = point_of(replace(layout, shift_s=3600.0), replications=2 * MOST_GROUPS + 50, seed=7)
    every = [
        point_of(replace(layout, shift_s=3600.0), replications=number, seed=7)
        for number in (2, 5)  # the first group is of shifts 1 to 3, the second of 4 and 5
    ]
    assert len(few.first_balls_by_group) == MOST_GROUPS
    assert sum(few.first_balls_by_group) == pytest.approx(250 * few.first_balls_mean, rel=1e-12)
    assert few.first_balls_by_group[0] > sum(every[0].first_balls_by_group)
    assert sum(few.first_balls_by_group[:2]) == sum(every[1].first_balls_by_group)


def test_a_point_and_its_function_travel(layout: Layout, point: ShiftPoint) -> None:
    work = pickle.loads(
        pickle.dumps((functools.partial(point_of, replications=30, seed=7), layout))
    )
    assert repr(work[0](work[1])) == repr(point)
    assert record_from(ShiftPoint, json.loads(json.dumps(plain(point)))) == point


def test_one_shift_and_no_doff_are_not_known(layout: Layout) -> None:
    nothing = point_of(replace(layout, ball_m=9e6), replications=1, seed=7)
    assert nothing.balls_mean == 0.0
    for unknown in (nothing.balls_low, nothing.doff_wait_p95_s, nothing.line_joins_per_ball):
        assert math.isnan(unknown)
    assert nothing.first_balls_by_group == (0,)


def test_what_cannot_be_drawn_is_refused(layout: Layout) -> None:
    for number in (0, -3):
        with pytest.raises(BadInput, match="replications"):
            point_of(layout, replications=number, seed=7)
    with pytest.raises(BadInput, match="hands"):
        point_of(replace(layout, hands=0), replications=2, seed=7)


def with_groups(point: ShiftPoint, sums: tuple[int, ...]) -> ShiftPoint:
    return replace(point, first_balls_by_group=sums)


def test_differences_are_those_within_the_same_shifts(point: ShiftPoint) -> None:
    # The second differs from the first by 1 or 2 in each shift, though shifts differ by hundreds.
    first = (500, 900, 700, 1200, 300, 800)
    second = tuple(one - less for one, less in zip(first, (1, 2, 1, 2, 1, 2), strict=True))
    third = (480, 930, 650, 1210, 310, 790)
    found = standing([with_groups(point, one) for one in (second, first, third)], 6)
    assert found.best == 1
    # Three points are six ordered pairs; one side of each at 2.5 % over six.
    reach = stats.t.ppf(1.0 - 0.025 / 6, 5)
    for number, sums in ((0, second), (2, third)):
        apart = np.subtract(first, sums)
        half = reach * np.std(apart, ddof=1) / math.sqrt(6)
        less = found.less[number]
        assert less.mean == pytest.approx(apart.mean())
        assert (less.low, less.high) == pytest.approx((less.mean - half, less.mean + half))
    assert found.less[1].low == found.less[1].high == 0.0
    assert found.not_told == (2,)
    assert found.within == (0, 1)
    assert found.perhaps_within == (2,)


def test_uneven_groups_count_by_their_shifts(point: ShiftPoint) -> None:
    # 150 shifts in 100 groups of 1 or 2: were all shifts of a point alike, nothing would vary.
    sizes = np.bincount(np.arange(150) * 100 // 150)
    assert set(sizes) == {1, 2}
    best, less = (with_groups(point, tuple(int(n) * one for n in sizes)) for one in (1000, 985))
    found = standing([less, best], 150)
    assert found.best == 1
    assert found.less[0].mean == pytest.approx(15.0)
    assert found.less[0].high - found.less[0].low == pytest.approx(0.0, abs=1e-9)
    assert found.within == (1,)
    assert found.not_told == found.perhaps_within == ()


def test_the_spread_of_uneven_groups_is_that_of_single_shifts(point: ShiftPoint) -> None:
    rng = np.random.default_rng(1)
    spreads = []
    for _ in range(200):
        shifts = rng.integers(980, 1020, 150)
        sums = np.bincount(np.arange(150) * 100 // 150, weights=shifts)
        flat = 2000 * np.bincount(np.arange(150) * 100 // 150)
        pair = [with_groups(point, tuple(map(int, one))) for one in (sums, flat)]
        spreads.append(standing(pair, 150).less[0].sd ** 2)
    # Variance of a whole number from 980 to 1019: (40^2 - 1)/12.
    assert np.mean(spreads) == pytest.approx((40.0**2 - 1.0) / 12.0, rel=0.03)


def test_what_is_said_of_equal_lines_is_wrong_at_most_once_in_twenty(point: ShiftPoint) -> None:
    """Points of one law: the best of them, picked by these shifts, is told from none."""
    rng = np.random.default_rng(7)
    wrong = 0
    for _ in range(400):
        points = [with_groups(point, tuple(map(int, rng.normal(1e6, 1e4, 50)))) for _ in range(12)]
        wrong += len(standing(points, 50).not_told) < 11
    assert wrong <= 0.05 * 400


def test_of_equals_the_preferred_is_the_best(point: ShiftPoint) -> None:
    points = [with_groups(point, (500, 600) * 10)] * 3
    assert standing(points, 20).best == 0
    found = standing(points, 20, order=(2, 0, 1))
    assert (found.best, found.not_told, found.within) == (2, (0, 1), (0, 1, 2))


def test_one_shift_tells_nothing(point: ShiftPoint) -> None:
    found = standing([with_groups(point, (500,)), with_groups(point, (900,))], 1)
    assert found.best == 1
    assert found.not_told == found.perhaps_within == (0,)
    assert found.within == (1,)
    assert math.isnan(found.less[0].high)
