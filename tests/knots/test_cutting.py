"""The cutting plan against exhaustive search, an integer programme and cases done by hand."""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.cutting import CutPrices, CuttingPlan, FirstRule, grade_plan, plan_cuts
from clew.knots.knot_map import knot_map

pytestmark = pytest.mark.kernel


class Case(NamedTuple):
    """A small strand in whole metres and whole money."""

    joins: tuple[int, ...]
    strand: int
    ball: int
    join: int
    piece: int
    limit: int
    first: int
    second: int
    waste: int
    parting: int


def solved(case: Case) -> CuttingPlan:
    knots = knot_map([float(one) for one in case.joins], float(case.strand))
    rule = FirstRule(float(case.ball), case.limit, float(case.piece), float(case.join))
    return plan_cuts(knots, rule, CutPrices(case.first, case.second, case.waste, case.parting)).best


def is_first(start: int, case: Case, scale: int = 1) -> bool:
    """The rule as it is spoken: list what touches the ball, measure every piece."""
    end = start + case.ball * scale
    touching = [
        (one * scale, (one + case.join) * scale)
        for one in case.joins
        if one * scale < end and (one + case.join) * scale > start
    ]
    pieces, here = [], start
    for left, right in touching:
        pieces.append(max(left - here, 0))
        here = right
    pieces.append(max(end - here, 0))
    return len(touching) <= case.limit and min(pieces) >= case.piece * scale


def exhausted(case: Case, scale: int = 1) -> int:
    """Best value over every start on a lattice of 1/scale metres, money times scale."""
    strand, ball = case.strand * scale, case.ball * scale
    grade = [is_first(one, case, scale) for one in range(max(strand - ball + 1, 0))]

    @cache
    def best(at: int, dropping: bool) -> int:
        found = -case.waste * (strand - at)
        if at + ball <= strand:
            price = case.first if grade[at] else case.second
            cost = case.parting * scale if dropping else 0
            found = max(found, price * scale - cost + best(at + ball, False))
        if at < strand:
            found = max(found, best(at + 1, True) - case.waste)
        return found

    return best(0, False)


def drawn_case(rng: random.Random, largest: int = 45) -> Case:
    strand = rng.randint(1, largest)
    first = rng.randint(0, 9)
    join = rng.randint(1, 3)
    return Case(
        joins=tuple(sorted(rng.sample(range(strand + 1), rng.randint(0, min(strand, 9))))),
        strand=strand,
        ball=rng.randint(1, 12),
        join=join,
        piece=rng.choice([0, 0, 1, 2, 3, 5, 13]),
        limit=rng.choice([0, 0, 1, 1, 2, 3]),
        first=first,
        second=rng.randint(0, first),
        waste=rng.randint(0, 2),
        parting=rng.choice([0, 0, 1, 2, 5, 30]),
    )


def test_the_value_equals_exhaustive_search_on_thousands_of_small_strands() -> None:
    rng = random.Random(20)
    for _ in range(4000):
        case = drawn_case(rng)
        assert solved(case).value == pytest.approx(exhausted(case), abs=1e-9), case


def test_a_lattice_three_times_finer_brings_no_more() -> None:
    """Starts between whole metres cannot help when every length is whole metres."""
    rng = random.Random(21)
    for _ in range(400):
        case = drawn_case(rng, largest=30)
        assert 3 * solved(case).value == pytest.approx(exhausted(case, 3), abs=1e-9), case


def tabled(case: Case) -> int:
    """Best value by a plain table over every metre, for strands too long for recursion."""
    after = [0] * (case.strand + case.ball + 1)  # the best beyond a place, nothing dropped yet
    dropping = -(10**9)
    for at in range(case.strand, -1, -1):
        tail = -case.waste * (case.strand - at)
        if at + case.ball > case.strand:
            after[at] = tail
            continue
        price = case.first if is_first(at, near(case, at)) else case.second
        wound = price + after[at + case.ball]
        after[at] = max(wound, dropping - case.waste - case.parting, tail)
        dropping = max(wound, dropping - case.waste)
    return after[0]


