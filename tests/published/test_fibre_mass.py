"""A random fibre mass under pressure: the pack's radial modulus."""

import numpy as np
import pytest

from clew.ball.size.constants import ShapeConstants
from clew.ball.size.release import wind_on_mandrel
from clew.ball.size.stress import Pack, RadialModulus


@pytest.mark.outside(
    document="van Wyk on the compressibility of wool, University of Pretoria repository 2263/59727",
    edition="abstract",
    section="3: the pressure bears to the inverse cube of the volume a linear relation",
    mark="READ",
)
def test_inverse_cube_law_is_a_modulus_that_rises_threefold_with_pressure():
    """p = k (V^-3 - 1): dp/d(-ln V) = 3 k + 3 p, so c0 = 3 k and c1 = 3, which is in our range."""
    stiffness = 7.0
    volume = np.linspace(0.5, 1.0, 6)
    step = 1e-6

    def pressure(v):
        return stiffness * (v**-3.0 - 1.0)

    slope = (pressure(volume * np.exp(-step)) - pressure(volume * np.exp(step))) / (2.0 * step)
    law = RadialModulus(c0_kpa=3.0 * stiffness, c1=3.0)
    assert slope == pytest.approx(law.c0_kpa + law.c1 * pressure(volume), rel=1e-8)
    stated = ShapeConstants().radial_c1
    assert stated.low <= law.c1 <= stated.high


@pytest.mark.outside(
    document="van Wyk on the compressibility of wool, University of Pretoria repository 2263/59727",
    edition="abstract",
    section="3: the pressure bears to the inverse cube of the volume a linear relation",
    mark="READ",
)
def test_squeezed_laps_follow_the_inverse_cube():
    """In a wound ball the pressure of a lap is p = k (V^-3 - 1) of its own squeeze, V = exp(-e)."""
    stiffness = 7.0
    pack = Pack(2e4, RadialModulus(c0_kpa=3.0 * stiffness, c1=3.0))
    ball = wind_on_mandrel(30.0, 90.0, 60.0, pack)
    squeeze = -np.diff(ball.shift_mm) / np.diff(ball.radii_mm)
    volume = np.exp(-squeeze)
    assert squeeze.max() > 0.02
    assert ball.pressure_kpa == pytest.approx(stiffness * (volume**-3.0 - 1.0), rel=1e-9)
