"""A laboratory report on cross winding: angle of wind, traverse speed and net speed."""

import pytest

from clew.ball.wind.closed_forms import traverse_speed_m_min, wind_speeds


@pytest.mark.outside(
    document="Laboratory report on cone winding, scribd 47091457",
    edition="undated",
    section="angle of wind 21.67 deg, surface 113.94, traverse 45.27, net 122.59 m/min",
    mark="READ",
)
def test_traverse_and_net_speed_of_the_report():
    """Tangent and Pythagoras give the reported speeds to their last digit."""
    traverse = traverse_speed_m_min(113.94, 21.67)
    assert traverse == pytest.approx(45.27, abs=0.01)
    speeds = wind_speeds(113.94, 45.27)
    assert speeds.net_m_min == pytest.approx(122.59, abs=0.02)
    assert speeds.angle_of_wind_deg == pytest.approx(21.67, abs=0.005)
