"""The price of a knot limit: cases worked by hand, exact against drawn, and what must hold."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
from clew.knots.knot_map import knot_map
from clew.knots.price import Band, Habit, LimitAnswer, LimitQuestion, LimitRow, price_of_limits
from clew.knots.sources import Sources

RULE = FirstRule(ball_length_m=100.0, limit=1, min_piece_m=5.0, join_length_m=0.1)
PRICES = CutPrices(first=6.0, second=3.0, waste_per_m=0.0005, parting=0.02)
BUSY = Sources(0.004, 2.0, 2000.0, 0.05, 0.0002)
QUESTION = LimitQuestion(
    sources=BUSY, rule=RULE, limits=(0, 1, 2), prices=PRICES, ball_mass_g=50.0, made_a_year=100_000,
    shelf_multiple=2.2, complaints_per_10000=(1.0, 2.0, 8.0, 30.0), breaks_band=(0.7, 1.4),
    strand_m=60_000.0, seed=3,
)  # fmt: skip
HABITS: tuple[Habit, ...] = ("straight", "part_every", "best")


def row(answer: LimitAnswer, limit: int | None) -> LimitRow:
    return next(one for one in answer.rows if one.limit == limit)


def bands(one: LimitRow) -> list[Band]:
    found = [getattr(one, name) for name in LimitRow.__slots__ if name != "limit"]
    return [band for band in found if band is not None]


@pytest.fixture(scope="module")
def answers() -> dict[Habit, LimitAnswer]:
    return {habit: price_of_limits(replace(QUESTION, habit=habit)) for habit in HABITS}


@pytest.mark.parametrize("habit", HABITS)
def test_a_strand_without_joins_pays_for_no_limit(habit: Habit) -> None:
    for one in price_of_limits(replace(QUESTION, sources=Sources(), habit=habit)).rows:
        assert one.cost_per_ball == Band(0.0, 0.0, 0.0)
        assert one.yield_frac.value == pytest.approx(1.0, abs=1e-12)
        assert one.landfill_kg_a_year == Band(0.0, 0.0, 0.0)
        assert one.complaints_per_10000 is not None
        assert one.complaints_per_10000.value == pytest.approx(1.0)


def test_even_ties_wound_straight_by_hand() -> None:
    """Cones of 2000 m: a window of 100.1 m holds a tie with chance 0.05005."""
    even = replace(
        QUESTION,
        sources=Sources(cone_length_m=2000.0),
        rule=replace(RULE, min_piece_m=0.0),
        habit="straight",
    )
    answer = price_of_limits(even)
    tied = 100.1 / 2000.0
    assert row(answer, 0).cost_per_ball.value == pytest.approx(3.0 * tied / (1.0 - tied))
    assert row(answer, 0).second_share.value == pytest.approx(tied)
    assert row(answer, 0).cost_per_kg.value == pytest.approx(60.0 * tied / (1.0 - tied))
    assert row(answer, 0).shelf_change.value == pytest.approx(6.6 * tied / (1.0 - tied))
    assert row(answer, 1).cost_per_ball.value == pytest.approx(0.0, abs=1e-12)
    complaints = row(answer, 1).complaints_per_10000
    assert complaints is not None
    assert complaints.value == pytest.approx(1.0 + tied)


def test_even_ties_cut_by_the_best_plan_by_hand() -> None:
    """A dear second grade is never dropped, a worthless one always.

    Ties every 2050 m with limit 0: 20 balls fit between the end of one and the next, 50 m are over,
    the tie itself with them.
    """
    ties = Sources(cone_length_m=2050.0)
    cheap = replace(
        QUESTION,
        sources=ties,
        rule=replace(RULE, min_piece_m=0.0),
        limits=(0,),
        prices=CutPrices(6.0, 0.0, 0.0, 0.0),
        strand_m=410_000.0,
        breaks_band=(1.0, 1.0),
    )
    dropped = row(price_of_limits(cheap), 0)
    # Only the last ball of a strand may be of either grade: its yarn has no other use.
    assert dropped.second_share.value < 5e-4
    assert dropped.waste_frac.value == pytest.approx(50.0 / 2050.0, abs=5e-4)
    assert dropped.cost_per_ball.value == pytest.approx(6.0 * 50.0 / 2000.0, abs=4e-3)
    assert dropped.landfill_kg_a_year is not None
    assert dropped.landfill_kg_a_year.value == pytest.approx(0.05 * 1e5 * 50.0 / 2000.0, rel=0.03)
    assert dropped.partings_per_km.value == pytest.approx(1.0 / 2.05, rel=0.02)
    dear = row(price_of_limits(replace(cheap, prices=CutPrices(6.0, 6.0))), 0)
    assert dear.cost_per_ball.value == 0.0
    assert dear.waste_frac.value == 0.0


@pytest.mark.parametrize("rule", [RULE, FirstRule(100.0, 1, 8.0, 4.0)])
def test_straight_by_the_law_is_straight_on_drawn_strands(rule: FirstRule) -> None:
    """Cones alike and longer than the ball: no approximation in the shortest piece."""
    from clew.knots.strand_draw import draw_strand

    sources = Sources(0.004, math.inf, 2000.0, 0.05, 0.0002)
    answer = price_of_limits(replace(QUESTION, sources=sources, rule=rule, habit="straight"))
    for limit in (0, 1, 2):
        shares = []
        for seed in range(8):
            knots = draw_strand(sources, 400_000.0, seed=seed)
            plan = plan_cuts(knots, replace(rule, limit=limit), PRICES).straight
            shares.append(plan.first / (plan.first + plan.second))
        error = float(np.std(shares, ddof=1)) / math.sqrt(8)
        assert row(answer, limit).first_share.value == pytest.approx(
            float(np.mean(shares)), abs=4.5 * error
        )


def test_complaints_of_the_straight_habit_are_counted_on_balls() -> None:
    """The exact mean over first-quality balls against a plain count, ball by ball."""
    from clew.knots.strand_draw import draw_strand

    sources = Sources(0.004, math.inf, 2000.0, 0.05, 0.0002)
    exact = row(price_of_limits(replace(QUESTION, sources=sources, habit="straight")), 2)
    knots = draw_strand(sources, 1_000_000.0, seed=9)
    plan = plan_cuts(knots, replace(RULE, limit=2), PRICES).straight
    places = knots.positions_m
    counted = [
        QUESTION.complaints_per_10000[int(((places + 0.1 > at) & (places < at + 100.0)).sum())]
        for at in plan.starts_m[plan.is_first]
    ]
    assert exact.complaints_per_10000 is not None
    assert exact.complaints_per_10000.value == pytest.approx(
        np.mean(counted), abs=4.5 * np.std(counted) / math.sqrt(len(counted))
    )


@pytest.mark.parametrize("habit", HABITS)
def test_bands_hold_their_values_and_shares_sum_to_one(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    for one in answers[habit].rows:
        for band in bands(one):
            assert 0.0 <= band.low <= band.value <= band.high
        total = one.yield_frac.value + one.second_share.value + one.waste_frac.value
        assert total == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("habit", HABITS)
def test_a_stricter_limit_never_costs_less(answers: dict[Habit, LimitAnswer], habit: Habit) -> None:
    costs = [one.cost_per_ball.value for one in answers[habit].rows]
    assert costs == sorted(costs, reverse=True)
    assert costs[0] > 0.0
    assert costs[-1] == 0.0


def test_the_best_plan_costs_least(answers: dict[Habit, LimitAnswer]) -> None:
    for limit in (0, 1, 2):
        best = row(answers["best"], limit).cost_per_ball.value
        assert best < row(answers["part_every"], limit).cost_per_ball.value
        assert best < row(answers["straight"], limit).cost_per_ball.value
    assert row(answers["part_every"], 0).second_share.value == 0.0
    assert row(answers["straight"], 0).waste_frac.value == 0.0


@pytest.mark.parametrize("habit", HABITS)
def test_steps_are_the_differences_of_the_rows(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    answer = answers[habit]
    assert [(step.looser, step.stricter) for step in answer.steps] == [(None, 2), (2, 1), (1, 0)]
    for step in answer.steps:
        dearer = row(answer, step.stricter).cost_per_ball.value
        cheaper = row(answer, step.looser).cost_per_ball.value
        assert step.cost_per_ball.value == pytest.approx(dearer - cheaper, abs=1e-12)


@pytest.mark.parametrize("habit", HABITS)
def test_half_the_breaks_cost_less_at_every_limit(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    halved = price_of_limits(replace(QUESTION, habit=habit, breaks_left_frac=0.5))
    for limit in (0, 1, 2):
        today = row(answers[habit], limit)
        assert row(halved, limit).cost_per_ball.value < today.cost_per_ball.value
    lower = replace(QUESTION.sources, breaks_per_m=0.5 * BUSY.breaks_per_m)
    if habit == "straight":
        assert price_of_limits(replace(QUESTION, sources=lower, habit=habit)).rows == halved.rows


def test_a_thinned_strand_is_a_strand_of_the_lower_rate() -> None:
    """Breaks left out one by one leave the right rate and every other join where it is."""
    from clew.knots.price_strands import draw_marked

    question = replace(QUESTION, strand_m=1_000_000.0)
    for strand in draw_marked(question):
        half = strand.at_rate(0.5)
        none = strand.at_rate(0.0)
        others = [kind for kind in strand.knots.kinds if kind != "re-tie"]
        breaks = len(strand.knots.kinds) - len(others)
        kept = len(half.kinds) - len(others)
        assert list(none.kinds) == others
        assert kept == pytest.approx(0.5 * breaks, abs=5.0 * math.sqrt(0.25 * breaks))
        assert set(half.positions_nm.tolist()) <= set(strand.knots.positions_nm.tolist())
        assert strand.at_rate(1.0).positions_nm.size == strand.knots.positions_nm.size


def test_the_middle_of_the_band_is_todays_rate() -> None:
    """Strands are drawn at the high end; what is left at the middle are today's breaks."""
    from clew.knots.price_strands import draw_marked

    alike = replace(QUESTION, sources=Sources(0.004), strand_m=500_000.0)
    for share, rate in ((1.0, 0.0056), (1.0 / 1.4, 0.004), (0.7 / 1.4, 0.0028)):
        joins = sum(len(strand.at_rate(share).kinds) for strand in draw_marked(alike))
        expected = rate * 8 * 500_000.0
        assert joins == pytest.approx(expected, abs=4.5 * math.sqrt(expected))


