"""Policies along a strand: naive copies, the offline plan, the exact policy of a small model."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.cutting import CutPrices, FirstRule, grade_plan, plan_cuts
from clew.knots.knot_map import NM_PER_M, KnotMap, knot_map
from clew.knots.policy.exact import BeltModel, exact_policy, follow_exact
from clew.knots.policy.rolling import SeenStrand, follow_rule, roll_ahead
from clew.knots.policy.unseen import UnseenWorth, unseen_worth

pytestmark = pytest.mark.kernel

RULE = FirstRule(200.0, 1, 10.0, 1.0)
PRICES = CutPrices(5.0, 2.5, 0.002, 0.05)


@pytest.fixture(scope="module")
def worth() -> UnseenWorth:
    return unseen_worth(0.003, RULE, PRICES)


def as_seen(knots: KnotMap) -> SeenStrand:
    return SeenStrand(knots, knots.positions_nm)


def drawn(seed: int, length_m: float, joins_per_m: float) -> KnotMap:
    rng = np.random.default_rng(seed)
    joins = rng.poisson(length_m * joins_per_m)
    return knot_map(np.unique(rng.random(joins) * length_m), length_m)


def small_case(seed: int) -> tuple[KnotMap, FirstRule, CutPrices]:
    rng = random.Random(seed)
    ball, strand = rng.randint(4, 12), rng.randint(10, 90)
    joins = sorted(rng.sample(range(strand), rng.randint(0, min(12, strand // 3))))
    rule = FirstRule(
        float(ball), rng.randint(0, 2), float(rng.choice([0, 0, 1, 2])), rng.choice([1.0, 0.5])
    )
    first = rng.randint(1, 9)
    prices = CutPrices(
        first, rng.randint(0, first), rng.choice([0, 0.1, 0.3]), rng.choice([0, 0.2, 1.0])
    )
    return knot_map([float(one) for one in joins], float(strand)), rule, prices


@settings(max_examples=300)
@given(st.integers(0, 10**9))
def test_all_in_sight_is_the_offline_plan(seed: int) -> None:
    knots, rule, prices = small_case(seed)
    worth = unseen_worth(0.05, rule, prices, most_cells=20)
    found = roll_ahead(as_seen(knots), rule, prices, worth, look_ahead_m=knots.strand_m)
    best = plan_cuts(knots, rule, prices).best
    assert found.value == pytest.approx(best.value, abs=1e-8)


@settings(max_examples=200)
@given(st.integers(0, 10**9), st.integers(0, 30))
def test_grades_and_money_are_those_of_the_starts(seed: int, look_m: int) -> None:
    """The same starts graded by the cutting plan's own code; gaps are at most partings."""
    knots, rule, prices = small_case(seed)
    worth = unseen_worth(0.05, rule, prices, most_cells=20)
    found = roll_ahead(as_seen(knots), rule, prices, worth, look_ahead_m=float(look_m))
    plan = grade_plan(knots, found.starts_m, rule, prices)
    assert (found.first, found.second) == (plan.first, plan.second)
    assert (found.looks_first, found.hidden) == (found.first, 0)
    assert found.waste_m == pytest.approx(plan.waste_m)
    assert found.partings >= plan.partings
    extra = prices.parting * (found.partings - plan.partings)
    assert found.value == pytest.approx(plan.value - extra)
    assert found.value <= plan_cuts(knots, rule, prices).best.value + 1e-9


@settings(max_examples=200)
@given(st.integers(0, 10**9))
def test_the_plain_habits_are_the_ends_of_the_rule(seed: int) -> None:
    knots, rule, prices = small_case(seed)
    answer = plan_cuts(knots, rule, prices)
    never = follow_rule(as_seen(knots), rule, prices, drop_most_m=-1.0)
    assert np.array_equal(never.starts_m, answer.straight.starts_m)
    assert never.value == pytest.approx(answer.straight.value)
    always = follow_rule(as_seen(knots), rule, prices, drop_most_m=math.inf)
    assert np.array_equal(always.starts_m, answer.part_every.starts_m)
    assert always.partings == answer.part_every.partings
    assert always.value == pytest.approx(answer.part_every.value)


def spoken(start: float, joins: list[float], rule: FirstRule) -> bool:
    """The rule as it is spoken, for a list of joins."""
    here, number = start, 0
    pieces = []
    for one in joins:
        if one < start + rule.ball_length_m and one + rule.join_length_m > start:
            number += 1
            pieces.append(max(one - here, 0.0))
            here = one + rule.join_length_m
    pieces.append(max(start + rule.ball_length_m - here, 0.0))
    return number <= rule.limit and min(pieces) >= rule.min_piece_m


