"""The lead's wish: so many false alarms, so soon."""

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.checks.charts.choose import choose_chart
from clew.checks.charts.choose_terms import Wish, limits_g, point_sd_g
from clew.checks.charts.choose_words import choice_plain, choice_words
from clew.faults import BadInput

WISH = Wish(
    balls_a_week=6000.0,
    false_alarms_a_week=1.0,
    shift_g=1.0,
    within_balls=20.0,
    ball_sd_g=1.0,
)


def test_charts_compared_at_one_price():
    choice = choose_chart(WISH)
    assert len(choice.table) == 12
    for one in choice.table:
        alarms = WISH.balls_a_week / one.interval_balls / one.quiet_groups
        assert alarms == pytest.approx(1.0)
        assert one.weighed_a_week == pytest.approx(6000.0)
    means = [one.balls_mean for one in choice.table]
    assert means == sorted(means)
    assert choice.best.balls_mean <= 1.01 * means[0]
    kinds = {choice.best.chart, *(one.chart for one in choice.others)}
    assert kinds == {"xbar", "xbar-rules", "ewma", "cusum"}


def test_the_best_chart_by_drawn_balls():
    """Balls drawn one by one, shifted from the first: the mean, nine in ten, and the chance."""
    choice = choose_chart(WISH, [3])
    best = next(one for one in choice.table if one.chart == "ewma")
    random = np.random.default_rng(17)
    balls = 1.0 + random.standard_normal((40_000, 60, 3))
    average = np.zeros(40_000)
    called = np.zeros(40_000)
    limit = limits_g(best)["limit_g"]
    for group in range(60):
        average += best.terms["weight"] * (balls[:, group].mean(axis=1) - average)
        called = np.where((called == 0) & (np.abs(average) > limit), 3 * (group + 1), called)
    assert (called > 0).all()
    assert called.mean() == pytest.approx(best.balls_mean, abs=4.0 * called.std() / 200.0)
    assert np.quantile(called, 0.9) == best.balls_ninety
    share = (called <= 20).mean()
    assert best.chance_within == pytest.approx(share, abs=4.0 * math.sqrt(share / 40_000))


def test_a_wish_that_can_be_had():
    choice = choose_chart(WISH)
    assert choice.can
    assert choice.false_alarms_needed is None
    assert choice.seen_g is not None
    assert choice.seen_g < WISH.shift_g
    assert choice_words(choice)[0].startswith("Yes")


def test_what_would_make_a_wish_possible():
    wish = replace(WISH, ball_sd_g=2.0)
    choice = choose_chart(wish)
    assert not choice.can
    assert choice_words(choice)[0].startswith("No")
    assert choice.seen_g is not None
    seen = choose_chart(replace(wish, shift_g=choice.seen_g))
    assert seen.can
    assert choice.false_alarms_needed is not None
    eased = choose_chart(replace(wish, false_alarms_a_week=1.001 * choice.false_alarms_needed))
    assert eased.can


def test_more_to_see_or_more_alarms_never_takes_longer():
    for change in ({"shift_g": 1.5}, {"false_alarms_a_week": 4.0}, {"ball_sd_g": 0.8}):
        easier = choose_chart(replace(WISH, **change)).table[0].balls_mean
        assert easier < choose_chart(WISH).table[0].balls_mean


def test_a_great_shift_is_left_to_the_simplest_chart():
    choice = choose_chart(replace(WISH, shift_g=30.0), [1])
    assert choice.best.chart == "xbar"
    assert choice.best.balls_mean == pytest.approx(1.0, abs=1e-6)
    assert "It calls 1 ball after the shift" in " ".join(choice_words(choice))


def test_cones_put_a_floor_under_a_group_mean():
    wish = replace(WISH, cone_sd_g=1.0)
    assert point_sd_g(wish, 100) == pytest.approx(math.sqrt(1.01))
    assert point_sd_g(replace(wish, cones_a_group=4), 4) == pytest.approx(math.sqrt(0.5))
    assert point_sd_g(replace(wish, cones_a_group=9), 2) == pytest.approx(1.0)
    words = " ".join(choice_words(choose_chart(wish)))
    assert "Balls of one cone are alike" in words


def test_balls_of_one_cone_in_a_row_make_false_alarms():
    wish = replace(WISH, cone_sd_g=0.7, balls_a_cone=10, false_alarms_a_week=10.0)
    choice = choose_chart(wish, [1, 5])
    assert choice.sharing is not None
    assert choice.sharing.balls_mean < choice.best.balls_mean
    assert choice.cones is not None
    assert choice.cones.arl + 5.0 * choice.cones.standard_error < 0.2 * choice.sharing.quiet_groups
    # one mean a cone is independent of the next, and is offered without being asked for
    assert choice.best.group_size == 10
    assert all(one.apart == (one.group_size == 10) for one in choice.table)
    assert "10 balls in a row, and they are alike" in " ".join(choice_words(choice))


