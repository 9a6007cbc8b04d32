"""Crews on the same shifts: the cheapest, the one that leaves most, and when that is not sure."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.faults import BadInput
from clew.line.improve.closed import closed_crew, lane_work, lanes_in_step, random_loss_frac
from clew.line.improve.crew import crew_table, most_hands_for
from clew.line.improve.money import ShiftPrices
from clew.line.improve.one_hand_lanes import lanes_of_one_hand
from clew.line.layout import Layout
from clew.line.simulate.answer import shift_answer


def test_rows_are_the_shifts_of_each_crew(demo_layout: Layout, demo_prices: ShiftPrices) -> None:
    table = crew_table(demo_layout, demo_prices, most_hands=3, replications=20, seed=3)
    assert [row.hands for row in table.rows] == [1, 2, 3]
    for row in table.rows:
        alone = shift_answer(replace(demo_layout, hands=row.hands), replications=20, seed=3)
        assert row.balls.mean == pytest.approx(alone.balls.mean)
        assert row.balls.low == pytest.approx(alone.balls.low)
        assert row.busy_frac.mean == pytest.approx(alone.hand_busy_frac)
    first, second, _ = table.rows
    assert first.more_money is None
    assert second.more_money is not None
    assert second.money is not None
    assert first.money is not None
    assert second.more_money.mean == pytest.approx(second.money.mean - first.money.mean)


def test_the_best_crew_turns_with_the_wage(demo_layout: Layout, demo_prices: ShiftPrices) -> None:
    def best(wage: float) -> tuple[int, int]:
        prices = replace(demo_prices, hand_per_hour=wage)
        table = crew_table(demo_layout, prices, most_hands=4, replications=30, seed=1)
        assert table.cheapest is not None
        assert table.richest is not None
        assert table.cheapest.sure
        return table.cheapest.hands, table.richest.hands

    assert best(0.5) == (3, 3)
    assert best(400.0) == (1, 1)


def test_crews_that_cannot_be_told_apart_are_named(
    demo_layout: Layout, demo_prices: ShiftPrices
) -> None:
    """At the wage that the third hand just earns, few shifts cannot tell two from three."""
    kept = {"replications": 12, "seed": 1, "most_hands": 3}
    table = crew_table(demo_layout, demo_prices, **kept)
    gained = table.rows[2].more_money
    assert gained is not None
    hours = demo_layout.shift_s / 3600.0
    even = replace(
        demo_prices, hand_per_hour=demo_prices.hand_per_hour + (gained.mean - 1.0) / hours
    )
    table = crew_table(demo_layout, even, **kept)
    assert table.richest is not None
    assert table.richest.hands == 3
    assert table.richest.or_else == (2,)
    assert not table.richest.sure


def test_no_prices_no_best(small: Layout) -> None:
    table = crew_table(small, most_hands=2, replications=5)
    assert (table.cheapest, table.richest, table.closed) == (None, None, None)
    assert table.rows[1].cost_per_ball is None
    assert table.rows[1].more_first_balls is not None


def test_a_shift_without_a_ball(small: Layout, demo_prices: ShiftPrices) -> None:
    """Balls of ten thousand kilometres: hands are paid, no cost of a ball is known."""
    table = crew_table(replace(small, ball_m=1e7), demo_prices, most_hands=2, replications=4)
    assert table.cheapest is None
    assert table.richest is not None
    assert table.richest.hands == 1


def test_how_far_a_table_goes(small: Layout) -> None:
    assert most_hands_for(small) == 2
    assert most_hands_for(replace(small, hands=3)) == 4
    assert most_hands_for(replace(small, lanes=40)) == 16
    with pytest.raises(BadInput, match="most_hands"):
        crew_table(small, most_hands=17, replications=5)


def test_a_lanes_work_by_hand(sure: Layout) -> None:
    """40 s at the winder and 10 s of doff against 40 s of feed; cones of 1000 m, 30 s each.

    A fifth of a cone a ball: 6 s of loading, and the way of 11 m there and back at 1.1 m/s, 4 s.
    """
    layout = replace(
        sure, cone_m=1000.0, load_s=30.0, across_m=11.0, walk_m_per_s=1.1, spacing_m=2.2
    )
    work = lane_work(layout)
    assert work.cycle_s == pytest.approx(50.0)
    assert work.work_s == pytest.approx(10.0 + 6.0 + 4.0)
    assert work.walk_s == pytest.approx(2.0)
    assert lanes_in_step(layout) == pytest.approx(50.0 / 22.0)
    slow = replace(layout, feed_m_per_s=2.0)
    assert lane_work(slow).cycle_s == pytest.approx(100.0)


def test_losses_by_the_formula(sure: Layout) -> None:
    assert random_loss_frac(sure, 1) == pytest.approx(0.0)
    losses = [random_loss_frac(sure, lanes) for lanes in range(1, 12)]
    assert losses == sorted(losses)
    assert random_loss_frac(sure, 8, hands=8) == pytest.approx(0.0)


def test_the_formula_of_crews_is_that_of_interference(
    demo_layout: Layout, demo_prices: ShiftPrices
) -> None:
    found = closed_crew(demo_layout, demo_prices)
    assert list(found.balls_per_hour) == sorted(found.balls_per_hour)
    assert 1 <= found.hands <= demo_layout.lanes == len(found.balls_per_hour)
    free = replace(demo_prices, hand_per_hour=0.0)
    assert closed_crew(demo_layout, free).hands == demo_layout.lanes
    assert not closed_crew(demo_layout, free).open_end
    slow = replace(demo_layout, lanes=64, doff_s=80_000.0)
    assert closed_crew(slow, free).open_end  # 50 hands is as far as the formula goes


def test_the_formula_is_not_cut_off_with_the_crews_tried(
    demo_layout: Layout, demo_prices: ShiftPrices
) -> None:
    few, many = (
        crew_table(demo_layout, demo_prices, most_hands=most, replications=4) for most in (1, 6)
    )
    assert few.closed == many.closed
    assert few.closed is not None
    assert few.closed.hands > 1


def test_a_row_of_lanes_is_set_against_a_single_lane_with_the_same_rests(
    demo_layout: Layout,
) -> None:
    found = lanes_of_one_hand(demo_layout, most_lanes=2, replications=20, seed=3)
    one, two = (
        shift_answer(replace(demo_layout, lanes=lanes, hands=1), replications=20, seed=3)
        for lanes in (1, 2)
    )
    assert one.hand_share["resting"].mean > 0.0
    assert found.rows[0].lost_frac.mean == 0.0
    lost = 1.0 - two.balls.mean / (2.0 * one.balls.mean)
    assert found.rows[1].lost_frac.mean == pytest.approx(lost)


def test_rests_are_a_part_of_the_loss(sure: Layout) -> None:
    """Two lanes keep in step behind one hand but for his rests, after which one is doffed last.

    Rounds of 50 s, doffs of 10 s, no walk; ten rests of 60 s.
    """
    layout = replace(sure, shift_s=28_845.0, spacing_m=0.0, across_m=0.0)
    rested = replace(layout, breaks=10, break_s=60.0)
    without, with_rests = (
        lanes_of_one_hand(one, most_lanes=4, replications=20, seed=1).rows[3].lost_frac
        for one in (layout, rested)
    )
    assert with_rests.low > without.high


def test_lanes_in_step_lose_nothing(sure: Layout) -> None:
    """Rounds of 50 s, doffs of 10 s, no walk: five lanes just fill one hand's time.

    With six a round takes 60 s, and a sixth of the output is lost but for the shift's two ends.
    """
    layout = replace(sure, shift_s=28_845.0, spacing_m=0.0, across_m=0.0)
    found = lanes_of_one_hand(layout, may_lose_frac=0.02, most_lanes=7, replications=20, seed=1)
    assert found.in_step == pytest.approx(5.0, rel=1e-3)
    lost = [row.lost_frac.mean for row in found.rows]
    assert max(lost[:5]) < 0.01
    assert lost[5] == pytest.approx(1.0 / 6.0, abs=0.01)
    assert lost[6] == pytest.approx(2.0 / 7.0, abs=0.01)
    assert (found.lanes, found.surely, found.perhaps) == (5, 5, 5)
    assert found.at_random < found.lanes
    assert not found.open_end


def test_few_shifts_leave_the_lanes_open(small: Layout) -> None:
    found = lanes_of_one_hand(small, may_lose_frac=0.9, most_lanes=3, replications=5)
    assert found.open_end
    assert (found.lanes, found.rows[-1].lanes) == (3, 3)
    losing = found.rows[2].lost_frac
    edge = lanes_of_one_hand(small, may_lose_frac=losing.mean, most_lanes=3, replications=5)
    assert edge.surely < edge.perhaps


@pytest.mark.parametrize(
    ("key", "asked"),
    [
        ("may_lose_frac", {"may_lose_frac": 0.0}),
        ("most_lanes", {"most_lanes": 65}),
        ("replications", {"replications": 1}),
    ],
)
def test_what_cannot_be_asked_of_one_hand(small: Layout, key: str, asked: dict) -> None:
    with pytest.raises(BadInput) as bad:
        lanes_of_one_hand(small, **asked)
    assert [fault.key for fault in bad.value.faults] == [key]
