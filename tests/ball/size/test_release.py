"""A ball off its mandrel: against Lame, against a second minimiser, and its trends."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from clew.ball.size.release import wind_on_mandrel, withdraw
from clew.ball.size.stress import Pack, RadialModulus, wound_stress
from clew.ball.size.stress_closed_forms import (
    bore_growth_lame,
    bore_strain_removed,
    isotropic_on_rigid_core,
    orthotropic_on_core,
)
from clew.faults import BadInput

SOFT = Pack(200.0, RadialModulus(c0_kpa=3.0, c1=20.0))


def test_isotropic_release_is_the_superposed_lame_solution():
    """With hoops that carry compression the bore closes by Lame, in second order of the laps."""
    pack = Pack(200.0, RadialModulus(200.0))
    pressure, _ = isotropic_on_rigid_core([15.0], 15.0, 45.0, 4.0, 0.0)
    exact = 30.0 - 2.0 * bore_growth_lame(15.0, 45.0, float(pressure[0]), 200.0, 0.0)
    errors = []
    for laps in (50, 100, 200):
        ball = wind_on_mandrel(30.0, 90.0, 4.0, pack, slack_modulus_kpa=200.0, laps=laps)
        errors.append(withdraw(ball).bore_diameter_mm - exact)
    assert abs(errors[1]) < 1e-4 * (30.0 - exact)
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)


def test_orthotropic_release_is_the_superposed_closed_form():
    pack = Pack(2500.0, RadialModulus(100.0))
    pressure, _ = orthotropic_on_core([25.0], 25.0, 50.0, 10.0, stiffness_root=5.0, core_slope=-1.0)
    strain = bore_strain_removed(
        25.0,
        50.0,
        float(pressure[0]),
        hoop_modulus=2500.0,
        stiffness_root=5.0,
        poisson_frac=0.0,
    )
    ball = wind_on_mandrel(50.0, 100.0, 10.0, pack, slack_modulus_kpa=2500.0, laps=400)
    assert withdraw(ball).bore_diameter_mm / 50.0 - 1.0 == pytest.approx(strain, rel=5e-4)


@pytest.mark.parametrize("c2", [0.0, 0.5])
def test_hoops_that_carry_compression_wind_like_the_differential_equation(c2):
    """Two ways that share nothing but the pack agree: finite elements and lap increments."""
    pack = Pack(2e4, RadialModulus(300.0, 3.0, c2))
    elements = wind_on_mandrel(30.0, 90.0, 60.0, pack, slack_modulus_kpa=2e4, laps=400)
    middle = 0.5 * (elements.radii_mm[1:] + elements.radii_mm[:-1])
    pressure, hoop = wound_stress(15.0, 45.0, 60.0, pack, laps=400).at(middle)
    assert elements.pressure_kpa == pytest.approx(pressure, abs=2e-3 * pressure.max())
    assert elements.hoop_kpa == pytest.approx(hoop, abs=2e-3 * 60.0)


def energy(shift, ball, hoop_modulus):
    """Stored energy of a released ball, written out anew (c2 = 0)."""
    radii, pack = ball.radii_mm, ball.pack
    middle, thick = 0.5 * (radii[1:] + radii[:-1]), np.diff(radii)
    strain = ball.base + 0.5 * (shift[1:] + shift[:-1]) / middle
    squeeze = -np.diff(shift) / thick
    modulus = np.where(strain > 0.0, hoop_modulus, ball.slack_modulus_kpa)
    c0, c1 = pack.radial.c0_kpa, pack.radial.c1
    pressed = np.maximum(squeeze, 0.0)
    stored = c0 / c1 * (np.expm1(c1 * pressed) / c1 - pressed)
    return float(np.sum(middle * thick * (0.5 * modulus * strain**2 + stored)))


@pytest.mark.parametrize("relaxation", [0.0, 0.4])
def test_a_plain_minimiser_finds_the_same_bore(relaxation):
    """The compiled Newton and a general minimiser of the energy agree on bore and energy."""
    ball = wind_on_mandrel(30.0, 92.0, 3.0, SOFT, laps=16)
    free = withdraw(ball, relaxation_frac=relaxation)
    hoop_modulus = 200.0 * (1.0 - relaxation)
    found = minimize(
        energy,
        ball.shift_mm,
        args=(ball, hoop_modulus),
        method="BFGS",
        options={"gtol": 1e-5, "maxiter": 5000},
    )
    assert 30.0 + 2.0 * found.x[0] == pytest.approx(free.bore_diameter_mm, abs=2e-3)


def test_hoops_that_only_pull_let_the_whole_ball_go_slack():
    """As the slack modulus goes to nothing every lap loses its tension, off the mandrel."""
    shares, pulls = [], []
    for slack in (3.0, 0.3, 0.03, 0.003):
        ball = wind_on_mandrel(30.0, 92.0, 3.0, SOFT, slack_modulus_kpa=slack)
        free = withdraw(ball)
        shares.append(free.slack_frac)
        pulls.append(float(np.maximum(free.hoop_kpa, 0.0) @ np.diff(ball.radii_mm)))
    assert shares == sorted(shares)
    assert shares[-1] > 0.95
    assert all(later < 0.3 * earlier for earlier, later in pairwise(pulls))


@settings(max_examples=30, deadline=None)
@given(
    st.floats(0.1, 300.0),
    st.floats(2.0, 6.0),
    st.floats(-1.0, 3.5),
    st.floats(0.0, 20.0),
    st.floats(0.0, 0.9),
)
def test_a_free_ball_is_in_balance_and_nothing_pulls_apart(hoop, ratio, soft, c1, relaxation):
    """Hoop stress over the free wall sums to nothing; on the mandrel to bore times pressure."""
    pack = Pack(100.0 * hoop, RadialModulus(10.0**soft, c1))
    ball = wind_on_mandrel(30.0, 30.0 * ratio, hoop, pack)
    free = withdraw(ball, relaxation_frac=relaxation)
    thick = np.diff(ball.radii_mm)
    wall = hoop * (ball.radii_mm[-1] - ball.radii_mm[0])
    assert abs(free.hoop_kpa @ thick) < 1e-5 * wall or free.bore_closed
    assert ball.hoop_kpa @ thick > 0.0
    assert free.pressure_kpa.min() >= 0.0
    assert 0.0 <= free.bore_diameter_mm <= 30.0
    assert withdraw(ball).slack_frac >= ball.slack_frac - 1e-9


@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 100.0), st.floats(1.05, 2.0))
def test_more_tension_closes_the_bore_more(stress, more):
    pack = Pack(2e4, RadialModulus(20.0, 3.0))
    bores = [
        withdraw(wind_on_mandrel(30.0, 90.0, s, pack, laps=60)).bore_diameter_mm
        for s in (stress, stress * more)
    ]
    assert bores[1] <= bores[0]


def test_rest_opens_the_bore_and_widens_the_ball():
    """The more tension the strand loses, the less it squeezes: outside and bore grow."""
    ball = wind_on_mandrel(30.0, 92.0, 60.0, Pack(2e4, RadialModulus(20.0, 3.0)))
    states = [withdraw(ball, relaxation_frac=share) for share in (0.0, 0.2, 0.5, 0.8)]
    outsides = [state.outer_diameter_mm for state in states]
    bores = [state.bore_diameter_mm for state in states]
    assert outsides == sorted(outsides)
    assert bores == sorted(bores)


def test_a_bore_that_would_pass_itself_is_shut():
    free = withdraw(wind_on_mandrel(10.0, 90.0, 60.0, Pack(600.0, RadialModulus(5.0, 3.0))))
    assert free.bore_closed
    assert free.bore_diameter_mm == 0.0
    assert np.all(np.isfinite(free.hoop_kpa))


def test_no_tension_changes_nothing():
    free = withdraw(wind_on_mandrel(30.0, 92.0, 0.0, SOFT))
    assert free.bore_diameter_mm == pytest.approx(30.0)
    assert free.outer_diameter_mm == pytest.approx(92.0)


@pytest.mark.parametrize(
    ("call", "key"),
    [
        (lambda: wind_on_mandrel(0.0, 92.0, 3.0, SOFT), "bore_radius_mm"),
        (
            lambda: wind_on_mandrel(30.0, 92.0, 3.0, SOFT, slack_modulus_kpa=0.0),
            "slack_modulus_kpa",
        ),
        (
            lambda: wind_on_mandrel(30.0, 92.0, 3.0, SOFT, slack_modulus_kpa=1e9),
            "slack_modulus_kpa",
        ),
        (
            lambda: withdraw(wind_on_mandrel(30.0, 92.0, 3.0, SOFT), relaxation_frac=1.0),
            "relaxation_frac",
        ),
    ],
)
def test_what_cannot_be_released_is_refused(call, key):
    with pytest.raises(BadInput) as refused:
        call()
    assert refused.value.faults[0].key == key
