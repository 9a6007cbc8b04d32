"""Edges of the cutting plan: joins, balls and strand that meet exactly, and limits of nothing."""

from __future__ import annotations

import pytest

from clew.knots.cutting import CutPrices, CuttingAnswer, FirstRule, grade_plan, plan_cuts
from clew.knots.knot_map import knot_map

pytestmark = pytest.mark.kernel

PRICES = CutPrices(6.0, 3.0, 0.01, 0.02)


def planned(
    joins: list[float],
    strand: float,
    *,
    limit: int = 0,
    piece: float = 0.0,
    join: float = 1.0,
    prices: CutPrices = PRICES,
) -> CuttingAnswer:
    """Plan a strand for balls of 10 m."""
    return plan_cuts(knot_map(joins, strand), FirstRule(10.0, limit, piece, join), prices)


@pytest.mark.parametrize("balls", [1, 2, 7])
def test_a_strand_of_whole_balls_leaves_no_tail(balls: int) -> None:
    best = planned([], 10.0 * balls).best
    assert best.starts_m.tolist() == [10.0 * ball for ball in range(balls)]
    assert (best.first, best.partings, best.waste_m, best.value) == (balls, 0, 0.0, 6.0 * balls)


@pytest.mark.parametrize(("strand", "balls"), [(29.999999999, 2), (30.0, 3), (30.000000001, 3)])
def test_a_nanometre_decides_a_ball(strand: float, balls: int) -> None:
    assert planned([], strand).best.first == balls


def test_whole_balls_with_a_join_leave_no_room_to_drop_it() -> None:
    """Leaving the join out costs a whole ball of 3, keeping it makes one ball second-quality."""
    best = planned([14.0], 30.0).best
    assert (best.first, best.second, best.partings, best.value) == (2, 1, 0, 15.0)
    worthless = planned([14.0], 30.0, prices=CutPrices(6.0, 0.0, 0.0, 0.0)).best
    assert (worthless.first, worthless.value) == (2, 12.0)


@pytest.mark.parametrize(
    ("place", "grades"),
    [
        (9.0, [False, True]),  # ends exactly where the first ball ends
        (9.000000001, [False, False]),  # a nanometre across both
        (10.0, [True, False]),  # begins exactly where the second begins
        (19.0, [True, False]),  # ends exactly at the strand's end
        (19.999999999, [True, False]),
        (20.0, [True, True]),  # begins at the strand's end: touches nothing
    ],
)
def test_a_join_at_the_border_of_two_balls(place: float, grades: list[bool]) -> None:
    straight = planned([place], 20.0).straight
    assert straight.is_first.tolist() == grades


@pytest.mark.parametrize(("place", "first"), [(2.0, True), (1.999999999, False), (7.0, True)])
def test_a_piece_of_exactly_the_shortest_is_long_enough(place: float, first: bool) -> None:
    """From head or from tail: join of 1 m, piece of 2 m, so that 7 m leaves 2 m behind it."""
    assert planned([place], 10.0, limit=1, piece=2.0).best.is_first.tolist() == [first]


@pytest.mark.parametrize(("piece", "first"), [(10.0, 1), (10.000000001, 0)])
def test_the_shortest_piece_may_be_the_whole_ball(piece: float, first: int) -> None:
    """Then any join is one too many, whatever the limit says."""
    best = planned([25.0], 20.0 + 10.0, limit=5, piece=piece).best
    assert best.first == 2 * first
    assert best.second == 3 - 2 * first


@pytest.mark.parametrize("limit", [0, 1, 2])
def test_joins_that_overlap_count_one_each(limit: int) -> None:
    """Two joins in one place and a half: both touch, and so they must both be allowed."""
    best = planned([5.0, 5.5], 10.0, limit=limit).best
    assert best.first == (1 if limit == 2 else 0)


def test_a_limit_of_nothing_with_a_join_in_every_ball() -> None:
    """Nothing can be first-quality; dropping yarn would only cost.

    Parting at each offence parts behind the joins at 4, 10, ..., 52: nine partings of 0.02 in
    one gap, for behind the last of them, at 53 m, no ball of 10 m fits. All 60 m are handled at
    0.01: 9 x 0.02 + 0.6 = 0.78.
    """
    answer = planned([float(place) for place in range(4, 60, 6)], 60.0)
    assert (answer.best.first, answer.best.second, answer.best.partings) == (0, 6, 0)
    assert answer.best.value == answer.straight.value == 18.0
    assert answer.part_every.starts_m.size == 0
    assert answer.part_every.partings == 9
    assert answer.part_every.value == pytest.approx(-0.78)


def test_one_cone_is_one_strand_between_its_ties() -> None:
    """The ties at both ends of a cone's yarn lie outside every ball."""
    best = planned([0.0, 41.0], 42.0).best
    assert best.starts_m.tolist() == [1.0, 11.0, 21.0, 31.0]
    assert (best.first, best.partings, best.waste_m) == (4, 1, 2.0)


def test_a_join_longer_than_a_ball() -> None:
    best = planned([5.0], 40.0, join=15.0, prices=CutPrices(6.0, 0.0, 0.0, 0.0)).best
    assert (best.first, best.value) == (2, 12.0)
    assert best.starts_m[best.is_first].tolist() == [20.0, 30.0]


def test_grades_equally_priced_are_wound_straight_through() -> None:
    best = planned([5.0, 15.0], 30.0, prices=CutPrices(4.0, 4.0, 0.0, 0.5)).best
    assert (best.partings, best.value) == (0, 12.0)


@pytest.mark.parametrize("joins", [[], [0.0], [3.0], [9.999999999], [10.0]])
def test_a_plan_graded_again_is_worth_the_same(joins: list[float]) -> None:
    knots, rule = knot_map(joins, 10.0), FirstRule(10.0, 0, 0.0, 1.0)
    best = plan_cuts(knots, rule, PRICES).best
    assert grade_plan(knots, best.starts_m, rule, PRICES).value == best.value
    assert best.first == (1 if joins in ([], [10.0]) else 0)
