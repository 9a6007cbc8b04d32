"""Clairaut's relation: on a surface of revolution a shortest path keeps r cos(angle)."""

import math

import numpy as np
import pytest

from clew.ball.wind.build import WindSetting, build


@pytest.mark.outside(
    document="Clairaut's relation, citing Pressley, Elementary Differential Geometry, p. 183",
    edition="wikiclassic.com/wiki/Clairaut's_relation",
    section="rho sin(psi) constant, psi from the meridian",
    mark="READ",
)
@pytest.mark.parametrize("tilt", [25.0, 40.0, 65.0])
def test_coils_on_a_resting_round_ball_keep_clairauts_constant(tilt):
    """The angle of wind put out per latitude: cos(lat) cos(angle) is cos(tilt) wherever crossed."""
    setting = WindSetting(20.0, 20.0, 1e9, (0.0,), (tilt,), slip_friction=0.0)
    ball = build(setting, 5.0 / 3.0, turns=400.0)
    assert ball.width_mm == pytest.approx(ball.diameter_mm, rel=1e-6)
    crossed = ball.crossed
    latitude = np.radians(ball.latitude_deg[crossed])
    angle = np.radians(ball.angle_of_wind_deg[crossed])
    constant = np.cos(latitude) * np.cos(angle)
    assert constant == pytest.approx(math.cos(math.radians(tilt)), abs=1e-9)
