"""The bare mandrel: its volume, and where nothing holds on it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.wind.mandrel import bands_on, mandrel_bands, steep_run

SIZES = st.floats(2.0, 500.0)


@given(SIZES, SIZES, st.integers(4, 200))
def test_the_bands_hold_the_volume_of_the_cylinder(diameter, width, half):
    """Band means of R^3 are exact, so the bare volume is the mandrel's at any division."""
    bands = mandrel_bands(diameter, width, 0.3, 2 * half)
    volume = float(np.dot(bands.coef, bands.bare))
    assert volume == pytest.approx(math.pi * diameter**2 * width / 4.0, rel=1e-9)


@given(SIZES, SIZES)
def test_every_band_lies_between_the_nearest_and_the_farthest_point(diameter, width):
    """No band mean is outside the distances that the cylinder has from its centre."""
    radius = np.cbrt(mandrel_bands(diameter, width, 0.3, 90).bare)
    assert radius.min() >= 0.5 * min(diameter, width) * (1.0 - 1e-12)
    assert radius.max() <= 0.5 * math.hypot(diameter, width) * (1.0 + 1e-12)


def test_the_side_is_too_steep_beyond_the_angle_of_friction():
    """On the side dR/(R d lat) = tan(lat): yarn slides beyond atan(0.3) = 16.7 degrees."""
    bands = mandrel_bands(30.0, 70.0, 0.3, 1800)
    first, past = steep_run(bands)
    to_degrees = 90.0 / bands.bare.size
    assert first * to_degrees == pytest.approx(math.degrees(math.atan(0.3)), abs=0.2)
    assert bands.turn * to_degrees == pytest.approx(66.8, abs=0.2)
    assert past * to_degrees == pytest.approx(90.0 - math.degrees(math.atan(0.3)), abs=0.2)


def test_a_round_surface_has_no_steep_run():
    """Yarn holds anywhere on a sphere."""
    assert steep_run(bands_on(np.full(45, 25.0**3), 0.3)).tolist() == [0, 0]


def test_a_flat_disc_sheds_only_to_its_ends():
    """The rim of a thin disc holds yarn; its faces near the rim do not."""
    bands = mandrel_bands(100.0, 10.0, 0.3, 360)
    first, past = steep_run(bands)
    assert bands.turn == 0 and bands.crest == -1
    assert first == pytest.approx(np.argmax(bands.bare), abs=1)
    assert past > first + 50
