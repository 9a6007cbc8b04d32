"""Tie order: worked by hand for a small creel, and never a lane without its cone."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.plan.shift.tie_order import tie_order


def test_a_small_creel_worked_by_hand() -> None:
    # Two lanes, two places each. A cone lasts 100 s in lane 1, 80 s in lane 2; the run is 250 s.
    # Lane 1 begins cones at 0, 100, 200; lane 2 at 0, 80, 160, 240. Places are free again at 100
    # in lane 1, at 80 and 160 in lane 2.
    order = tie_order(9, places=2, cone_s=(100.0, 80.0), run_s=250.0)
    assert [(one.lane, one.place, one.nth, one.free_s, one.dry_s) for one in order.cones] == [
        (1, 1, 1, 0.0, 0.0),
        (1, 2, 2, 0.0, 100.0),
        (2, 1, 1, 0.0, 0.0),
        (2, 2, 2, 0.0, 80.0),
        (2, 1, 3, 80.0, 160.0),
        (1, 1, 3, 100.0, 200.0),
        (2, 2, 4, 160.0, 240.0),
    ]
    assert [one.number for one in order.cones] == list(range(1, 8))
    assert (order.spare, order.short, order.empty_lanes, order.begun_left) == (2, 0, 0, 2)


def test_cones_that_end_with_the_run_leave_nothing() -> None:
    order = tie_order(6, places=4, cone_s=(100.0, 100.0), run_s=300.0)
    assert (len(order.cones), order.spare, order.begun_left) == (6, 0, 0)


def test_few_cones_are_shared_out_evenly() -> None:
    order = tie_order(5, places=4, cone_s=(100.0,) * 3, run_s=1000.0)
    assert [(one.lane, one.place) for one in order.cones] == [
        (1, 1), (1, 2), (2, 1), (2, 2), (3, 1),
    ]  # fmt: skip
    assert (order.short, order.empty_lanes, order.begun_left) == (25, 3, 0)


def test_a_cone_less_than_the_lanes_would_begin_is_no_lack() -> None:
    # 1.5 cones a lane: 3 hold the strand of two lanes, though each would begin 2.
    order = tie_order(3, places=2, cone_s=(100.0, 100.0), run_s=150.0)
    assert (order.short, order.empty_lanes) == (0, 1)


def test_a_spread_grows_with_the_root_of_the_cones() -> None:
    order = tie_order(40, places=1, cone_s=(100.0,), run_s=1001.0, cone_cv=0.03)
    assert [one.spread_s for one in order.cones] == pytest.approx(
        [3.0 * math.sqrt(gone) for gone in range(11)]
    )


@given(
    cones=st.integers(0, 120),
    places=st.integers(1, 5),
    cone_s=st.lists(st.floats(50.0, 500.0), min_size=1, max_size=6),
    run_s=st.floats(0.0, 3000.0),
)
def test_cones_cover_the_run_and_no_place_holds_two(
    cones: int, places: int, cone_s: list[float], run_s: float
) -> None:
    order = tie_order(cones, places=places, cone_s=cone_s, run_s=run_s)
    assert len(order.cones) + order.spare == cones
    assert [one.number for one in order.cones] == list(range(1, len(order.cones) + 1))
    frees = [one.free_s for one in order.cones]
    assert frees == sorted(frees)
    for lane, each_s in enumerate(cone_s, start=1):
        mine = [one for one in order.cones if one.lane == lane]
        assert [one.nth for one in mine] == list(range(1, len(mine) + 1))
        for one in mine:
            assert one.place == (one.nth - 1) % places + 1
            # Its place is free once the cone that lay there is gone, which is `places` before it.
            gone = [other for other in mine if other.place == one.place and other.nth < one.nth]
            assert one.free_s == pytest.approx(gone[-1].dry_s + each_s if gone else 0.0)
            assert one.free_s <= one.dry_s + 1e-6
            assert one.dry_s < run_s + 1e-6
        if not order.empty_lanes:
            assert len(mine) * each_s >= run_s - 1e-6
    if not order.short:
        assert cones >= sum(run_s / each for each in cone_s) - 1e-6
    else:
        assert order.empty_lanes
