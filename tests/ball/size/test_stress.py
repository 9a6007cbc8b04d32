"""The wound cylinder, lap by lap: convergence, balance of forces, a naive second way."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from clew.ball.size.stress import Pack, RadialModulus, wound_stress
from clew.ball.size.stress_closed_forms import isotropic_on_rigid_core, orthotropic_on_core
from clew.ball.size.stress_kernel import wound_moments
from clew.faults import BadInput

SOFT = Pack(2e4, RadialModulus(c0_kpa=300.0, c1=3.0))


def naive_laps(bore, outer, stress, pack, laps):
    """Equal laps, central differences in the radius, first order: the plain textbook way."""
    thick = (outer - bore) / laps
    radii = bore + thick * np.arange(laps + 1)
    pressure = np.zeros(laps + 1)
    for top in range(1, laps + 1):
        r = radii[: top + 1]
        radial = pack.radial.c0_kpa + pack.radial.c1 * pressure[: top + 1]
        ratio = pack.hoop_modulus_kpa / radial
        lower, upper = r**2 / thick**2 - 1.5 * r / thick, r**2 / thick**2 + 1.5 * r / thick
        main = -2.0 * r**2 / thick**2 - (ratio - 1.0)
        # rigid core: r P' = (nu - 1) P, with the border before the first one eliminated
        slope = pack.poisson_frac - 1.0
        main[0] -= lower[0] * 2.0 * thick * slope / r[0]
        upper[0] += lower[0]
        main[top], lower[top] = 1.0, 0.0
        right = np.zeros(top + 1)
        right[top] = stress * thick / r[top]
        bands = np.zeros((3, top + 1))
        bands[0, 1:], bands[1], bands[2, :-1] = upper[:-1], main, lower[1:]
        pressure[: top + 1] += solve_banded((1, 1), bands, right)
    return radii, pressure


def test_the_naive_way_goes_to_the_same_pressures():
    """Naive laps are first order; carried to no lap thickness they meet the second-order sum."""
    at = [15.0, 22.0, 30.0, 40.0]
    found = []
    for laps in (150, 300):
        radii, pressure = naive_laps(15.0, 45.0, 60.0, SOFT, laps)
        found.append(np.interp(at, radii, pressure))
    limit = 2.0 * found[1] - found[0]
    pressure, _ = wound_stress(15.0, 45.0, 60.0, SOFT, laps=400).at(at)
    assert pressure == pytest.approx(limit, rel=3e-3)
    assert found[1] != pytest.approx(limit, rel=3e-3)


@pytest.mark.parametrize("root", [1.0, 5.0, 12.0])
def test_error_falls_as_the_square_of_the_lap(root):
    """Twice the laps, a quarter of the error, in pressure and in hoop stress."""
    pack = Pack(root**2, RadialModulus(1.0), 0.1)
    at = np.linspace(25.0, 50.0, 12)
    exact = orthotropic_on_core(at, 25.0, 50.0, 1.0, stiffness_root=root, core_slope=-0.9)
    errors = []
    for laps in (100, 200, 400):
        found = wound_stress(25.0, 50.0, 1.0, pack, laps=laps).at(at)
        errors.append([np.abs(f - e).max() for f, e in zip(found, exact, strict=True)])
    ratios = np.array(errors[:-1]) / np.array(errors[1:])
    assert np.all((ratios > 3.5) & (ratios < 4.6)), ratios


def test_stiffening_pack_is_second_order_too():
    """Differences between 100, 200, 400 and 800 laps fall by four, with the modulus following P."""
    at = [15.0, 20.0, 30.0, 44.0]
    pressures = [
        wound_stress(15.0, 46.0, 60.0, SOFT, laps=laps).at(at)[0] for laps in (100, 200, 400, 800)
    ]
    steps = np.abs(np.diff(pressures, axis=0))
    assert np.all((steps[:-1] / steps[1:] > 3.3) & (steps[:-1] / steps[1:] < 4.7))


@settings(max_examples=40, deadline=None)
@given(
    st.floats(1.05, 6.0),
    st.floats(1.0, 200.0),
    st.floats(10.0, 1e4),
    st.floats(0.0, 20.0),
    st.floats(0.0, 0.4),
)
def test_forces_over_the_wall_balance_the_core(ratio, stress, c0, c1, poisson):
    """Hoop stress summed over the wall is bore radius times pressure on the core."""
    pack = Pack(2e4, RadialModulus(c0, c1), poisson)
    found = wound_stress(20.0, 20.0 * ratio, stress, pack, laps=400)
    points, weights = np.polynomial.legendre.leggauss(2)
    low, high = found.radii_mm[:-1, None], found.radii_mm[1:, None]
    inner = low + (high - low) * 0.5 * (points + 1.0)
    _, hoop = found.at(inner.ravel())
    total = float((hoop.reshape(inner.shape) * weights * 0.5 * (high - low)).sum())
    load = 20.0 * found.pressure_kpa[0]
    assert total == pytest.approx(load, abs=1e-4 * stress * 20.0 * (ratio - 1.0))


@settings(max_examples=40, deadline=None)
@given(st.floats(1.1, 5.0), st.floats(1.0, 200.0), st.floats(10.0, 1e4), st.floats(0.0, 20.0))
def test_pressure_is_never_negative_and_ends_at_nothing(ratio, stress, c0, c1):
    found = wound_stress(20.0, 20.0 * ratio, stress, Pack(2e4, RadialModulus(c0, c1)))
    assert np.all(found.pressure_kpa >= -1e-12 * stress)
    assert found.pressure_kpa[-1] == 0.0
    assert found.hoop_kpa[-1] == pytest.approx(stress, rel=1e-12)


def test_a_row_of_equal_stresses_is_one_stress():
    one = wound_stress(15.0, 45.0, 60.0, SOFT)
    row = wound_stress(15.0, 45.0, [60.0] * 7, SOFT)
    assert row.pressure_kpa == pytest.approx(one.pressure_kpa, rel=1e-13)


def test_tension_that_tapers_presses_less_outside():
    taper = wound_stress(15.0, 45.0, np.linspace(60.0, 20.0, 30), SOFT)
    even = wound_stress(15.0, 45.0, 60.0, SOFT)
    assert taper.at([40.0])[0][0] < 0.6 * even.at([40.0])[0][0]


def test_constant_winding_stress_scales_a_pack_of_constant_moduli():
    pack = Pack(2e4, RadialModulus(300.0))
    once, twice = (wound_stress(15.0, 45.0, s, pack) for s in (30.0, 60.0))
    assert twice.pressure_kpa == pytest.approx(2.0 * once.pressure_kpa, rel=1e-12)


def test_a_quadratic_rise_of_the_modulus_is_used():
    """With c2 the pack is stiffer where it is pressed, and so presses more on the core."""
    plain = wound_stress(15.0, 45.0, 60.0, SOFT)
    rising = wound_stress(15.0, 45.0, 60.0, Pack(2e4, RadialModulus(300.0, 3.0, 0.5)))
    assert rising.pressure_kpa[0] > 1.01 * plain.pressure_kpa[0]


def test_a_softer_core_is_pressed_less():
    loads = [
        wound_stress(15.0, 45.0, 60.0, SOFT, core_modulus_kpa=core).pressure_kpa[0]
        for core in (1e2, 1e4, 1e6, np.inf)
    ]
    assert loads == sorted(loads)
    assert loads[0] < 0.2 * loads[-1]


def test_isotropic_pack_meets_its_closed_form_at_two_hundred_laps():
    pack = Pack(1.0, RadialModulus(1.0), 0.3)
    at = np.linspace(25.0, 50.0, 9)
    pressure, hoop = wound_stress(25.0, 50.0, 1.0, pack).at(at)
    exact_pressure, exact_hoop = isotropic_on_rigid_core(at, 25.0, 50.0, 1.0, 0.3)
    assert pressure == pytest.approx(exact_pressure, abs=1e-6)
    assert hoop == pytest.approx(exact_hoop, abs=1e-6)


@pytest.mark.parametrize(
    ("call", "key"),
    [
        (lambda: wound_stress(0.0, 45.0, 60.0, SOFT), "bore_radius_mm"),
        (lambda: wound_stress(15.0, 15.0, 60.0, SOFT), "outer_radius_mm"),
        (lambda: wound_stress(15.0, 45.0, -1.0, SOFT), "winding_stress_kpa"),
        (lambda: wound_stress(15.0, 45.0, [], SOFT), "winding_stress_kpa"),
        (lambda: wound_stress(15.0, 45.0, [1.0, np.nan], SOFT), "winding_stress_kpa"),
        (lambda: wound_stress(15.0, 45.0, 60.0, SOFT, core_modulus_kpa=0.0), "core_modulus_kpa"),
        (lambda: wound_stress(15.0, 45.0, 60.0, SOFT, laps=3), "laps"),
        (lambda: wound_stress(15.0, 45.0, 60.0, SOFT).at([46.0]), "radii_mm"),
        (lambda: RadialModulus(0.0), "c0_kpa"),
        (lambda: RadialModulus(1.0, -1.0), "c1"),
        (lambda: Pack(-1.0, RadialModulus(1.0)), "hoop_modulus_kpa"),
        (lambda: Pack(1.0, RadialModulus(1.0), 0.5), "poisson_frac"),
    ],
)
def test_what_cannot_be_wound_is_refused(call, key):
    with pytest.raises(BadInput) as refused:
        call()
    assert key in {fault.key for fault in refused.value.faults}


@pytest.mark.parametrize("laps", [1, 2, 7])
@pytest.mark.parametrize(
    "law", [(2e4, 300.0, 0.0, 0.0), (2e4, 50.0, 8.0, 0.3), (0.0, 1.0, 0.0, 0.0)]
)
def test_few_laps_are_those_of_solving_for_each(laps, law):
    """One set of equations a border wound, solved whole: each adds its share, half at both ends."""
    hoop, c0, c1, c2 = law
    radii, core = np.geomspace(15.0, 45.0, laps + 1), -0.7
    stress = np.linspace(90.0, 40.0, laps + 1)
    step = math.log(3.0) / laps
    total, before = np.zeros(laps + 1), np.zeros(laps + 1)
    total[0] = 0.5 * step * stress[0] * radii[0]
    before[0] = 2.0 * total[0]  # of a whole lap
    for top in range(1, laps + 1):
        pressure = (total + 0.5 * before) / radii
        ratio = hoop / (c0 + c1 * pressure + c2 * pressure**2)
        rows, known = np.eye(top + 1), np.zeros(top + 1)
        # on the core the border before the first stands at Q1 - 2 step Q'
        rows[0, :2] = -2.0 - step**2 * ratio[0] - 2.0 * step * core, 2.0
        for i in range(1, top):
            rows[i, i - 1 : i + 2] = 1.0, -2.0 - step**2 * ratio[i], 1.0
        known[top] = step * stress[top] * radii[top]
        share = np.linalg.solve(rows, known)
        before = np.zeros(laps + 1)
        before[: top + 1] = share if top < laps else 0.5 * share
        total += before
        total[top] -= 0.5 * before[top] if top < laps else before[top]
    found = wound_moments(radii, stress, np.array(law), core)
    assert found == pytest.approx(total, rel=1e-11, abs=1e-11)