def near(case: Case, at: int) -> Case:
    """The same case with only the joins a ball from here can touch."""
    low, high = bisect_left(case.joins, at - 5), bisect_left(case.joins, at + case.ball + 5)
    return case._replace(joins=case.joins[low:high])


@pytest.mark.parametrize("parting", [0, 3, 40, 1000])
def test_the_value_equals_a_plain_table_on_a_long_strand(parting: int) -> None:
    rng = random.Random(23)
    joins = tuple(sorted(rng.sample(range(60_000), 3000)))
    for limit, piece in ((0, 0), (1, 2)):
        case = Case(joins, 60_000, 37, 1, piece, limit, 90, 41, 1, parting)
        assert solved(case).value == pytest.approx(tabled(case), abs=1e-6)


def test_every_grade_of_a_plan_is_the_rule_as_spoken() -> None:
    rng = random.Random(22)
    for _ in range(1000):
        case = drawn_case(rng)
        plan = solved(case)
        spoken = [is_first(round(one), case) for one in plan.starts_m.tolist()]
        assert plan.is_first.tolist() == spoken, case
        assert plan.first + plan.second == len(spoken)


@pytest.mark.parametrize("seed", range(6))
def test_the_value_equals_an_integer_programme_on_middle_sized_strands(seed: int) -> None:
    """Packing of intervals solved by a general mixed-integer solver, metre by metre."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import lil_array

    rng = random.Random(seed)
    case = Case(
        joins=tuple(sorted(rng.sample(range(400), 24))),
        strand=400,
        ball=17,
        join=1,
        piece=rng.choice([0, 2, 4]),
        limit=rng.choice([0, 1, 2]),
        first=60,
        second=rng.choice([10, 30, 50]),
        waste=rng.choice([0, 1]),
        parting=rng.choice([0, 2, 20]),
    )
    starts = case.strand - case.ball + 1
    # One column a start (a ball there), one more a start (a gap before that ball).
    reward = [
        (case.first if is_first(one, case) else case.second) + case.waste * case.ball
        for one in range(starts)
    ]
    cost = np.concatenate((-np.array(reward, dtype=float), np.full(starts, float(case.parting))))
    rows = lil_array((2 * starts, 2 * starts))
    for one in range(starts):
        for other in range(max(one - case.ball + 1, 0), one + 1):
            rows[one, other] = 1.0
        if one > 0:
            rows[starts + one, one] = 1.0
            rows[starts + one, starts + one] = -1.0
            if one >= case.ball:
                rows[starts + one, one - case.ball] = -1.0
    most = np.concatenate((np.ones(starts), np.zeros(starts)))
    found = milp(
        cost,
        constraints=LinearConstraint(rows.tocsr(), -np.inf, most),
        bounds=Bounds(0, 1),
        integrality=np.ones(2 * starts),
        options={"mip_rel_gap": 0.0},
    )
    assert found.success
    assert solved(case).value == pytest.approx(-found.fun - case.waste * case.strand, abs=1e-6)


@st.composite
def real_strands(draw: st.DrawFn) -> tuple[list[float], float, FirstRule, CutPrices]:
    strand = draw(st.floats(1.0, 3000.0))
    joins = draw(st.lists(st.floats(0.0, strand), max_size=30, unique_by=lambda x: round(x, 9)))
    rule = FirstRule(
        draw(st.floats(20.0, 400.0)),
        draw(st.integers(0, 3)),
        draw(st.floats(0.0, 30.0)),
        draw(st.floats(0.01, 2.0)),
    )
    first = draw(st.floats(0.0, 10.0))
    second = first * draw(st.floats(0.0, 1.0))
    return joins, strand, rule, CutPrices(first, second, draw(st.floats(0.0, 0.1)), 0.05)


@settings(max_examples=60)
@given(real_strands())
def test_real_positions_the_plan_stands_on_the_strand_and_beats_both_habits(
    drawn: tuple[list[float], float, FirstRule, CutPrices],
) -> None:
    joins, strand, rule, prices = drawn
    knots = knot_map(joins, strand)
    answer = plan_cuts(knots, rule, prices)
    for habit in (answer.straight, answer.part_every):
        assert answer.best.value >= habit.value - 1e-9 * max(1.0, abs(habit.value))
    best = answer.best
    again = grade_plan(knots, best.starts_m, rule, prices)
    assert again.value == best.value
    assert again.partings == best.partings
    assert best.waste_m + (best.first + best.second) * rule.ball_length_m == pytest.approx(strand)


@settings(max_examples=60)
@given(real_strands(), st.randoms(use_true_random=False))
def test_no_random_plan_in_real_positions_brings_more(
    drawn: tuple[list[float], float, FirstRule, CutPrices], rng: random.Random
) -> None:
    joins, strand, rule, prices = drawn
    knots = knot_map(joins, strand)
    best = plan_cuts(knots, rule, prices).best.value
    for _ in range(20):
        starts: list[float] = []
        at = 0.0
        while True:
            at += rng.choice([0.0, 0.0, rng.uniform(0, 60)])
            if at + rule.ball_length_m > strand - 1e-6:
                break
            starts.append(at)
            at += rule.ball_length_m + 2e-9
        value = grade_plan(knots, np.array(starts), rule, prices).value
        assert value <= best + 1e-9 * max(1.0, abs(best))


def answer_for(
    joins: Sequence[float],
    strand: float,
    *,
    limit: int = 0,
    ball: float = 10.0,
    piece: float = 0.0,
    join: float = 1.0,
    prices: CutPrices | None = None,
) -> CuttingPlan:
    prices = prices or CutPrices(6.0, 3.0, 0.01, 0.02)
    return plan_cuts(knot_map(joins, strand), FirstRule(ball, limit, piece, join), prices).best


def test_no_joins_is_winding_straight_through() -> None:
    plan = answer_for([], 35.0)
    assert plan.starts_m.tolist() == [0.0, 10.0, 20.0]
    assert plan.value == pytest.approx(3 * 6 - 0.05)
    assert (plan.second, plan.partings, plan.waste_m) == (0, 0, 5.0)


def test_a_ball_longer_than_the_strand_leaves_only_waste() -> None:
    plan = answer_for([1.0], 9.0)
    assert plan.starts_m.size == 0
    assert (plan.waste_m, plan.value) == (9.0, pytest.approx(-0.09))


def test_a_piece_longer_than_the_ball_makes_every_ball_second() -> None:
    plan = answer_for([4.0], 30.0, piece=11.0, limit=3)
    assert (plan.first, plan.second, plan.value) == (0, 3, 9.0)


def test_a_join_that_begins_at_a_balls_end_does_not_touch_it() -> None:
    """And the ball after it, which would begin with it, drops the join's own length."""
    plan = answer_for([10.0], 21.0)
    assert plan.starts_m.tolist() == [0.0, 11.0]
    assert (plan.first, plan.partings, plan.waste_m) == (2, 1, 1.0)


