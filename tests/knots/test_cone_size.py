"""Cone size: three habits against whole numbers, closed limits and cones drawn one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.cone_size import ConeMoney, balls_on, check_cones, start_anew, wind_on
from clew.knots.cone_size_even import even_turns
from clew.knots.cone_size_near import (
    best_drop,
    cone_density,
    drop_when_short,
    simple_drop_m,
    wrapped_density,
)
from clew.knots.renewal import Cones

BALL_M = 100.0
MONEY = ConeMoney(ball_price=6.0, tie_loss=2.0, waste_per_m=0.01, parting=0.02, tie_cost=0.1)


def drawn(cones, drop_up_to_m, money, number=400_000, chains=200):
    """Wind cones one by one on many strands at once; money per cone and its error."""
    random = np.random.default_rng(7)
    inside = np.zeros(chains)
    sums = np.zeros((4, chains))
    for _ in range(number // chains):
        length = random.gamma(cones.shape, cones.mean_m / cones.shape, chains)
        balls = np.floor((inside + length) / BALL_M)
        left = inside + length - balls * BALL_M
        tied = (inside > 0.0) & (balls >= 1.0)
        drop = left <= drop_up_to_m
        sums += np.array([balls, tied, np.where(drop, left, 0.0), drop])
        inside = np.where(drop, 0.0, left)
    balls, tied, left, drops = sums / (number // chains)
    worth = (
        money.ball_price * balls
        - money.tie_loss * tied
        - money.waste_per_m * left
        - money.parting * drops
        - money.tie_cost
    )
    found = np.array([balls, tied, left, worth])
    return found.mean(axis=1), found.std(axis=1) / math.sqrt(chains)


@pytest.mark.parametrize("balls", [1, 7, 30])
def test_even_cones_of_whole_balls_leave_nothing_and_tie_nothing(balls):
    cones = Cones(balls * BALL_M, 0.0)
    for found in (
        wind_on(cones, BALL_M, MONEY),
        start_anew(cones, BALL_M, MONEY),
        best_drop(cones, BALL_M, MONEY),
    ):
        assert found.balls_per_cone == balls
        assert found.tied_share == 0.0
        assert found.leftover_m == 0.0
        # nothing is dropped, so nothing is parted either
        assert found.money_per_km == pytest.approx(1000.0 * (6.0 - 0.1 / balls) / BALL_M)


def test_even_cones_a_little_too_long():
    """3 balls and 25 m: every fourth tie falls on a ball's end; or 25 m are dropped each time."""
    cones = Cones(325.0, 0.0)
    on, anew = wind_on(cones, BALL_M, MONEY), start_anew(cones, BALL_M, MONEY)
    assert on.balls_per_cone == 3.25
    assert on.tied_share == 3 / 13
    assert (anew.balls_per_cone, anew.leftover_m, anew.tied_share) == (3.0, 25.0, 0.0)
    per_cone = 3 * 6.0 - 25 * 0.01 - 0.02 - 0.1
    assert anew.money_per_km == pytest.approx(1000.0 * per_cone / 325.0)
    # below 25 m nothing is dropped until the fourth cone ends with a ball
    below = drop_when_short(cones, BALL_M, MONEY, 24.9)
    assert (below.tied_share, below.leftover_m) == (3 / 13, 0.0)
    assert below.money_per_km == on.money_per_km
    dropped = drop_when_short(cones, BALL_M, MONEY, 25.0)
    assert dropped.leftover_m == 25.0
    assert dropped.money_per_km == pytest.approx(anew.money_per_km)


def test_even_cones_that_never_end_near_a_ball_end_are_wound_on() -> None:
    """Golden-section cones: the nearest of 1000 ties is 0.07 m past a ball's end, so none drops."""
    golden = (1.0 + math.sqrt(5.0)) / 2.0
    found = drop_when_short(Cones(golden * BALL_M, 0.0), BALL_M, MONEY, 0.05)
    assert (found.drop_up_to_m, found.leftover_m) == (0.0, 0.0)
    # cones are longer than balls, so each tie has a ball to itself
    assert found.balls_per_cone == pytest.approx(golden, rel=2e-3)
    assert found.tied_share == pytest.approx(1.0 / golden, rel=2e-3)
    per_cone = 6.0 * golden - 2.0 - 0.1
    assert found.money_per_km == pytest.approx(1000.0 * per_cone / (golden * BALL_M), rel=2e-3)
    anew = start_anew(Cones(golden * BALL_M, 0.0), BALL_M, MONEY)
    assert found.money_per_km > anew.money_per_km


