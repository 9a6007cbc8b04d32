"""Ramanujan's second formula for the perimeter of an ellipse."""

import math

import pytest

from clew.ball.wind.closed_forms import tilted_coil_on_cylinder_mm


@pytest.mark.outside(
    document="S. Ramanujan, Modular equations and approximations to pi",
    edition="1914, formula as printed in sci.math",
    section="pi (a + b)(1 + 3h/(10 + sqrt(4 - 3h))), h = ((a - b)/(a + b))^2",
    mark="READ",
)
@pytest.mark.parametrize(
    ("tilt", "perimeter", "within"),
    [(15.0, None, 1e-12), (30.0, 338.896, 1e-9), (45.0, 382.020, 1e-8), (60.0, None, 1e-5)],
)
def test_a_tilted_coil_agrees_with_ramanujan(tilt, perimeter, within):
    """Radius 50 mm; the formula is the nearer the smaller the tilt. Lengths as worked out by it."""
    long = 50.0 / math.cos(math.radians(tilt))
    h = ((long - 50.0) / (long + 50.0)) ** 2
    ramanujan = math.pi * (long + 50.0) * (1.0 + 3.0 * h / (10.0 + math.sqrt(4.0 - 3.0 * h)))
    found = tilted_coil_on_cylinder_mm(50.0, tilt)
    assert found == pytest.approx(ramanujan, rel=within)
    if perimeter is not None:
        assert found == pytest.approx(perimeter, abs=0.0005)
