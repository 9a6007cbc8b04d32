"""Formulas of length, growth and angle: against each other, their limits and their derivatives."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.wind.closed_forms import (
    coil_angle_deg,
    cylinder_growth,
    gain_mm,
    helix_coil_mm,
    helix_package_diameter_mm,
    ribbon_diameter_mm,
    slip_on_sphere,
    sphere_growth,
    tilted_coil_on_cylinder_mm,
    tilted_coil_on_sphere_mm,
    traverse_speed_m_min,
    wind_speeds,
)
from clew.faults import BadInput

CORES = st.floats(0.0, 100.0)
AREAS = st.floats(0.1, 20.0)
TURNS = st.floats(1.0, 5000.0)


@given(CORES, AREAS, TURNS)
def test_sphere_turns_and_length_undo_each_other(core, area, turns):
    """Growing by turns and growing by the length those turns laid is the same."""
    by_turns = sphere_growth(core, area, turns=turns)
    by_length = sphere_growth(core, area, length_m=by_turns.length_m)
    assert by_length.turns == pytest.approx(turns, rel=1e-6)
    assert by_length.radius_mm == pytest.approx(by_turns.radius_mm, rel=1e-9)


@given(CORES, st.floats(5.0, 200.0), AREAS, TURNS)
def test_cylinder_turns_and_length_undo_each_other(core, width, area, turns):
    """Growing by turns and growing by the length those turns laid is the same."""
    by_turns = cylinder_growth(core, width, area, turns=turns)
    by_length = cylinder_growth(core, width, area, length_m=by_turns.length_m)
    assert by_length.turns == pytest.approx(turns, rel=1e-6)


@given(CORES, AREAS, TURNS)
def test_volume_of_a_sphere_is_length_times_area(core, area, turns):
    """What was wound is between the core and the surface."""
    grown = sphere_growth(core, area, turns=turns)
    shell = 4.0 / 3.0 * math.pi * (grown.radius_mm**3 - core**3)
    assert 1000.0 * grown.length_m * area == pytest.approx(shell, rel=1e-9)


@pytest.mark.parametrize(
    ("grow", "more"), [(sphere_growth, {}), (cylinder_growth, {"width_mm": 60.0})]
)
def test_elasticities_are_the_slopes_of_the_growth(grow, more):
    """The stated elasticities agree with a small change of area and of turns."""
    core, area, turns, step = 20.0, 2.0, 800.0, 1e-5
    base = grow(core, area_mm2=area, turns=turns, **more)
    bulky = grow(core, area_mm2=area * (1 + step), turns=turns, **more)
    longer = grow(core, area_mm2=area, turns=turns * (1 + step), **more)
    assert (bulky.length_m / base.length_m - 1) / step == pytest.approx(
        base.elasticity_to_area, abs=1e-4
    )
    assert (longer.length_m / base.length_m - 1) / step == pytest.approx(
        base.elasticity_to_turns, abs=1e-4
    )


def test_elasticity_is_a_half_without_a_core_and_nothing_at_first():
    """Without a core bulk counts by half on a sphere; on a bare core it does not count yet."""
    assert sphere_growth(0.0, 5.0, length_m=200.0).elasticity_to_area == pytest.approx(0.5)
    assert sphere_growth(50.0, 5.0, length_m=0.01).elasticity_to_area == pytest.approx(0, abs=1e-4)
    assert cylinder_growth(0.0, 60.0, 5.0, length_m=9.0).elasticity_to_area == pytest.approx(1.0)


def test_a_coil_square_to_the_axis_is_the_circumference():
    """Helix, tilted coil on a cylinder and on a sphere come down to the circle."""
    circle = 2.0 * math.pi * 40.0
    assert helix_coil_mm(80.0, 0.0) == pytest.approx(circle)
    assert tilted_coil_on_cylinder_mm(40.0, 0.0) == pytest.approx(circle)
    assert tilted_coil_on_sphere_mm(40.0, 35.0, 1e12) == pytest.approx(circle)


@given(st.floats(0.0, 85.0), st.floats(10.0, 1e4), st.sampled_from([1.0, -1.0]))
def test_coil_on_a_turning_sphere_follows_its_first_order(tilt, size, way):
    """To first order in 1/r a turn is 2 pi R (1 - cos(b)/r), shorter when both turn one way."""
    ratio = way * size
    first = 2.0 * math.pi * (1.0 - math.cos(math.radians(tilt)) / ratio)
    found = tilted_coil_on_sphere_mm(1.0, tilt, ratio)
    assert found == pytest.approx(first, abs=4.0 / ratio**2)


def test_coil_square_on_a_turning_sphere_is_exact():
    """Without tilt a turn is 2 pi R (1 - 1/r) exactly, either way round."""
    for ratio in (3.7, 20.3, -20.3, 1.0):
        exact = 2.0 * math.pi * 25.0 * (1.0 - 1.0 / ratio)
        assert tilted_coil_on_sphere_mm(25.0, 0.0, ratio) == pytest.approx(exact, abs=1e-9)


def test_friction_needed_on_a_sphere():
    """A resting ball needs none; at 30 degrees 20.3 needs 0.053 and 3.7 needs 0.41."""
    assert slip_on_sphere(60.0, 1e12) == pytest.approx(0.0, abs=1e-11)
    assert slip_on_sphere(30.0, 20.3) == pytest.approx(0.053, abs=5e-4)
    assert slip_on_sphere(30.0, 3.7) == pytest.approx(0.41, abs=5e-3)
    assert slip_on_sphere(0.0, 1.0) == math.inf


def test_package_diameter_by_volume():
    """No yarn leaves the bare diameter; the volume of a cylinder gives that cylinder."""
    assert helix_package_diameter_mm(30.0, 70.0, 0.0) == pytest.approx(30.0)
    tube = math.pi / 4.0 * (80.0**2 - 30.0**2) * 70.0
    assert helix_package_diameter_mm(30.0, 70.0, tube) == pytest.approx(80.0)


@given(st.floats(1.0, 2000.0), st.floats(0.0, 89.0))
def test_angle_and_traverse_undo_each_other(surface, angle):
    """The traverse speed found for an angle gives that angle back, and Pythagoras the net speed."""
    traverse = traverse_speed_m_min(surface, angle)
    speeds = wind_speeds(surface, traverse)
    assert speeds.angle_of_wind_deg == pytest.approx(angle, abs=1e-9)
    assert speeds.net_m_min**2 == pytest.approx(surface**2 + traverse**2)
    assert coil_angle_deg(coil_angle_deg(angle)) == pytest.approx(angle)


@pytest.mark.parametrize(
    "call",
    [
        lambda: sphere_growth(-1.0, 1.0, turns=5.0),
        lambda: sphere_growth(1.0, 0.0, turns=5.0),
        lambda: sphere_growth(1.0, 1.0),
        lambda: cylinder_growth(1.0, 5.0, 1.0, turns=5.0, length_m=1.0),
        lambda: cylinder_growth(1.0, 0.0, 1.0, turns=5.0),
        lambda: cylinder_growth(1.0, 5.0, 1.0, length_m=math.nan),
        lambda: helix_coil_mm(0.0, 10.0),
        lambda: tilted_coil_on_cylinder_mm(10.0, 90.0),
        lambda: gain_mm(1.0, 0.0),
        lambda: ribbon_diameter_mm(5.0, 75.0, 0.0),
        lambda: wind_speeds(0.0, 1.0),
        lambda: wind_speeds(10.0, math.nan),
    ],
)
def test_what_has_no_answer_is_refused(call):
    """A size, angle or speed that makes no package is refused in words."""
    with pytest.raises(BadInput):
        call()