def test_a_cut_through_a_join_is_no_escape() -> None:
    """One metre of join: with room for only half of it to be dropped, one ball is second."""
    assert answer_for([10.0], 20.5).first == 1


def test_joins_at_both_ends_of_the_strand() -> None:
    plan = answer_for([0.0, 21.0], 21.0)
    assert plan.starts_m.tolist() == [1.0, 11.0]
    assert (plan.first, plan.partings) == (2, 1)


def test_a_start_in_the_middle_of_a_run_is_found() -> None:
    """Neither ball of a run may move left alone: its head is one ball before a join's end."""
    plan = answer_for([7.0, 16.0], 30.0, join=1.0, prices=CutPrices(6.0, 0.0, 0.0, 5.0))
    assert plan.value == exhausted(Case((7, 16), 30, 10, 1, 0, 0, 6, 0, 0, 5))


def test_dear_partings_are_not_made_and_free_ones_are() -> None:
    dear = answer_for([5.0], 26.0, prices=CutPrices(6.0, 3.0, 0.0, 4.0))
    free = answer_for([5.0], 26.0, prices=CutPrices(6.0, 3.0, 0.0, 0.0))
    assert (dear.partings, dear.value) == (0, 9.0)
    assert (free.partings, free.value) == (1, 12.0)


