"""The shrink curve: finds known constants, knows its own spread, and does not extrapolate."""

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit

from clew.faults import BadInput
from clew.strand.shrink_curve import fit_shrink

TIMES = np.tile([5.0, 10.0, 20.0, 40.0], 3)
HEAT = np.repeat([96.0, 100.0, 104.0], 4)


def law(time_s, above_c, *constants):
    final, slope, lag, tau = constants
    waited = np.maximum(time_s - lag, 0.0) / tau
    return (final + slope * above_c) * (1.0 - np.exp(-waited))


TRUE = law(TIMES, HEAT - 100.0, 0.20, 0.004, 2.0, 8.0)


def noisy(seed: int, sd: float = 0.004) -> np.ndarray:
    return TRUE + np.random.default_rng(seed).normal(0.0, sd, len(TRUE))


def test_constants_come_back_from_trials_without_noise() -> None:
    found = fit_shrink(TIMES, HEAT, TRUE)
    assert found.final_shrink_frac == pytest.approx(0.20, abs=1e-9)
    assert found.slope_per_c == pytest.approx(0.004, abs=1e-10)
    assert found.lag_s == pytest.approx(2.0, abs=1e-7)
    assert found.time_constant_s == pytest.approx(8.0, abs=1e-7)
    assert found.slope_fitted
    assert found.lag_fitted
    assert found.spare_points == 8


def test_fit_and_covariance_agree_with_another_least_squares_routine() -> None:
    shrink = noisy(3)
    found = fit_shrink(TIMES, HEAT, shrink)
    best, covariance = curve_fit(
        lambda t, final, slope, lag, ln_tau: law(
            t, HEAT - 100.0, final, slope, lag, np.exp(ln_tau)
        ),
        TIMES,
        shrink,
        p0=[0.2, 0.0, 1.0, 2.0],
        xtol=1e-13,
        ftol=1e-13,
    )
    ours = [
        found.final_shrink_frac,
        found.slope_per_c,
        found.lag_s,
        math.log(found.time_constant_s),
    ]
    assert ours == pytest.approx(best, rel=1e-5)
    assert np.array(found.covariance) == pytest.approx(covariance, rel=1e-3, abs=1e-9)


def test_the_band_holds_the_truth_as_often_as_it_says() -> None:
    """80 fits at 90 %: the mean at 15 s and 102 °C lies in the band in 72 of them, give or take."""
    truth = float(law(np.array([15.0]), np.array([2.0]), 0.20, 0.004, 2.0, 8.0)[0])
    held = 0
    for seed in range(80):
        estimate = fit_shrink(TIMES, HEAT, noisy(seed)).at(15.0, 102.0, level=0.90)
        held += estimate.low_frac <= truth <= estimate.high_frac
    assert 64 <= held <= 78


def test_a_higher_level_gives_a_wider_band() -> None:
    found = fit_shrink(TIMES, HEAT, noisy(1))
    narrow, wide = found.at(20.0, 100.0, level=0.8), found.at(20.0, 100.0, level=0.99)
    assert wide.low_frac < narrow.low_frac < narrow.shrink_frac < narrow.high_frac < wide.high_frac
    assert narrow.shrink_frac == wide.shrink_frac


@pytest.mark.parametrize(
    ("time_s", "heat"),
    [(41.0, 100.0), (4.0, 100.0), (20.0, 95.0), (20.0, 105.0), (math.nan, 100.0)],
)
def test_outside_the_trials_it_refuses_and_says_so(time_s: float, heat: float) -> None:
    found = fit_shrink(TIMES, HEAT, noisy(1))
    with pytest.raises(BadInput, match="does not extrapolate") as caught:
        found.at(time_s, heat)
    assert "5 to 40 s and 96 to 104 °C" in caught.value.faults[0].expected


def test_one_temperature_fits_time_alone() -> None:
    time = np.array([4.0, 8.0, 12.0, 20.0, 30.0, 50.0])
    shrink = law(time, 0.0, 0.22, 0.0, 1.0, 9.0)
    found = fit_shrink(time, np.full(6, 99.0), shrink)
    assert not found.slope_fitted
    assert found.slope_per_c == 0.0
    assert found.at(15.0, 99.0).shrink_frac == pytest.approx(
        float(law(15.0, 0.0, 0.22, 0.0, 1.0, 9.0)), abs=1e-8
    )
    with pytest.raises(BadInput, match="does not extrapolate"):
        found.at(15.0, 100.0)


