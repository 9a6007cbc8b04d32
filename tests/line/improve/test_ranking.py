"""What one improvement is worth, ranked, and what is said of it."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from clew.faults import BadInput
from clew.line.improve.crew import crew_table
from clew.line.improve.money import ShiftPrices
from clew.line.improve.one_hand_lanes import lanes_of_one_hand
from clew.line.improve.paired import difference
from clew.line.improve.plain import plain_crew, plain_one_hand, plain_ranking, plain_target
from clew.line.improve.ranking import Ranking, together, what_to_change
from clew.line.improve.targets import buffer_for, feed_for
from clew.line.improve.words import (
    crew_words,
    decimals,
    one_hand_words,
    plus_minus,
    ranking_words,
    target_words,
    with_doubt,
)
from clew.line.layout import Layout
from clew.line.simulate.answer import Estimate, shift_answer


@pytest.fixture(scope="module")
def ranking(demo_layout: Layout, demo_prices: ShiftPrices) -> Ranking:
    return what_to_change(demo_layout, demo_prices, replications=40, seed=7)


def test_most_money_comes_first(ranking: Ranking) -> None:
    money = [one.money.mean for one in ranking.worths if one.money is not None]
    assert len(money) == len(ranking.worths) == 16
    assert money == sorted(money, reverse=True)


def test_the_line_as_it_is_runs_the_shifts_of_an_answer(
    ranking: Ranking, demo_layout: Layout
) -> None:
    alone = shift_answer(demo_layout, replications=40, seed=7)
    assert ranking.base.balls.mean == pytest.approx(alone.balls.mean)
    assert ranking.base.balls.low == pytest.approx(alone.balls.low)


def test_a_worth_is_a_difference_in_the_same_shifts(ranking: Ranking, demo_layout: Layout) -> None:
    one = next(worth for worth in ranking.worths if worth.key == "doff_faster")
    more = difference(demo_layout, one.layout, replications=40, seed=7).more
    assert one.first_balls.mean == pytest.approx(more["first_balls"].mean)
    assert one.first_balls.sd == pytest.approx(more["first_balls"].sd, rel=1e-6)


def test_intervals_are_widened_for_their_number(ranking: Ranking, demo_layout: Layout) -> None:
    assert ranking.confidence == pytest.approx(1.0 - 0.05 / 16)
    assert together(1) == pytest.approx(0.95)
    one = next(worth for worth in ranking.worths if worth.key == "doff_faster")
    alone = difference(demo_layout, one.layout, replications=40, seed=7).more["first_balls"]
    wider = (one.first_balls.high - one.first_balls.low) / (alone.high - alone.low)
    assert 1.4 < wider < 1.8


def test_a_cone_more_that_is_never_needed_is_not_told_from_nothing(ranking: Ranking) -> None:
    one = next(worth for worth in ranking.worths if worth.key == "one_more_cone")
    assert not one.told
    assert one.balls.mean == 0.0
    for worth in ranking.worths:
        by = worth.ranked_by
        assert worth.told == (not by.low <= 0.0 <= by.high)


def test_without_prices_by_first_quality_balls(demo_layout: Layout) -> None:
    found = what_to_change(demo_layout, replications=20, seed=7)
    gained = [one.first_balls.mean for one in found.worths]
    assert gained == sorted(gained, reverse=True)
    assert all(one.money is None and one.cost_per_ball is None for one in found.worths)
    assert "price" in " ".join(ranking_words(found))


def test_the_stand_in_is_paid_for_what_was_really_rested(
    demo_layout: Layout, demo_prices: ShiftPrices
) -> None:
    """At a wage past all bounds a stand-in costs his hours and gains nothing beside them."""
    wage = 1e8
    dear = replace(demo_prices, hand_per_hour=wage)
    found = what_to_change(demo_layout, dear, replications=5, seed=1)
    one = next(worth for worth in found.worths if worth.key == "stand_in")
    alone = shift_answer(demo_layout, replications=5, seed=1)
    hours = alone.measures["hand_resting_s"].mean / 3600.0
    assert hours > 0.0
    assert one.money is not None
    assert one.money.mean == pytest.approx(-wage * hours, rel=1e-5)
    assert one.cost_per_ball is not None
    stood_in = shift_answer(one.layout, replications=5, seed=1).measures["first_balls"].mean
    crew_hours = demo_layout.hands * demo_layout.shift_s / 3600.0
    now = crew_hours / alone.measures["first_balls"].mean
    more = wage * ((crew_hours + hours) / stood_in - now)
    assert one.cost_per_ball.mean == pytest.approx(more, rel=1e-3)
    by_key = {worth.key: worth for worth in found.worths}
    doff = by_key["doff_faster"].money
    assert doff is not None
    assert abs(doff.mean) < 1e-3 * wage  # no other improvement pays for rests


def test_a_line_that_can_have_less(small: Layout) -> None:
    calm = replace(small, feed_breaks_per_km=0.0, wind_breaks_per_km=0.0)
    found = what_to_change(calm, replications=5)
    assert {one.key for one in found.left_out} == {"one_hand_fewer", "fewer_breaks"}
    assert "nothing breaks" in " ".join(ranking_words(found))


def test_what_cannot_be_ranked(small: Layout, demo_prices: ShiftPrices) -> None:
    with pytest.raises(BadInput, match="replications"):
        what_to_change(small, replications=1)
    with pytest.raises(BadInput, match="ball"):
        what_to_change(small, replace(demo_prices, ball=math.nan), replications=5)
    with pytest.raises(BadInput, match="lanes"):
        what_to_change(replace(small, lanes=0), replications=5)


def test_the_headline_names_the_best(ranking: Ranking) -> None:
    best = ranking.worths[0]
    head, *more = ranking_words(ranking)
    assert head.casefold().startswith(best.label)
    assert ranking.prices is not None
    assert ranking.prices.currency in head
    told = " ".join(more)
    assert "together 95 times in 100" in told
    assert "Not counted" in told
    assert "one more cone a creel" in told


def test_everything_can_be_said_in_json(ranking: Ranking, small: Layout) -> None:
    found = [
        plain_ranking(ranking),
        plain_crew(crew_table(small, replications=4)),
        plain_one_hand(lanes_of_one_hand(small, replications=4)),
        plain_target(feed_for(small, 1e6, replications=4), small.shrink_frac),
        plain_target(buffer_for(small, 10.0, replications=4), small.shrink_frac),
    ]
    again = json.loads(json.dumps(found, allow_nan=False))
    assert again == found
    cone = next(one for one in again[0]["changes"] if one["key"] == "one_more_cone")
    assert cone["variance_reduction"] is None
    assert again[3]["reached"] is False
    assert again[4]["reached"] is True
    kept = 1.0 - small.shrink_frac
    assert again[4]["buffer_now_steamed_m"] == pytest.approx(kept * small.buffer_m)
    assert "buffer_m" not in again[4]
    assert again[3]["feed_now_m_per_s"] == small.feed_m_per_s


@pytest.mark.parametrize(
    ("mean", "half", "said", "short"),
    [
        (909.66, 23.6, "910 (886 to 933)", "910 ±24"),
        (1.9268, 0.00017, "1.9268 (1.9266 to 1.9270)", "1.9268 ±0.0002"),
        (3418.3, 0.31, "3418.3 (3418.0 to 3418.6)", "3418.3 ±0.3"),
        (-0.02, 9.0, "0.0 (-9.0 to 9.0)", "0.0 ±9.0"),
        (6.0, 0.0, "6.0", "6.0"),
        (math.nan, math.nan, "-", "-"),
    ],
)
def test_as_many_places_as_the_interval_bears(
    mean: float, half: float, said: str, short: str
) -> None:
    one = Estimate(mean, mean - half, mean + half, 1.0)
    assert with_doubt(one) == said
    assert plus_minus(one) == short


def test_a_plus_where_asked_and_no_minus_nought() -> None:
    assert with_doubt(Estimate(3.0, 2.0, 4.0, 1.0), signed=True) == "+3.0 (2.0 to 4.0)"
    assert plus_minus(Estimate(-0.001, -0.5, 0.5, 1.0), signed=True) == "0.00 ±0.50"
    assert decimals(Estimate(1e7, 1e7 - 0.1, 1e7 + 0.1, 1.0)) == 0


def test_crews_in_words(small: Layout, demo_prices: ShiftPrices) -> None:
    table = crew_table(small, demo_prices, replications=20, seed=2)
    head, left, *_, closed = crew_words(table)
    assert "cheapest" in head
    assert "left" in left or "leave" in left
    assert closed.startswith("The formula of random stops")
    assert "at least" not in closed
    few = crew_table(small, demo_prices, most_hands=1, replications=4)
    said = " ".join(crew_words(few))
    assert (
        "1 hand is the largest crew tried: a larger one may make a ball cheaper and leave more over"
        in said
    )
    more = replace(small, lanes=4)
    best = crew_table(more, demo_prices, most_hands=6, replications=4)
    assert best.cheapest is not None
    assert best.cheapest.hands < 6
    assert "largest" not in " ".join(crew_words(best))
    assert "no price" in crew_words(crew_table(small, replications=4))[0]
    none = crew_table(replace(small, ball_m=1e7), demo_prices, replications=4)
    assert crew_words(none) == ("No crew makes a first-quality ball.",)


def test_lanes_of_one_hand_in_words(small: Layout) -> None:
    some = lanes_of_one_hand(small, may_lose_frac=0.05, replications=20, seed=1)
    assert f"{some.lanes} lane" in one_hand_words(some)[0]
    all_tried = lanes_of_one_hand(small, may_lose_frac=0.9, most_lanes=2, replications=4)
    assert "2 lanes, the most tried" in one_hand_words(all_tried)[0]


def test_targets_in_words(small: Layout) -> None:
    far = target_words(feed_for(small, 1e6, replications=4), small.shrink_frac)
    assert far[0].startswith("No feed reaches 1000000 balls a shift")
    near = target_words(buffer_for(small, 1.0, replications=4), small.shrink_frac)
    assert near[0].startswith("The least buffer looked at, ")
    now = feed_for(small, 120.0, replications=20)
    assert now.at is not None
    assert now.high is not None
    head = target_words(now, small.shrink_frac)[0]
    feed = f"{60.0 * now.at:.1f}".removesuffix(".0")
    sure = f"{60.0 * now.high:.1f}".removesuffix(".0")
    assert head.startswith(f"A feed of {feed} m/min reaches 120 balls a shift, ")
    assert "second-quality among them. " in head
    assert head.endswith(f"{sure} m/min surely does.")
    first = feed_for(small, 100.0, output="first_balls", replications=20)
    said = " ".join(target_words(first, small.shrink_frac))
    assert "first-quality balls a shift" in said
    assert "in steps" in said
