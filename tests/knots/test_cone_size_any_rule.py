"""No rule for dropping leftovers, of any form, beats dropping what is shorter than one length."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import gammaincc

from clew.knots.cone_size import ConeMoney, balls_on
from clew.knots.cone_size_near import best_drop, drop_when_short, simple_drop_m, wrapped_density
from clew.knots.renewal import Cones

BALL_M = 100.0
CELLS = 300
MONEY = ConeMoney(ball_price=6.0, tie_loss=2.0, waste_per_m=0.01, parting=0.02)


def best_of_any_rule(cones: Cones, money: ConeMoney) -> tuple[float, np.ndarray]:
    """Howard's policy iteration: for every cell of leftovers, drop or wind on, whatever is best."""
    left = (np.arange(CELLS) + 0.5) * BALL_M / CELLS
    inside = np.concatenate(([0.0], left))
    step = wrapped_density(cones, BALL_M, left[None, :] - inside[:, None])
    step /= step.sum(axis=1, keepdims=True)
    ends = gammaincc(cones.shape, (BALL_M - inside) * cones.shape / cones.mean_m)
    wound = money.ball_price * balls_on(cones, BALL_M, inside)
    wound -= money.tie_loss * np.where(inside > 0.0, ends, 0.0)
    cost = money.waste_per_m * left + money.parting
    drop = left < 0.5 * BALL_M
    while True:
        moves = np.column_stack((step @ drop, step * ~drop))
        system = np.eye(CELLS + 1) - moves
        system[:, 0] = 1.0  # the value of a fresh start is 0; its place holds the gain per cone
        value = np.linalg.solve(system, wound - step @ (drop * cost))
        better = -cost > value[1:]
        if np.array_equal(better, drop):
            return float(value[0]) / cones.mean_m * 1000.0, drop
        drop = better


@pytest.mark.parametrize("cv", [0.003, 0.006, 0.02])
@pytest.mark.parametrize("mean_m", [2985.0, 3012.0, 3050.0, 3070.0])
def test_one_length_is_the_best_rule(mean_m, cv):
    cones = Cones(mean_m, cv)
    money_per_km, drop = best_of_any_rule(cones, MONEY)
    longest = np.count_nonzero(drop)
    assert drop[:longest].all()
    found = best_drop(cones, BALL_M, MONEY)
    assert found.drop_up_to_m == pytest.approx(longest * BALL_M / CELLS, abs=1.0)
    assert found.money_per_km == pytest.approx(money_per_km, abs=4e-4)


@pytest.mark.parametrize("sd_m", [1.5, 1.7])
def test_the_best_length_is_not_mistaken_for_the_simple_one(sd_m):
    """Every fourth tie falls near a ball's end: some 20 m bring most, not 12.5 m."""
    cones, money = Cones(625.0, sd_m / 625.0), ConeMoney(6.0, tie_loss=0.8, parting=0.05)
    money_per_km, drop = best_of_any_rule(cones, money)
    found = best_drop(cones, BALL_M, money)
    assert found.drop_up_to_m == pytest.approx(np.count_nonzero(drop) * BALL_M / CELLS, abs=1.0)
    assert found.money_per_km == pytest.approx(money_per_km, abs=4e-4)
    simple_m = simple_drop_m(BALL_M, money)
    assert simple_m == pytest.approx(12.5)
    simple = drop_when_short(cones, BALL_M, money, simple_m)
    assert simple.money_per_km < found.money_per_km - 0.01
