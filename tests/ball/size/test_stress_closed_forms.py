"""The closed forms keep the balance of forces and their boundary conditions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.size.stress_closed_forms import (
    bore_growth_lame,
    bore_pressure_lame,
    bore_pressure_removed,
    bore_strain_removed,
    isotropic_on_free_bore,
    isotropic_on_rigid_core,
    orthotropic_on_core,
)

AT = np.linspace(26.0, 49.0, 8)
STEP = 1e-4


def hoop_by_balance(form):
    """Hoop stress -(r P)' by central differences of a form's own pressure."""
    above, below = form(AT + STEP)[0], form(AT - STEP)[0]
    return -((AT + STEP) * above - (AT - STEP) * below) / (2.0 * STEP)


@pytest.mark.parametrize(
    "form",
    [
        lambda r: isotropic_on_rigid_core(r, 25.0, 50.0, 1.0, 0.3),
        lambda r: isotropic_on_free_bore(r, 25.0, 50.0, 1.0),
        lambda r: orthotropic_on_core(r, 25.0, 50.0, 1.0, stiffness_root=5.0, core_slope=0.01),
        lambda r: bore_pressure_lame(r, 25.0, 50.0, 1.0),
        lambda r: bore_pressure_removed(r, 25.0, 50.0, 1.0, 5.0),
    ],
)
def test_hoop_stress_balances_the_pressure(form):
    """Hoop = -(P + r P') in every closed form."""
    assert form(AT)[1] == pytest.approx(hoop_by_balance(form), abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 0.45), st.floats(1.2, 6.0))
def test_orthotropic_form_holds_the_isotropic_one(poisson, ratio):
    """At equal moduli on a rigid core the integral form is the isotropic closed form."""
    at = np.linspace(10.0, 10.0 * ratio, 7)
    general = orthotropic_on_core(
        at, 10.0, 10.0 * ratio, 3.0, stiffness_root=1.0, core_slope=poisson - 1.0
    )
    plain = isotropic_on_rigid_core(at, 10.0, 10.0 * ratio, 3.0, poisson)
    assert np.array(general) == pytest.approx(np.array(plain), abs=1e-10)


@settings(max_examples=30, deadline=None)
@given(st.floats(1.2, 6.0), st.floats(0.1, 50.0))
def test_removal_at_equal_moduli_is_lame_with_the_sign_turned(ratio, pressure):
    at = np.linspace(10.0, 10.0 * ratio, 7)
    removed = np.array(bore_pressure_removed(at, 10.0, 10.0 * ratio, pressure, 1.0))
    applied = np.array(bore_pressure_lame(at, 10.0, 10.0 * ratio, pressure))
    assert removed == pytest.approx(-applied, abs=1e-10 * pressure)
    strain = bore_strain_removed(
        10.0,
        10.0 * ratio,
        pressure,
        hoop_modulus=200.0,
        stiffness_root=1.0,
        poisson_frac=0.3,
    )
    growth = bore_growth_lame(10.0, 10.0 * ratio, pressure, 200.0, 0.3)
    assert strain == pytest.approx(-growth / 10.0, rel=1e-12)


def test_a_very_stiff_hoop_does_not_overflow():
    found = orthotropic_on_core(
        [10.0, 40.0, 80.0], 10.0, 80.0, 1.0, stiffness_root=400.0, core_slope=-1.0
    )
    assert np.all(np.isfinite(found))
