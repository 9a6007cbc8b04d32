"""The coil angle of a cheese on a drum winder, an examination question with its key."""

import math

import pytest

from clew.ball.wind.closed_forms import coil_angle_deg, wind_speeds


@pytest.mark.outside(
    document="GATE Textile Engineering and Fibre Science",
    edition="2017, as printed at textiletriangle.com",
    section="question 44: 160 mm traverse, drum 75 mm, 2.5 crossings, 3250 rpm, 73.5 to 76.0 deg",
    mark="READ",
)
def test_coil_angle_of_a_cheese_on_a_rotary_traverse():
    """Drum turns over twice the crossings are double traverses; the keyed range holds the angle."""
    surface = math.pi * 0.075 * 3250.0
    traverse = 2.0 * 0.160 * 3250.0 / (2.0 * 2.5)
    assert traverse == pytest.approx(208.0, abs=0.5)  # printed
    assert surface == pytest.approx(765.4, abs=0.5)  # printed, with a rounded pi
    angle = coil_angle_deg(wind_speeds(surface, traverse).angle_of_wind_deg)
    assert 73.5 <= angle <= 76.0