@pytest.mark.parametrize("habit", ["part_every", "best"])
def test_a_row_is_the_sum_of_the_plans_on_its_strands(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    """Grades, money and complaints of limit 1, counted join by join on the same strands."""
    from clew.knots.price_strands import draw_marked

    first = second = partings = most = 0
    money = told = 0.0
    for strand in draw_marked(QUESTION):
        knots = strand.at_rate(1.0 / 1.4)
        plan = getattr(plan_cuts(knots, RULE, PRICES), habit)
        balls = int(knots.strand_m // 100.0)
        most += balls
        first, second = first + plan.first, second + plan.second
        partings += plan.partings
        # Without a rule the tail is dropped too, and its handling is no cost of the limit.
        money += 6.0 * balls - 0.0005 * (knots.strand_m - 100.0 * balls) - plan.value
        for at in plan.starts_m[plan.is_first]:
            # A ball that starts where a join ends does not hold it: a micrometre for the rounding.
            inside = sum(at + 1e-6 < p + 0.1 and p + 1e-6 < at + 100.0 for p in knots.positions_m)
            told += QUESTION.complaints_per_10000[inside]
    one = row(answers[habit], 1)
    assert one.cost_per_ball.value == pytest.approx(money / first, rel=1e-9)
    assert one.yield_frac.value == pytest.approx(first / most)
    assert one.second_share.value == pytest.approx(second / most)
    assert one.first_share.value == pytest.approx(first / (first + second))
    assert one.waste_frac.value == pytest.approx((most - first - second) / most, abs=1e-9)
    assert one.partings_per_km.value == pytest.approx(10.0 * partings / most)
    assert one.complaints_per_10000 is not None
    assert one.complaints_per_10000.value == pytest.approx(told / first)
    assert one.landfill_kg_a_year is not None
    assert one.landfill_kg_a_year.value == pytest.approx(
        (most - first - second) / first * 0.05 * 100_000, rel=1e-6, abs=1e-6
    )


def test_without_any_rule_a_strand_is_wound_straight_and_loses_nothing() -> None:
    """Every whole ball first-quality: none second, no waste, no parting, no money lost."""
    from clew.knots.price_strands import draw_marked, totals_drawn

    strands = draw_marked(QUESTION)
    balls = np.array([strand.knots.strand_m // 100.0 for strand in strands])
    found = totals_drawn(QUESTION, strands, 1.0)[None]
    assert found[:, 0].tolist() == balls.tolist()
    assert found[:, 1:5].tolist() == [[0.0] * 4] * len(strands)
    assert found[:, 6] == pytest.approx(100.0 * balls)


@pytest.mark.parametrize("habit", HABITS)
def test_splices_that_do_not_count_cost_nothing(habit: Habit) -> None:
    answer = price_of_limits(replace(QUESTION, join_counts=0.0, habit=habit))
    for one in answer.rows:
        assert one.cost_per_ball == Band(0.0, 0.0, 0.0)
        assert one.complaints_per_10000 is not None
        assert one.complaints_per_10000.value == pytest.approx(1.0)


@pytest.mark.parametrize("habit", HABITS)
def test_splices_that_count_a_half_let_twice_as_many_pass(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    half = price_of_limits(replace(QUESTION, join_counts=0.5, habit=habit))
    assert row(half, 1).cost_per_ball == row(answers[habit], 2).cost_per_ball
    assert row(half, 0).cost_per_ball == row(answers[habit], 0).cost_per_ball
    spliced, knotted = row(half, 1), row(answers[habit], 2)
    assert spliced.complaints_per_10000 is not None
    assert knotted.complaints_per_10000 is not None
    assert spliced.complaints_per_10000.value < knotted.complaints_per_10000.value


@pytest.mark.parametrize("habit", HABITS)
def test_the_shortest_piece_alone_is_a_limit_that_never_binds(habit: Habit) -> None:
    answer = price_of_limits(replace(QUESTION, limits=(1, 19), habit=habit))
    assert answer.piece_rule is not None
    assert replace(answer.piece_rule, limit=19) == row(answer, 19)
    assert answer.piece_rule.cost_per_ball.value > 0.0
    without = replace(QUESTION, rule=replace(RULE, min_piece_m=0.0), habit="straight")
    assert price_of_limits(without).piece_rule is None
    assert price_of_limits(replace(QUESTION, join_counts=0.0, habit=habit)).piece_rule is None


@pytest.mark.parametrize("habit", HABITS)
def test_all_prices_doubled_double_the_cost(
    answers: dict[Habit, LimitAnswer], habit: Habit
) -> None:
    twice = CutPrices(12.0, 6.0, 0.001, 0.04)
    answer = price_of_limits(replace(QUESTION, prices=twice, habit=habit))
    for one, other in zip(answer.rows, answers[habit].rows, strict=True):
        assert one.cost_per_ball.value == pytest.approx(2.0 * other.cost_per_ball.value, rel=1e-9)
        assert one.yield_frac.value == pytest.approx(other.yield_frac.value, rel=1e-12)


def test_the_cost_gives_the_mill_its_money_back(answers: dict[Habit, LimitAnswer]) -> None:
    """Its definition, done backwards on the figures of the row."""
    for habit in HABITS:
        for one in answers[habit].rows:
            balls = one.yield_frac.value * 10.0  # per km
            seconds = one.second_share.value * 10.0
            money = (
                balls * (PRICES.first + one.cost_per_ball.value)
                + seconds * PRICES.second
                - one.waste_frac.value * 1000.0 * PRICES.waste_per_m
                - one.partings_per_km.value * PRICES.parting
            )
            assert money == pytest.approx(10.0 * PRICES.first, rel=1e-9)


def test_the_same_seed_gives_the_same_answer_and_another_does_not(
    answers: dict[Habit, LimitAnswer],
) -> None:
    assert price_of_limits(QUESTION) == answers["best"]
    assert price_of_limits(replace(QUESTION, seed=4)).rows != answers["best"].rows


def test_the_doubt_says_which_part_of_the_band_is_which(
    answers: dict[Habit, LimitAnswer],
) -> None:
    assert answers["straight"].doubt.drawing == 0.0
    assert answers["straight"].doubt.breaks_share == 1.0
    known = price_of_limits(replace(QUESTION, breaks_band=(1.0, 1.0))).doubt
    assert (known.limit, known.breaks, known.breaks_share) == (1, 0.0, 0.0)
    assert known.drawing > 0.0
    both = answers["best"].doubt
    assert both.drawing == pytest.approx(known.drawing, rel=1.0)
    assert both.breaks_share == pytest.approx(both.breaks**2 / (both.breaks**2 + both.drawing**2))
    strict = price_of_limits(replace(QUESTION, limits=(2, 0), habit="straight"))
    assert strict.doubt.limit == 0


@pytest.fixture(scope="module")
def short_sets() -> tuple[LimitRow, list[LimitRow]]:
    """Limit 1 on very long strands, and on thirty sets of short ones."""
    known = replace(
        QUESTION, sources=replace(BUSY, breaks_per_m=0.0015), breaks_band=(1.0, 1.0), limits=(1,)
    )
    long = row(price_of_limits(replace(known, strand_m=2_000_000.0, seed=99)), 1)
    sets = [
        row(price_of_limits(replace(known, strand_m=30_000.0, seed=seed)), 1) for seed in range(30)
    ]
    return long, sets


def test_the_drawn_band_holds_the_cost_of_far_longer_strands(
    short_sets: tuple[LimitRow, list[LimitRow]],
) -> None:
    """95 % bands of thirty sets: more than six miss once in ten thousand."""
    long, sets = short_sets
    truth = long.cost_per_ball.value
    bands_of_sets = [one.cost_per_ball for one in sets]
    assert sum(not band.low <= truth <= band.high for band in bands_of_sets) <= 6
    # Nor are they far too wide: their half-width is 2.4 standard errors.
    spread = float(np.std([band.value for band in bands_of_sets], ddof=1))
    half = float(np.mean([band.high - band.value for band in bands_of_sets]))
    assert half == pytest.approx(2.365 * spread, rel=0.4)


def test_the_ends_of_short_strands_do_not_show(
    short_sets: tuple[LimitRow, list[LimitRow]],
) -> None:
    """Without odd lengths at the ends, the first metre dropped would cost a whole ball."""
    long, sets = short_sets
    costs = [one.cost_per_ball.value for one in sets]
    error = float(np.std(costs, ddof=1)) / math.sqrt(len(costs))
    assert float(np.mean(costs)) == pytest.approx(long.cost_per_ball.value, abs=3.5 * error)


@pytest.mark.parametrize("habit", HABITS)
def test_a_rule_that_no_ball_meets_has_a_cost_without_bound(habit: Habit) -> None:
    answer = price_of_limits(replace(QUESTION, rule=replace(RULE, min_piece_m=101.0), habit=habit))
    one = row(answer, 1)
    assert one.cost_per_ball.value == math.inf
    assert one.yield_frac.value == 0.0
    assert row(answer, None).cost_per_ball.value == 0.0
    assert all(not math.isnan(step.cost_per_ball.value) for step in answer.steps)


@settings(max_examples=15, deadline=None)
@given(
    rate=st.floats(0.0, 0.01),
    second=st.floats(0.0, 6.0),
    parting=st.floats(0.0, 1.0),
    piece=st.sampled_from([0.0, 5.0, 20.0]),
)
def test_money_lost_to_a_limit_never_falls_as_it_gets_stricter(
    rate: float, second: float, parting: float, piece: float
) -> None:
    """Exact for money; the cost a ball divides by first-quality balls, alike but for ties."""
    answer = price_of_limits(
        replace(
            QUESTION,
            sources=replace(BUSY, breaks_per_m=rate),
            rule=replace(RULE, min_piece_m=piece),
            prices=CutPrices(6.0, second, 0.0005, parting),
            breaks_band=(1.0, 1.0),
            strand_m=25_000.0,
        )
    )
    lost = [one.cost_per_ball.value * one.yield_frac.value for one in answer.rows]
    assert all(now >= after - 1e-9 for now, after in pairwise(lost))


def test_joins_in_a_ball_are_counted_as_the_rule_counts_them() -> None:
    """A join that only reaches into a ball is one of its joins."""
    from clew.knots.price_strands import _joins_in

    knots = knot_map([50.0, 99.95, 150.0, 300.0], 1000.0)
    starts = np.array([0, 100, 200, 300, 400]) * 1_000_000_000
    assert _joins_in(knots, starts, RULE).tolist() == [2, 2, 0, 1, 0]
