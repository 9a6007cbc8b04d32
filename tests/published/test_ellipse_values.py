"""Perimeters of ellipses to thirty digits, by a series that is not ours."""

import math

import pytest

from clew.ball.wind.closed_forms import tilted_coil_on_cylinder_mm


@pytest.mark.outside(
    document="G. W. Barbosa, Hypergeometric function, Perimeter of an Ellipse and others",
    edition="forum article, 10 December 2019",
    section="Gauss-Kummer series, half axes 8 and 9, and 2 and 3",
    mark="READ",
)
@pytest.mark.parametrize(
    ("short", "long", "perimeter"),
    [(8.0, 9.0, 53.45328500297187553780), (2.0, 3.0, 15.86543958929058979133)],
)
def test_a_tilted_coil_is_the_ellipse_of_the_series(short, long, perimeter):
    """A coil tilted by acos(short/long) on a cylinder of the short half axis."""
    tilt = math.degrees(math.acos(short / long))
    assert tilted_coil_on_cylinder_mm(short, tilt) == pytest.approx(perimeter, rel=1e-14)