def test_the_habit_of_parting_at_every_offence() -> None:
    """Two joins in a ball of limit 1: parted at the second, what was wound is dropped."""
    knots = knot_map([3.0, 6.0], 20.0)
    answer = plan_cuts(knots, FirstRule(10.0, 1, 0.0, 1.0), CutPrices(6.0, 3.0, 0.01, 0.02))
    assert answer.part_every.starts_m.tolist() == [7.0]
    assert answer.part_every.value == pytest.approx(6 - 0.1 - 0.02)
    assert answer.straight.value == 9.0


def test_a_parting_beyond_all_money_does_not_blur_the_prices() -> None:
    """Winding straight on from the head, second-quality a hair below first-quality."""
    prices = CutPrices(6.0, 6.0 - 1e-9, 0.0, 1e12)
    plan = answer_for([5.0], 2000.0, prices=prices)
    assert (plan.partings, plan.first, plan.second) == (0, 199, 1)
    free = CutPrices(6.0, 6.0 - 1e-9, 0.0, 1e-10)
    assert answer_for([5.0], 2006.0, prices=free).first == 200


@pytest.mark.parametrize("limit", [3, 2**70])
def test_a_limit_above_the_joins_is_no_limit(limit: int) -> None:
    assert answer_for([3.0, 5.0, 8.0], 20.0, limit=limit).first == 2


def test_everything_free_and_worthless_is_nought() -> None:
    assert answer_for([3.0], 30.0, prices=CutPrices(0.0, 0.0)).value == 0.0


def test_steps_held_do_not_grow_with_the_strand() -> None:
    """Memory: a thousand kilometres hold as few steps of the staircase as a hundred."""
    held = []
    for km in (100, 1000):
        rng = np.random.default_rng(3)
        knots = knot_map(np.unique(rng.uniform(0, km * 1000.0, 5 * km)), km * 1000.0)
        answer = plan_cuts(knots, FirstRule(200.0, 2, 5.0, 0.1), CutPrices(6, 3, 0.01, 0.02))
        held.append(answer.most_steps)
    assert held[1] < 2 * held[0] < 400


@pytest.mark.parametrize(
    ("rule", "prices", "said"),
    [
        (FirstRule(0.0, 1, 0.0, 0.1), CutPrices(6, 3), "ball length"),
        (FirstRule(float("nan"), 1, 0.0, 0.1), CutPrices(6, 3), "ball length"),
        (FirstRule(10.0, -1, 0.0, 0.1), CutPrices(6, 3), "limit"),
        (FirstRule(10.0, 1, -1.0, 0.1), CutPrices(6, 3), "min piece"),
        (FirstRule(10.0, 1, 0.0, 0.0), CutPrices(6, 3), "join length"),
        (FirstRule(10.0, 1, 0.0, 0.1), CutPrices(3, 6), "dearer"),
        (FirstRule(10.0, 1, 0.0, 0.1), CutPrices(6, 3, -0.1), "waste per m"),
        (FirstRule(10.0, 1, 0.0, 0.1), CutPrices(6, 3, 0, float("inf")), "parting"),
        (FirstRule(1e-6, 1, 0.0, 0.1), CutPrices(6, 3), "too many balls"),
    ],
)
def test_numbers_that_cannot_be_meant_are_refused(
    rule: FirstRule, prices: CutPrices, said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        plan_cuts(knot_map([5.0], 100.0), rule, prices)


def test_a_plan_to_grade_must_lie_on_the_strand() -> None:
    rule, prices = FirstRule(10.0, 1, 0.0, 0.1), CutPrices(6, 3)
    with pytest.raises(BadInput, match="overlap"):
        grade_plan(knot_map([], 40.0), np.array([0.0, 9.0]), rule, prices)
    with pytest.raises(BadInput, match="off the strand"):
        grade_plan(knot_map([], 40.0), np.array([-1.0]), rule, prices)
