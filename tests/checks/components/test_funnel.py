"""The funnel: exact variances against draws, and the loss from chasing chance."""

import math

import numpy as np
import pytest

from clew.checks.components.funnel import (
    corrected_variance_ratio,
    funnel_variance_ratio,
    over_correction,
    right_gain,
    steady_gain,
)
from clew.faults import BadInput

DRAWS = 40_000
BALLS = 12


def drawn(rule: int) -> np.ndarray:
    """Balls under a rule, each row a run of its own: setting and landing written out."""
    chance = np.random.default_rng(20 + rule).normal(size=(DRAWS, BALLS))
    setting = np.zeros(DRAWS)
    landed = np.empty((DRAWS, BALLS))
    for ball in range(BALLS):
        landed[:, ball] = setting + chance[:, ball]
        if rule == 2:
            setting = setting - landed[:, ball]
        elif rule == 3:
            setting = -landed[:, ball]
        elif rule == 4:
            setting = landed[:, ball]
    return landed


@pytest.mark.parametrize("rule", [1, 2, 3, 4])
@pytest.mark.parametrize("ball", [1, 2, 5, 12])
def test_a_rule_spreads_balls_as_far_as_draws_do(rule: int, ball: int) -> None:
    found = float(drawn(rule)[:, ball - 1].var())
    expected = funnel_variance_ratio(rule, ball)  # type: ignore[arg-type]
    assert found == pytest.approx(expected, rel=5 * math.sqrt(2 / DRAWS))


@pytest.mark.parametrize(("gain", "balls"), [(1.0, 1), (0.5, 1), (0.3, 4), (1.5, 3)])
def test_correcting_for_ever_spreads_balls_as_far_as_draws_do(gain: float, balls: int) -> None:
    rng = np.random.default_rng(7)
    runs, rounds = 20_000, 60
    setting = np.zeros(runs)
    for _ in range(rounds):
        setting -= gain * (setting + rng.normal(size=runs) / math.sqrt(balls))
    found = 1.0 + float(setting.var())
    assert found == pytest.approx(corrected_variance_ratio(gain, balls), rel=0.03)


def test_full_correction_after_every_ball_is_rule_two() -> None:
    assert corrected_variance_ratio(1.0) == funnel_variance_ratio(2, 50) == 2.0
    assert corrected_variance_ratio(0.0) == funnel_variance_ratio(1, 50) == 1.0


def test_the_right_gain_leaves_the_least() -> None:
    tau, s = 0.8, 0.5
    gains = np.linspace(0, 1, 2001)
    left = (1 - gains) ** 2 * tau**2 + gains**2 * s**2
    assert right_gain(tau, s) == pytest.approx(float(gains[left.argmin()]), abs=1e-3)
    assert right_gain(0.0, s) == 0.0
    assert right_gain(0.0, 0.0) == 0.0


def test_the_steady_gain_is_the_resting_place_of_its_recursion() -> None:
    drift, noise = 0.3, 1.1
    variance = 1.0
    for _ in range(500):
        seen = variance + drift**2
        gain = seen / (seen + noise**2)
        variance = (1 - gain) * seen
    assert steady_gain(drift, noise) == pytest.approx(gain, rel=1e-9)
    assert (steady_gain(0.0, 1.0), steady_gain(1.0, 0.0)) == (0.0, 1.0)


def test_chasing_every_ball_loses_where_winders_stand_close() -> None:
    found = over_correction(0.3, 1.0, balls=25)
    assert found.every_ball_sd_g == pytest.approx(math.sqrt(2))
    assert found.left_sd_g == pytest.approx(math.sqrt(1.09))
    assert found.right_sd_g < found.left_sd_g < found.every_ball_sd_g
    assert found.lost_g == pytest.approx(2 * (found.every_ball_sd_g - found.right_sd_g))


def test_cones_that_last_are_followed_as_draws_follow_them() -> None:
    """Every ball corrected in full, cones of eight balls: mass and turns written out."""
    rng = np.random.default_rng(17)
    runs, cones, lasts = 3000, 12, 8
    cone = np.repeat(rng.normal(0, 0.9, (runs, cones)), lasts, axis=1)
    chance = cone + rng.normal(0, 0.5, cone.shape)
    setting = np.zeros(runs)
    landed, set_to = [], []
    for ball in range(cones * lasts):
        landed.append(setting + chance[:, ball])
        set_to.append(setting)
        setting = setting - landed[-1]
    found = over_correction(0.4, 0.5, balls=40, cone_sd_g=0.9, balls_per_cone=lasts)
    settled = slice(lasts, None)
    assert np.std(landed[settled]) == pytest.approx(found.every_ball_sd_g, rel=0.02)
    assert np.std(set_to[settled]) == pytest.approx(found.every_ball_turns_sd_g, rel=0.02)
    assert found.lost_g < 0.0  # mass narrows, and turns wander


@pytest.mark.parametrize(
    "ask",
    [
        lambda: funnel_variance_ratio(5, 1),  # type: ignore[arg-type]
        lambda: funnel_variance_ratio(1, 0),
        lambda: corrected_variance_ratio(2.0),
        lambda: corrected_variance_ratio(-0.5),
        lambda: corrected_variance_ratio(math.nan),
        lambda: corrected_variance_ratio(0.5, 0),
        lambda: over_correction(1.0, 1.0, balls=0),
        lambda: over_correction(1.0, 1.0, balls=5, balls_per_cone=0.5),
    ],
)
def test_what_is_no_rule_is_refused(ask: object) -> None:
    with pytest.raises(BadInput):
        ask()  # type: ignore[operator]
