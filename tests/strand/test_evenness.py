"""Ball mass: nested sources, what a cone's balls share, how many cones tell what."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.evenness import (
    ball_mass_spread,
    cone_variance_across_tie,
    cones_for_standard_error,
    cones_to_detect,
    effective_sample_size,
    standard_error_frac,
)

CVS = st.floats(0.0, 0.05)


def test_a_worked_ball_mass() -> None:
    """1.8, 0.6, 0.5 and 0.4 % make 2.0025 % with an intraclass correlation of 0.81."""
    found = ball_mass_spread(
        0.018, within_cv_frac=0.006, length_cv_frac=0.005, moisture_cv_frac=0.004
    )
    assert found.cv_frac == pytest.approx(0.020025, abs=5e-7)
    assert found.intraclass == pytest.approx(0.81, abs=0.005)


def test_the_model_agrees_with_drawing_cones_and_balls_at_random() -> None:
    draw = np.random.default_rng(7)
    cones = draw.normal(1.0, 0.018, (40_000, 1))
    balls = cones * draw.normal(1.0, 0.006, (40_000, 2)) * draw.normal(1.0, 0.005, (40_000, 2))
    found = ball_mass_spread(0.018, within_cv_frac=0.006, length_cv_frac=0.005)
    assert balls.std() == pytest.approx(found.cv_frac, rel=0.01)
    assert np.corrcoef(balls.T)[0, 1] == pytest.approx(found.intraclass, abs=0.01)


@given(cone=CVS, within=CVS, length=CVS, moisture=CVS)
def test_variances_add(cone, within, length, moisture) -> None:
    found = ball_mass_spread(
        cone, within_cv_frac=within, length_cv_frac=length, moisture_cv_frac=moisture
    )
    assert found.cv_frac**2 == pytest.approx(
        cone**2 + within**2 + length**2 + moisture**2, abs=1e-15
    )
    assert 0.0 <= found.intraclass <= 1.0


def test_no_spread_shares_nothing() -> None:
    assert ball_mass_spread(0.0).intraclass == 0.0


@given(part=st.floats(0.0, 1.0))
def test_a_tie_never_adds_cone_variance_and_halves_it_at_most(part: float) -> None:
    left = cone_variance_across_tie(part)
    assert 0.5 <= left <= 1.0
    assert left == pytest.approx(cone_variance_across_tie(1.0 - part), abs=1e-15)


def test_half_and_half_divides_the_standard_deviation_by_root_two() -> None:
    assert math.sqrt(cone_variance_across_tie(0.5)) == pytest.approx(1.0 / math.sqrt(2.0))
    assert cone_variance_across_tie(1.0) == 1.0


def test_ten_cones_of_one_ball() -> None:
    """Spreads of 2.0 and 1.5 % and ten cones give a standard error of 0.79 %."""
    assert standard_error_frac(0.020, 0.015, 10, 1) == pytest.approx(0.0079, abs=5e-5)


def test_ten_balls_of_one_cone_are_not_ten_samples() -> None:
    assert effective_sample_size(1, 10, 0.81) == pytest.approx(1.206, abs=5e-4)
    assert effective_sample_size(10, 1, 0.81) == 10.0
    one_cone = standard_error_frac(0.018, 0.0088, 1, 10)
    assert one_cone > 0.9 * standard_error_frac(0.018, 0.0088, 1, 1)


@given(
    between=st.floats(0.001, 0.05),
    within=st.floats(0.001, 0.05),
    cones=st.integers(1, 50),
    balls=st.integers(1, 50),
)
def test_effective_size_and_standard_error_tell_one_story(between, within, cones, balls) -> None:
    spread = math.hypot(between, within)
    worth = effective_sample_size(cones, balls, (between / spread) ** 2)
    assert spread / math.sqrt(worth) == pytest.approx(
        standard_error_frac(between, within, cones, balls), rel=1e-9
    )


@given(
    between=st.floats(0.001, 0.05),
    within=st.floats(0.0, 0.05),
    wanted=st.floats(0.001, 0.05),
    balls=st.integers(1, 10),
)
def test_the_cones_asked_for_are_just_enough(between, within, wanted, balls) -> None:
    cones = cones_for_standard_error(between, within, wanted, balls_per_cone=balls)
    assert standard_error_frac(between, within, cones, balls) <= wanted * (1 + 1e-9)
    if cones > 1:
        assert standard_error_frac(between, within, cones - 1, balls) > wanted


@pytest.mark.parametrize(("effect", "cones"), [(0.5, 34), (1.0, 10)])
def test_cones_to_detect_at_textbook_sizes(effect: float, cones: int) -> None:
    """One-sample t test, 5 % two-sided, power 80 %: 34 for half an sd, 10 for one sd."""
    assert cones_to_detect(0.02, 0.0, effect * 0.02) == cones


def test_the_power_is_there_when_drawn_at_random() -> None:
    cones = cones_to_detect(0.018, 0.009, 0.01)
    draw = np.random.default_rng(5)
    samples = draw.normal(0.01, math.hypot(0.018, 0.009), (20_000, cones))
    statistic = samples.mean(1) / samples.std(1, ddof=1) * math.sqrt(cones)
    limits = np.quantile(np.abs(draw.standard_t(cones - 1, 400_000)), 0.95)
    assert np.mean(np.abs(statistic) > limits) == pytest.approx(0.80, abs=0.025)


def test_the_large_sample_form_joins_the_exact_one() -> None:
    spread = 0.02
    below = cones_to_detect(spread, 0.0, spread * 0.0890)
    above = cones_to_detect(spread, 0.0, spread * 0.0882)
    assert below < 1000 < above
    assert above - below < 25


def test_a_lot_without_spread_needs_two_cones() -> None:
    assert cones_to_detect(0.0, 0.0, 0.01) == 2


@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: ball_mass_spread(-0.01), "between cones"),
        (lambda: cone_variance_across_tie(1.5), "part of a ball"),
        (lambda: standard_error_frac(0.02, 0.01, 0, 1), "cones"),
        (lambda: effective_sample_size(1, 10, 1.2), "correlation"),
        (lambda: cones_for_standard_error(0.02, 0.01, 0.0), "standard error"),
        (lambda: cones_to_detect(0.02, 0.01, 0.01, power=1.0), "power"),
        (lambda: cones_to_detect(0.02, 0.01, 0.01, false_alarm=0.5, power=0.3), "power above"),
        (lambda: cones_to_detect(0.02, 0.01, math.nan), "difference"),
    ],
)
def test_what_cannot_be_meant_is_refused(call, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        call()
