"""The angle of wind on top, against walking back over the turns one by one."""

import math

import numpy as np
import pytest

from clew.ball.wind.angle import TOP_TURNS, angle_on_top
from clew.ball.wind.setting import WindSetting

LATITUDE = np.radians(np.arange(0.5, 90.0, 3.0))
RADIUS = 40.0 + 6.0 * np.cos(LATITUDE)


def walked_back(setting, tilt_deg, most):
    """Take the last strands that cross each latitude, up to so many, and add up their parts."""
    slope = np.gradient(np.log(RADIUS), LATITUDE)
    found = []
    for lat, rise in zip(LATITUDE, slope, strict=True):
        up = along = 0.0
        taken = 0
        for tilt in np.radians(tilt_deg[::-1]):
            if taken < most and math.sin(tilt) > math.sin(lat):
                taken += 1
                up += math.sqrt((1.0 + rise**2) * (math.sin(tilt) ** 2 - math.sin(lat) ** 2))
                along += math.cos(tilt) - math.cos(lat) ** 2 / setting.wind_ratio
        found.append(math.degrees(math.atan2(up, abs(along))) if taken else 0.0)
    return found


@pytest.mark.parametrize("ratio", [20.3, -7.2])
@pytest.mark.parametrize(
    ("ends", "repeat", "most"),
    [(1000.0, False, TOP_TURNS), (90.0, True, 90), (4000.0, True, 10 * TOP_TURNS)],
)
@pytest.mark.parametrize(
    "tilt_deg",
    [
        np.linspace(10.0, 70.0, 700),
        np.concatenate((np.full(300, 55.0), np.full(200, 30.0), np.zeros(800))),
        np.concatenate((np.full(900, 60.0), np.full(30, 20.0))),
    ],
    ids=["rising", "flat at the end", "steep before"],
)
def test_it_is_that_of_the_strands_on_top(ratio, ends, repeat, most, tilt_deg):
    setting = WindSetting(30.0, 70.0, ratio, (0.0, ends), (20.0, 60.0), tilt_repeats=repeat)
    crossed, angle = angle_on_top(setting, LATITUDE, RADIUS, tilt_deg)
    assert angle == pytest.approx(walked_back(setting, tilt_deg, most), abs=1e-9)
    assert crossed.tolist() == (np.radians(tilt_deg.max()) > LATITUDE).tolist()