def test_three_times_fit_without_a_lag() -> None:
    time = np.tile([5.0, 15.0, 40.0], 2)
    found = fit_shrink(time, np.full(6, 100.0), law(time, 0.0, 0.2, 0.0, 0.0, 8.0))
    assert not found.lag_fitted
    assert found.lag_s == 0.0
    assert found.time_constant_s == pytest.approx(8.0, abs=1e-6)


def test_a_trial_at_0_s_tells_nothing_and_harms_nothing() -> None:
    with_zero = fit_shrink(np.append(TIMES, 0.0), np.append(HEAT, 100.0), np.append(TRUE, 0.0))
    assert with_zero.time_constant_s == pytest.approx(8.0, abs=1e-6)
    assert with_zero.at(2.5, 100.0).shrink_frac < 0.03


RISEN = np.full(12, 0.20)
LATE = law(TIMES, HEAT - 100.0, 0.20, 0.0, 7.0, 8.0)


@pytest.mark.parametrize(
    ("time", "heat", "shrink", "why"),
    [
        (TIMES[:4], HEAT[:4], TRUE[:4], "too few trials"),
        (TIMES[:2], HEAT[:2], TRUE[:2], "too few steaming times"),
        (np.full(12, 20.0), HEAT, TRUE, "too few steaming times"),
        (TIMES * 50, HEAT, RISEN + 0.001 * (TIMES % 3), "too alike"),
        (TIMES, HEAT, LATE, "before the yarn shrinks"),
        (TIMES, HEAT, TRUE[:5], "unequal length"),
        (TIMES, HEAT, ["a"] * 12, "must be numbers"),
        (TIMES, HEAT, TRUE * (HEAT < 98), "straight line"),
    ],
)
def test_trials_that_cannot_tell_are_refused(time, heat, shrink, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        fit_shrink(time, heat, shrink)


def test_every_impossible_trial_is_named_at_once() -> None:
    time, heat, shrink = TIMES.copy(), HEAT.copy(), TRUE.copy()
    time[1], heat[4], shrink[9] = -3.0, math.nan, 20.0
    with pytest.raises(BadInput) as caught:
        fit_shrink(time, heat, shrink)
    assert [fault.key for fault in caught.value.faults] == ["trial 2", "trial 5", "trial 10"]


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_lies_between_0_and_1(level: float) -> None:
    with pytest.raises(BadInput, match="level"):
        fit_shrink(TIMES, HEAT, TRUE).at(20.0, 100.0, level=level)


def test_three_times_fit_no_lag_even_where_the_yarn_waits() -> None:
    """Three times cannot tell a lag from a slower rise; the manual says four are needed."""
    time = np.tile([5.0, 10.0, 40.0], 2)
    found = fit_shrink(time, np.full(6, 100.0), law(time, 0.0, 0.2, 0.0, 2.0, 8.0))
    assert not found.lag_fitted
    assert found.lag_s == 0.0


def test_two_temperatures_are_enough_for_a_slope() -> None:
    time = np.tile([5.0, 10.0, 20.0, 40.0], 2)
    heat = np.repeat([98.0, 102.0], 4)
    found = fit_shrink(time, heat, law(time, heat - 100.0, 0.20, 0.004, 2.0, 8.0))
    assert found.slope_fitted
    assert found.slope_per_c == pytest.approx(0.004, abs=1e-9)
    assert found.at(20.0, 101.0).shrink_frac == pytest.approx(
        float(law(20.0, 1.0, 0.20, 0.004, 2.0, 8.0)), abs=1e-8
    )


def test_a_trial_without_end_is_refused() -> None:
    with pytest.raises(BadInput, match="time that cannot be meant"):
        fit_shrink(np.append(TIMES, math.inf), np.append(HEAT, 100.0), np.append(TRUE, 0.2))
