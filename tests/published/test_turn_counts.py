"""Worked turns, lengths and elasticities of balls taken as spheres, and lengths of single coils."""

import pytest

from clew.ball.wind.closed_forms import (
    cylinder_growth,
    helix_coil_mm,
    helix_package_diameter_mm,
    sphere_growth,
    tilted_coil_on_cylinder_mm,
)


@pytest.mark.outside(
    document="Growth of a sphere by coils laid evenly, R^2 = r0^2 + a n",
    edition="worked numbers, 500 tex at 0.10 g/cm3, 200 m",
    section="core 25 mm: 677.90 turns, R 63.36 mm, 295.03 mm a turn, elasticity 0.3494",
    mark="COMPUTED",
)
def test_sphere_on_a_core():
    """Turns, radius, mean turn and elasticity to their last digit."""
    grown = sphere_growth(25.0, 500.0 / 100.0, length_m=200.0)
    assert grown.turns == pytest.approx(677.90, abs=0.005)
    assert grown.radius_mm == pytest.approx(63.36, abs=0.005)
    assert 200e3 / grown.turns == pytest.approx(295.03, abs=0.005)
    assert grown.elasticity_to_area == pytest.approx(0.3494, abs=5e-5)
    assert sphere_growth(25.0, 5.0, turns=grown.turns).length_m == pytest.approx(200.0)


@pytest.mark.outside(
    document="Growth of a sphere by coils laid evenly, R^2 = a n",
    edition="worked numbers, 500 tex at 0.10 g/cm3, 200 m",
    section="no core: 769.67 turns, R 62.04 mm",
    mark="COMPUTED",
)
def test_sphere_without_a_core():
    """Turns and radius to their last digit."""
    grown = sphere_growth(0.0, 5.0, length_m=200.0)
    assert grown.turns == pytest.approx(769.67, abs=0.005)
    assert grown.radius_mm == pytest.approx(62.04, abs=0.006)


@pytest.mark.outside(
    document="Bulk drift at fixed turns on a sphere",
    edition="worked numbers, 500 tex at 0.10 g/cm3, core 25 mm, 677.90 turns",
    section="a yarn 10 % bulkier lays about 3.5 % more",
    mark="COMPUTED",
)
def test_bulk_drift_shows_as_length():
    """A tenth more area at the same turns lays 3.3 to 3.5 % more."""
    more = sphere_growth(25.0, 5.5, turns=677.90).length_m / 200.0 - 1.0
    assert more == pytest.approx(0.035, abs=0.002)


@pytest.mark.outside(
    document="Length of one coil of a helix, pi D/cos(theta)",
    edition="worked number, 100 mm, 20 deg",
    section="334.321 mm",
    mark="COMPUTED",
)
def test_helix_of_twenty_degrees():
    """To the last digit."""
    assert helix_coil_mm(100.0, 20.0) == pytest.approx(334.321, abs=0.0005)


@pytest.mark.outside(
    document="Length of a plane coil tilted on a cylinder, ellipse r, r/cos(t)",
    edition="worked numbers, radius 50 mm",
    section="30 deg 338.896 mm, 45 deg 382.020 mm",
    mark="COMPUTED",
)
@pytest.mark.parametrize(("tilt", "length"), [(30.0, 338.896), (45.0, 382.020)])
def test_tilted_coil_on_a_cylinder(tilt, length):
    """To the last digit."""
    assert tilted_coil_on_cylinder_mm(50.0, tilt) == pytest.approx(length, abs=0.0005)


@pytest.mark.outside(
    document="Helix package, D^2 = d^2 + 4 V/(pi w), and mean circumference, 2 L/(pi (D + d))",
    edition="worked numbers, mandrel 30 mm, width 80 mm, 200 m of 500 tex at 300 kg/m3",
    section="D 78.7729 mm, 1170.55 turns at no pitch",
    mark="COMPUTED",
)
def test_helix_package_of_200_m():
    """Diameter from the volume, and turns of the cylinder that grows to it, to the last digit."""
    area = 500.0 / 300.0
    assert helix_package_diameter_mm(30.0, 80.0, 200e3 * area) == pytest.approx(78.7729, abs=5e-5)
    grown = cylinder_growth(15.0, 80.0, area, length_m=200.0)
    assert grown.turns == pytest.approx(1170.55, abs=0.005)
    assert 2.0 * grown.radius_mm == pytest.approx(78.7729, abs=5e-5)