def by_hand(
    joins: list[float], strand_m: float, rule: FirstRule, look_m: float, most_m: float
) -> list[float]:
    """The rule of thumb in plain words: which join spoils it, where the next ball may start."""
    starts, at = [], 0.0
    while at + rule.ball_length_m <= strand_m:
        on = [
            one for one in joins if one + rule.join_length_m > at and one < at + rule.ball_length_m
        ]
        spoiler = None
        for number in range(1, len(on) + 1):
            # what comes later can only add a fault: test with what shows up to here
            if not spoken(at, on[:number], rule):
                spoiler = number - 1
                break
        if spoiler is not None:
            shows = max(at, min(on[spoiler] + rule.join_length_m, strand_m) - look_m)
            places = [one + rule.join_length_m for one in on[:spoiler]]
            places.append(on[spoiler] + rule.join_length_m + rule.min_piece_m - rule.ball_length_m)
            mends = [
                max(place, shows)
                for place in places
                if max(place, shows) > at and spoken(max(place, shows), on[: spoiler + 1], rule)
            ]
            start = min([*mends, on[spoiler] + rule.join_length_m])
            if start - at <= most_m:
                at = start
                continue
        starts.append(at)
        at += rule.ball_length_m
    return starts


@settings(max_examples=300)
@given(st.integers(0, 10**9), st.sampled_from([0.0, 1.0, 4.0, 9.0, 30.0]), st.integers(0, 12))
def test_the_rule_of_thumb_as_it_is_spoken(seed: int, look_m: float, most_m: int) -> None:
    knots, rule, prices = small_case(seed)
    found = follow_rule(
        as_seen(knots), rule, prices, drop_most_m=float(most_m), look_ahead_m=look_m
    )
    joins = knots.positions_m.tolist()
    assert found.starts_m.tolist() == by_hand(joins, knots.strand_m, rule, look_m, float(most_m))


@pytest.mark.parametrize("look_m", [0.0, 150.0, 450.0])
def test_a_blind_eye_winds_straight(look_m: float) -> None:
    knots = drawn(1, 50_000.0, 0.004)
    blind = SeenStrand(knots, np.empty(0, dtype=np.int64))
    straight = follow_rule(blind, RULE, PRICES, drop_most_m=-1.0)
    for joins_per_m in (0.0, 0.004):
        worth = unseen_worth(joins_per_m, RULE, PRICES)
        rolled = roll_ahead(blind, RULE, PRICES, worth, look_ahead_m=look_m)
        assert np.array_equal(rolled.starts_m, straight.starts_m)
        assert rolled.value == straight.value
        # every ball that is not first-quality was sold as it
        assert (rolled.hidden, rolled.looks_first) == (rolled.second, rolled.starts_m.size)


def test_a_hidden_ball_may_cost_more_than_its_grade() -> None:
    knots = drawn(2, 50_000.0, 0.004)
    blind = SeenStrand(knots, np.empty(0, dtype=np.int64))
    graded = follow_rule(blind, RULE, PRICES, drop_most_m=-1.0)
    dear = follow_rule(blind, RULE, PRICES, drop_most_m=-1.0, miss_cost=12.0)
    assert graded.value - dear.value == pytest.approx(graded.hidden * (12.0 - 2.5))


@pytest.mark.parametrize("miss_cost", [None, 2.5, 4.0])
@pytest.mark.parametrize("drop_most_m", [-1.0, 80.0])
def test_first_price_only_for_what_looks_and_is_first(
    miss_cost: float | None, drop_most_m: float
) -> None:
    """Ball by ball: what it looks decides what it is sold as, what it is what that brings."""
    knots = drawn(3, 60_000.0, 0.006)
    rng = np.random.default_rng(7)
    kept = knots.positions_nm[rng.random(knots.positions_nm.size) < 0.7]
    false = np.sort(rng.integers(0, knots.strand_nm, 200))
    strand = SeenStrand(knots, np.union1d(kept, false))
    found = follow_rule(strand, RULE, PRICES, drop_most_m=drop_most_m, miss_cost=miss_cost)
    joins, seen = knots.positions_m.tolist(), (strand.seen_nm / NM_PER_M).tolist()
    money, sold = 0.0, {}
    for start in found.starts_m.tolist():
        looks, is_first = (spoken(start, places, RULE) for places in (seen, joins))
        sold[looks, is_first] = sold.get((looks, is_first), 0) + 1
        if looks:
            money += 5.0 - (0.0 if is_first else 2.5 if miss_cost is None else miss_cost)
        else:
            money += 2.5
    assert len(sold) == 4
    money -= 0.002 * found.waste_m + 0.05 * found.partings
    assert found.value == pytest.approx(money)