@given(st.integers(50, 900), st.integers(1, 40))
def test_even_turns_are_whole_number_arithmetic(cone_m, ball_m):
    total, inside, tied = 0, 0, 0
    for turn in even_turns(float(cone_m), float(ball_m), 60):
        balls = (inside + cone_m) // ball_m
        tied += balls >= 1 and inside > 0
        inside = (inside + cone_m) % ball_m
        total += balls
        assert (turn.balls, turn.tied) == (total, tied)
        assert turn.leftover_m == pytest.approx(inside, abs=1e-7)
    assert inside == 0 or turn.cones == 60


@pytest.mark.parametrize(
    ("mean_m", "cv", "drop_m"),
    [(3030.0, 0.003, 40.0), (3030.0, 0.01, 30.0), (250.0, 0.1, 35.0), (130.0, 0.3, 60.0)],
)
def test_dropping_short_leftovers_against_cones_wound_one_by_one(mean_m, cv, drop_m):
    cones = Cones(mean_m, cv)
    found = drop_when_short(cones, BALL_M, MONEY, drop_m)
    mean, error = drawn(cones, drop_m, MONEY)
    exact = np.array(
        [
            found.balls_per_cone,
            found.tied_share * found.balls_per_cone,
            found.leftover_m,
            found.money_per_km * mean_m / 1000.0,
        ]
    )
    assert np.all(np.abs(mean - exact) < 4.5 * error + 2e-3 * exact / math.sqrt(2000.0))


@pytest.mark.parametrize("cv", [0.002, 0.01, 0.05, 0.3])
def test_starting_anew_against_cones_drawn(cv):
    random = np.random.default_rng(3)
    cones = Cones(730.0, cv)
    length = random.gamma(cones.shape, cones.mean_m / cones.shape, 1_000_000)
    balls = np.floor(length / BALL_M)
    found = start_anew(cones, BALL_M, MONEY)
    assert found.balls_per_cone == pytest.approx(
        balls.mean(), abs=4.5 * balls.std() / 1000.0 + 1e-9
    )
    left = length - balls * BALL_M
    assert found.leftover_m == pytest.approx(left.mean(), abs=4.5 * left.std() / 1000.0)


@pytest.mark.parametrize("cv", [0.001, 0.01, 0.3])
def test_the_ends_of_dropping_are_the_other_habits(cv):
    cones = Cones(3030.0, cv)
    assert drop_when_short(cones, BALL_M, MONEY, 0.0) == wind_on(cones, BALL_M, MONEY)
    assert drop_when_short(cones, BALL_M, MONEY, BALL_M) == start_anew(cones, BALL_M, MONEY)
    almost_all = drop_when_short(cones, BALL_M, MONEY, BALL_M * (1.0 - 1e-9))
    assert almost_all.money_per_km == pytest.approx(
        start_anew(cones, BALL_M, MONEY).money_per_km, abs=1e-6
    )
    almost_none = drop_when_short(cones, BALL_M, MONEY, 0.1)
    on = wind_on(cones, BALL_M, MONEY)
    assert almost_none.tied_share == pytest.approx(on.tied_share, rel=3e-3)


@settings(max_examples=25)
@given(
    st.floats(1.3, 40.0),
    st.floats(0.003, 0.3),
    st.floats(0.002, 0.999),
)
def test_every_metre_is_in_a_ball_or_dropped(cone_balls, cv, drop_balls):
    cones = Cones(cone_balls * BALL_M, max(cv, 0.02 / cone_balls))
    found = drop_when_short(cones, BALL_M, MONEY, drop_balls * BALL_M)
    assert found.balls_per_cone * BALL_M + found.leftover_m == pytest.approx(cones.mean_m, rel=1e-9)
    finer = drop_when_short(cones, BALL_M, MONEY, drop_balls * BALL_M, finer=2.0)
    assert finer.money_per_km == pytest.approx(found.money_per_km, rel=1e-9)


def test_winding_on_is_the_renewal_rate():
    """Ball over cone while cones are longer, and less where two ties share a ball."""
    assert wind_on(Cones(3000.0, 0.02), BALL_M, MONEY).tied_share == pytest.approx(1 / 30)
    short = wind_on(Cones(110.0, 0.3), BALL_M, MONEY)
    assert short.tied_share < 100.0 / 110.0 - 0.02


def test_many_balls_a_cone_leave_half_a_ball():
    """With a spread of many balls the leftover is uniform."""
    found = start_anew(Cones(50_000.0, 0.1), BALL_M, MONEY)
    assert found.leftover_m == pytest.approx(BALL_M / 2.0, rel=1e-9)
    assert balls_on(Cones(50_000.0, 0.1), BALL_M) == pytest.approx(499.5, rel=1e-12)


