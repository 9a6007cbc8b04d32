"""Turns on a turning ball and a turning cylinder, by quadrature of the path in space."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from clew.ball.wind.build import FINE, WindSetting, build
from clew.ball.wind.closed_forms import tilted_coil_on_sphere_mm


def point(t, tilt, ratio, radius_at):
    """The strand's point at a flyer angle, in the frame of the turning ball."""
    x, y, z = math.cos(tilt) * math.cos(t), math.sin(t), -math.sin(tilt) * math.cos(t)
    back = t / ratio
    turned = (
        x * math.cos(back) + y * math.sin(back),
        y * math.cos(back) - x * math.sin(back),
        z,
    )
    return radius_at(z) * np.array(turned)


def turn_by_quadrature(tilt_deg, ratio, radius_at):
    """Length of one turn from the speed of the point, by central differences of it."""
    tilt, step = math.radians(tilt_deg), 1e-4

    def speed(t):
        ahead, behind = (point(t + way, tilt, ratio, radius_at) for way in (step, -step))
        return float(np.linalg.norm(ahead - behind)) / (2.0 * step)

    quarters = np.arange(5) * 0.5 * math.pi
    return sum(quad(speed, a, b, epsrel=1e-9)[0] for a, b in pairwise(quarters))


@pytest.mark.outside(
    document="SciPy, scipy.integrate.quad",
    edition="1.15 or later",
    section="length of one flyer turn on a turning sphere, from its points in space",
    mark="COMPUTED",
)
@pytest.mark.parametrize("ratio", [20.3, 3.7, -8.0])
@pytest.mark.parametrize("tilt", [0.0, 30.0, 60.0])
def test_the_elliptic_formula_is_the_path_in_space(tilt, ratio):
    """4 R sqrt(A) E(m) and the path's own length agree to 1e-7."""
    by_path = turn_by_quadrature(tilt, ratio, lambda z: 25.0)
    assert tilted_coil_on_sphere_mm(25.0, tilt, ratio) == pytest.approx(by_path, rel=1e-7)


@pytest.mark.outside(
    document="SciPy, scipy.integrate.quad",
    edition="1.15 or later",
    section="length of the first turn on a bare, turning mandrel, from its points in space",
    mark="COMPUTED",
)
@pytest.mark.parametrize("ratio", [20.3, -8.0])
@pytest.mark.parametrize("tilt", [10.0, 35.0, 55.0])
def test_the_first_turn_is_the_path_on_the_bare_cylinder(tilt, ratio):
    """The banded turn and the path on R = r/cos(latitude) agree to 2e-5."""
    setting = WindSetting(30.0, 400.0, ratio, (0.0,), (tilt,))
    turn = build(setting, 5.0 / 3.0, turns=1.0, resolution=FINE).turn_length_mm[0]
    by_path = turn_by_quadrature(tilt, ratio, lambda z: 15.0 / math.sqrt(1.0 - z * z))
    assert turn == pytest.approx(by_path, rel=2e-5)