def test_a_ball_in_hand_is_given_up_when_joins_show(worth: UnseenWorth) -> None:
    """Two joins at 30 m and 60 m spoil the first ball; nothing is seen beforehand."""
    knots = knot_map([30.0, 60.0], 461.0)
    found = roll_ahead(as_seen(knots), RULE, PRICES, worth, look_ahead_m=0.0)
    assert found.starts_m.tolist() == [61.0, 261.0]
    assert (found.partings, found.first) == (1, 2)
    # with both in sight the next ball starts behind the first of them
    found = roll_ahead(as_seen(knots), RULE, PRICES, worth, look_ahead_m=100.0)
    assert found.starts_m[0] == 31.0


@pytest.mark.parametrize(
    ("limit", "piece", "chance", "look"),
    [(0, 0, 0.04, 0), (0, 0, 0.04, 5), (0, 0, 0.02, 10), (1, 1, 0.08, 0), (1, 1, 0.08, 8)],
)
def test_nearly_the_exact_policy_of_a_small_model(
    limit: int, piece: int, chance: float, look: int
) -> None:
    """On cells of 20 m, same strand, per cell; the exact policy may be luckier by little."""
    model = BeltModel(10, limit, piece, look, chance, 5.0, 2.5, 0.04, 0.05)
    cells = np.random.default_rng(9).random(60_000) < chance
    exact = follow_exact(exact_policy(model), cells)
    rule = FirstRule(200.0, limit, 20.0 * piece, 20.0)
    knots = KnotMap(
        np.flatnonzero(cells) * 20 * NM_PER_M,
        ("join",) * int(cells.sum()),
        cells.size * 20 * NM_PER_M,
    )
    worth = unseen_worth(-math.log1p(-chance) / 20.0, rule, PRICES, most_cells=10)
    if look == 0:
        assert worth.value_per_m * 20.0 == pytest.approx(exact_policy(model).answer.gain, rel=1e-7)
    rolled = roll_ahead(as_seen(knots), rule, PRICES, worth, look_ahead_m=20.0 * look)
    assert rolled.value / cells.size == pytest.approx(exact, rel=5e-4)


@pytest.mark.parametrize("parting", [1.2, 2.0])
@pytest.mark.parametrize(("limit", "piece", "chance", "look"), [(0, 0, 0.04, 5), (1, 1, 0.08, 8)])
def test_nearly_the_exact_policy_where_handling_is_dear(
    limit: int, piece: int, chance: float, look: int, parting: float
) -> None:
    """As before, with a parting that costs as much as a fault or nearly: it must be weighed too."""
    model = BeltModel(10, limit, piece, look, chance, 5.0, 2.5, 0.04, parting)
    cells = np.random.default_rng(10).random(40_000) < chance
    exact = follow_exact(exact_policy(model), cells)
    rule = FirstRule(200.0, limit, 20.0 * piece, 20.0)
    prices = CutPrices(5.0, 2.5, 0.002, parting)
    places = np.flatnonzero(cells) * 20 * NM_PER_M
    knots = KnotMap(places, ("join",) * places.size, cells.size * 20 * NM_PER_M)
    worth = unseen_worth(-math.log1p(-chance) / 20.0, rule, prices, most_cells=10)
    rolled = roll_ahead(as_seen(knots), rule, prices, worth, look_ahead_m=20.0 * look)
    assert rolled.value / cells.size == pytest.approx(exact, rel=5e-4)


def test_more_in_sight_brings_more(worth: UnseenWorth) -> None:
    """Paired on the same strands: each step is surely better, all below the offline plan."""
    strands = [drawn(seed, 400_000.0, 0.003) for seed in range(8)]
    looks = (0.0, 200.0, 1000.0)
    values = np.array(
        [
            [follow_rule(as_seen(one), RULE, PRICES, drop_most_m=-1.0).value]
            + [
                roll_ahead(as_seen(one), RULE, PRICES, worth, look_ahead_m=look).value
                for look in looks
            ]
            + [plan_cuts(one, RULE, PRICES).best.value]
            for one in strands
        ]
    )
    for shorter, longer in zip(values.T[:-1], values.T[1:], strict=True):
        gain = longer - shorter
        assert gain.mean() > 2.0 * gain.std(ddof=1) / math.sqrt(gain.size)
    assert np.all(values[:, -2] >= 0.993 * values[:, -1])


def test_too_far_ahead_is_refused(worth: UnseenWorth) -> None:
    knots = drawn(1, 50_000.0, 0.004)
    with pytest.raises(BadInput, match="too far ahead"):
        roll_ahead(as_seen(knots), RULE, PRICES, worth, look_ahead_m=30_000.0)
