"""Wound stress: the table of worked numbers, met by closed form and by the lap-by-lap sum."""

import numpy as np
import pytest

from clew.ball.size.stress import Pack, RadialModulus, wound_stress
from clew.ball.size.stress_closed_forms import (
    bore_pressure_removed,
    bore_strain_removed,
    isotropic_on_free_bore,
    isotropic_on_rigid_core,
    orthotropic_on_core,
)

BORE, OUTER = 25.0, 50.0
PRINTED = 5.0000001e-7
"""Half of the last printed digit, and a hair for the computer's own rounding."""

RIGID = {
    "radii": [25.0, 30.0, 37.5, 45.0, 50.0],
    "pressure": [0.832158, 0.570366, 0.301834, 0.106865, 0.0],
    "hoop": [0.750353, 0.740098, 0.814736, 0.923594, 1.0],
}
FREE = {
    "radii": [30.0, 37.5, 45.0],
    "pressure": [0.293271, 0.243186, 0.100985],
    "hoop": [-0.626322, 0.367717, 0.808849],
}
STIFF = {
    "radii": [25.0, 27.5, 30.0, 37.5, 45.0],
    "pressure": [0.332104, 0.265211, 0.232952, 0.172055, 0.086032],
    "hoop": [0.664575, 0.214434, 0.060830, 0.159310, 0.571435],
}


def assert_printed(found, table):
    """Hold pressure and hoop stress to the printed digits."""
    assert found[0] == pytest.approx(np.array(table["pressure"]), abs=PRINTED)
    assert found[1] == pytest.approx(np.array(table["hoop"]), abs=PRINTED)


def by_laps(table, pack, core):
    """Carry the lap-by-lap sum to no lap thickness, from 400 and 800 laps of second order."""
    coarse, fine = (
        np.array(
            wound_stress(BORE, OUTER, 1.0, pack, core_modulus_kpa=core, laps=laps).at(
                table["radii"]
            )
        )
        for laps in (400, 800)
    )
    return fine + (fine - coarse) / 3.0


@pytest.mark.outside(
    document="Isotropic roll wound on a rigid core, closed form by superposing Lame's solution",
    edition="worked numbers, a 25 mm, b 50 mm, nu 0.3",
    section="pressure and hoop stress at five radii",
    mark="COMPUTED",
)
@pytest.mark.parametrize("way", ["closed form", "laps"])
def test_isotropic_on_a_rigid_core(way):
    if way == "closed form":
        found = isotropic_on_rigid_core(RIGID["radii"], BORE, OUTER, 1.0, 0.3)
    else:
        found = by_laps(RIGID, Pack(1.0, RadialModulus(1.0), 0.3), np.inf)
    assert_printed(found, RIGID)


@pytest.mark.outside(
    document="Isotropic roll wound on a free bored core of itself, closed form by superposition",
    edition="worked numbers, a 25 mm, b 50 mm",
    section="radial and hoop stress at three radii",
    mark="COMPUTED",
)
@pytest.mark.parametrize("way", ["closed form", "laps"])
def test_isotropic_on_a_bored_core_of_itself(way):
    if way == "closed form":
        found = isotropic_on_free_bore(FREE["radii"], BORE, OUTER, 1.0)
    else:
        found = by_laps(FREE, Pack(1.0, RadialModulus(1.0)), 1e-12)
    assert_printed(found, FREE)


@pytest.mark.outside(
    document="Hakiel, nonlinear model for wound roll stresses: its equations with constant moduli",
    edition="1987, equations from memory; worked numbers, g 5, nu 0.01, E_core = E_t",
    section="pressure and hoop stress at five radii",
    mark="COMPUTED",
)
@pytest.mark.parametrize("way", ["closed form", "laps"])
def test_hoop_modulus_twenty_five_times_the_radial(way):
    if way == "closed form":
        found = orthotropic_on_core(
            STIFF["radii"], BORE, OUTER, 1.0, stiffness_root=5.0, core_slope=0.01
        )
    else:
        found = by_laps(STIFF, Pack(25.0, RadialModulus(1.0), 0.01), 25.0)
    assert_printed(found, STIFF)


@pytest.mark.outside(
    document="First-order lap-by-lap finite differences of the same equations",
    edition="worked numbers at 100 and 800 laps, g 5",
    section="P at 25 mm .33191 and .33207",
    mark="COMPUTED",
)
def test_the_second_order_sum_is_nearer_than_first_order_differences():
    """At 100 laps it is nearer than their 100, at 800 nearer than their 800."""
    exact = STIFF["pressure"][0]
    for laps, first_order in ((100, 0.33191), (800, 0.33207)):
        pack = Pack(25.0, RadialModulus(1.0), 0.01)
        found = wound_stress(BORE, OUTER, 1.0, pack, core_modulus_kpa=25.0, laps=laps)
        assert abs(found.pressure_kpa[0] - exact) < abs(first_order - exact)
        assert found.pressure_kpa[0] == pytest.approx(first_order, abs=2.5e-4)


@pytest.mark.outside(
    document="Balance of forces over the wall of a roll",
    edition="exact",
    section="Int s_t dr = a P(a); mean hoop stress 0 off the core",
    mark="DERIVED",
)
@pytest.mark.parametrize("root", [1.0, 5.0])
def test_hoop_stress_over_the_wall(root):
    points, weights = np.polynomial.legendre.leggauss(60)
    radii = BORE + (OUTER - BORE) * 0.5 * (points + 1.0)
    weights = 0.5 * (OUTER - BORE) * weights
    slope = 0.3 - 1.0
    _, hoop = orthotropic_on_core(radii, BORE, OUTER, 1.0, stiffness_root=root, core_slope=slope)
    core, _ = orthotropic_on_core([BORE], BORE, OUTER, 1.0, stiffness_root=root, core_slope=slope)
    assert weights @ hoop == pytest.approx(BORE * core[0], rel=1e-12)
    _, change = bore_pressure_removed(radii, BORE, OUTER, float(core[0]), root)
    assert weights @ (hoop + change) == pytest.approx(0.0, abs=1e-11)


@pytest.mark.outside(
    document="Mandrel removal by superposing a bore pressure of -P(a)",
    edition="worked numbers, a 25 mm, b 50 mm, rigid core",
    section="bore hoop .996 to -.8832, strain -.07533; .7504 to -.6366, strain -1.6366",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("root", "poisson", "before", "after", "strain"),
    [(5.0, 0.01, "0.996", "-0.8832", "-0.07533"), (1.0, 0.3, "0.7504", "-0.6366", "-1.6366")],
)
def test_bore_after_the_mandrel_has_gone(root, poisson, before, after, strain):
    """Strain in units of winding stress over radial modulus, for an isotropic pack over E."""
    pressure, hoop = orthotropic_on_core(
        [BORE], BORE, OUTER, 1.0, stiffness_root=root, core_slope=poisson - 1.0
    )
    _, change = bore_pressure_removed([BORE], BORE, OUTER, float(pressure[0]), root)
    moved = bore_strain_removed(
        BORE,
        OUTER,
        float(pressure[0]),
        hoop_modulus=root**2,
        stiffness_root=root,
        poisson_frac=poisson,
    )
    for found, printed in (
        (float(hoop[0]), before),
        (float(hoop[0] + change[0]), after),
        (moved, strain),
    ):
        digits = len(printed.split(".")[1])
        assert found == pytest.approx(float(printed), abs=0.5 * 10.0**-digits)