def test_no_group_of_a_whole_cone():
    wish = replace(WISH, cone_sd_g=0.7, balls_a_cone=10, interval_balls=5, within_balls=1000.0)
    choice = choose_chart(wish, [1, 5])
    assert not choice.best.apart
    assert not choice.can
    assert "take --interval 10" in " ".join(choice_words(choice))


def test_groups_with_balls_left_unweighed_between():
    choice = choose_chart(replace(WISH, interval_balls=10), [1, 5, 20])
    assert {one.group_size for one in choice.table} == {1, 5}
    assert choice.best.group_size == 5
    assert choice.best.weighed_a_week == pytest.approx(3000.0)
    assert choice.best.balls_mean >= 10.0
    assert "larger than the 10 balls" in choice.left_out[0]


def test_a_group_that_comes_too_late():
    choice = choose_chart(replace(WISH, interval_balls=30), [5])
    assert not choice.can
    assert choice.seen_g is None
    assert choice.best.chance_within == 0.0
    assert any("nothing is seen within" in line for line in choice_words(choice))


def test_plain_values_are_finite():
    plain = choice_plain(choose_chart(WISH))
    for one in plain["table"]:
        assert all(math.isfinite(v) for v in one.values() if isinstance(v, float))


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"balls_a_week": math.nan}, "balls_a_week"),
        ({"false_alarms_a_week": 0.0}, "false_alarms_a_week"),
        ({"shift_g": -1.0}, "shift_g"),
        ({"within_balls": 0.0}, "within_balls"),
        ({"ball_sd_g": 0.0}, "ball_sd_g"),
        ({"cone_sd_g": math.inf}, "cone_sd_g"),
        ({"interval_balls": 0}, "interval_balls"),
        ({"balls_a_week": 5.0}, "groups"),
    ],
)
def test_bad_wishes(change, key):
    with pytest.raises(BadInput, match=f"^{key}"):
        choose_chart(replace(WISH, **change))


@pytest.mark.parametrize("groups", [[], [0], [101], list(range(1, 14))])
def test_bad_groups(groups):
    with pytest.raises(BadInput, match="groups"):
        choose_chart(WISH, groups)


def drawn_groups_to_a_call(one, wish, *, runs=400, most=6000):
    """Groups to the first false alarm: balls drawn one by one, cone after cone from anywhere."""
    random = np.random.default_rng(5)
    average, called = np.zeros(runs), np.full(runs, float(most))
    phase = random.integers(0, wish.balls_a_cone, runs)
    cone = random.standard_normal(runs)
    who = np.arange(runs)
    weight, limit = one.terms["weight"], limits_g(one)["limit_g"]
    for group in range(1, most):
        total = np.zeros(who.size)
        for _ in range(one.group_size):
            cone = np.where(phase == wish.balls_a_cone, random.standard_normal(who.size), cone)
            phase = np.where(phase == wish.balls_a_cone, 0, phase) + 1
            total += wish.cone_sd_g * cone + wish.ball_sd_g * random.standard_normal(who.size)
        average += weight * (total / one.group_size - average)
        calls = np.abs(average) > limit
        called[who[calls]] = group
        quiet = ~calls
        who, average, phase, cone = who[quiet], average[quiet], phase[quiet], cone[quiet]
        if not who.size:
            break
    return called.mean(), called.std() / math.sqrt(runs)


CONES_OF_14 = replace(WISH, ball_sd_g=1.2, cone_sd_g=0.8, balls_a_cone=14, false_alarms_a_week=3.0)


@pytest.mark.parametrize("size", [8, 20])
def test_groups_that_share_a_part_of_a_cone_are_not_taken_as_independent(size):
    """Groups of 8, cones of 14: some balls are of the last group's cone, and it calls too often."""
    choice = choose_chart(CONES_OF_14, [size])
    one = next(one for one in choice.table if (one.chart, one.group_size) == ("ewma", size))
    assert not one.apart
    found, error = drawn_groups_to_a_call(one, CONES_OF_14)
    assert found + 3.0 * error < one.quiet_groups
    assert choice.best.group_size == 14


def test_a_group_of_two_cones_varies_as_two_cones_do():
    assert point_sd_g(CONES_OF_14, 28) == pytest.approx(math.sqrt(0.64 / 2 + 1.44 / 28))
    assert point_sd_g(CONES_OF_14, 21) == pytest.approx(math.sqrt(0.64 * 5 / 9 + 1.44 / 21))
    one = next(one for one in choose_chart(CONES_OF_14, [28]).table if one.group_size == 28)
    assert one.apart


def test_groups_far_apart_share_no_cone():
    wish = replace(CONES_OF_14, interval_balls=18, within_balls=1000.0)
    table = choose_chart(wish, [1, 5, 6]).table
    assert {one.group_size for one in table if one.apart} == {1, 5}