def test_the_simple_length_to_drop_is_best_when_cones_forget_their_place():
    simple = simple_drop_m(BALL_M, MONEY)
    assert simple == pytest.approx((2.0 - 0.02) / (0.06 + 0.01))
    found = best_drop(Cones(5000.0, 0.1), BALL_M, MONEY)
    assert found.drop_up_to_m == pytest.approx(simple, abs=0.05)
    # dropped uniformly up to y, tied otherwise
    assert found.leftover_m == pytest.approx(simple**2 / (2.0 * BALL_M), rel=5e-3)
    assert found.tied_share * found.balls_per_cone == pytest.approx(1.0 - simple / BALL_M, rel=1e-3)


@pytest.mark.parametrize("cv", [0.0, 0.002, 0.007, 0.03])
@pytest.mark.parametrize("mean_m", [2980.0, 3000.0, 3015.0])
def test_no_length_to_drop_beats_the_best(mean_m, cv):
    cones = Cones(mean_m, cv)
    best = best_drop(cones, BALL_M, MONEY)
    for drop_m in np.linspace(0.0, BALL_M, 61):
        found = drop_when_short(cones, BALL_M, MONEY, float(drop_m))
        assert found.money_per_km <= best.money_per_km + 2e-4


def test_a_wider_spread_leaves_more_over_from_cones_a_little_too_long():
    left = [
        start_anew(Cones(3010.0, cv), BALL_M, MONEY).leftover_m
        for cv in (0.0, 0.001, 0.002, 0.005, 0.01, 0.02)
    ]
    assert left == sorted(left)
    assert left[0] == pytest.approx(10.0)


@pytest.mark.parametrize("cv", [1e-4, 1e-3, 0.05, 0.12, 0.3])
def test_the_density_is_that_of_the_lengths(cv):
    from scipy.integrate import quad
    from scipy.special import gammainc

    cones = Cones(2000.0, cv)
    low, high = 2000.0 * (1.0 - 0.7 * cv), 2000.0 * (1.0 + 1.9 * cv)
    area, _ = quad(lambda x: float(cone_density(cones, np.array([x]))[0]), low, high, epsabs=1e-11)
    scale = cones.shape / cones.mean_m
    exact = gammainc(cones.shape, high * scale) - gammainc(cones.shape, low * scale)
    assert area == pytest.approx(exact, abs=2e-9)


def test_the_wrapped_density_turns_uniform_where_it_says():
    """Either side of the step from summed to uniform: the first harmonic is gone."""
    place = np.linspace(0.0, 99.0, 34)
    summed = wrapped_density(Cones(1000.0, 0.12), BALL_M, place)
    uniform = wrapped_density(Cones(3000.0, 0.12), BALL_M, place)
    assert np.ptp(uniform) == 0.0
    assert summed == pytest.approx(np.full(34, 0.01), rel=1e-6)
    assert np.ptp(summed) > 0.0


@pytest.mark.parametrize(
    ("cones", "ball_m", "money", "keys"),
    [
        (Cones(math.inf, 0.0), 0.0, MONEY, {"cone_length_m", "ball_length_m"}),
        (Cones(3000.0, math.nan), 100.0, MONEY, {"cone_cv"}),
        (Cones(3000.0, 0.31), 100.0, MONEY, {"cone_cv"}),
        (Cones(3000.0, 1e-5), 100.0, MONEY, {"cone_cv"}),
        (Cones(3e6, 0.01), 100.0, MONEY, {"cone_length_m"}),
        (
            Cones(3000.0, 0.01),
            100.0,
            ConeMoney(0.0, -1.0, math.nan, math.inf, -0.1),
            {"ball_price", "tie_loss", "waste_per_m", "parting", "tie_cost"},
        ),
    ],
)
def test_all_faults_at_once(cones, ball_m, money, keys):
    with pytest.raises(BadInput) as bad:
        check_cones(cones, ball_m, money)
    assert {fault.key for fault in bad.value.faults} == keys


@pytest.mark.parametrize("drop_m", [-1.0, math.nan, 0.01])
def test_a_length_to_drop_that_cannot_be_used(drop_m):
    with pytest.raises(BadInput) as bad:
        drop_when_short(Cones(3000.0, 0.01), BALL_M, MONEY, drop_m)
    assert bad.value.faults[0].key == "drop_up_to_m"


@pytest.mark.parametrize(("mean_m", "cv"), [(247.5, 0.004), (248.0, 0.005), (249.0, 0.004)])
def test_a_simple_length_that_is_one_of_those_tried_is_not_in_the_way(mean_m, cv):
    """A tie of 0.5 and balls of 6: the simple length is a twelfth of a ball but for rounding."""
    cones, money = Cones(mean_m, cv), ConeMoney(6.0, tie_loss=0.5)
    assert simple_drop_m(BALL_M, money) == pytest.approx(BALL_M / 12.0)
    best = best_drop(cones, BALL_M, money)
    for drop_m in (4.0, 5.0, 6.0):
        found = drop_when_short(cones, BALL_M, money, float(drop_m))
        assert found.money_per_km <= best.money_per_km + 2e-4
