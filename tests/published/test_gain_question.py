"""The gain that lays a strand beside the last one."""

import math

import pytest

from clew.ball.wind.closed_forms import gain_mm
from clew.ball.wind.crossings import footprint_rev


@pytest.mark.outside(
    document="WBUT question paper, yarn preparation",
    edition="2012, option list; the number worked out",
    section="gain = d/sin(angle of wind); 1 mm, 15.196 deg: 3.815 mm, 0.01619 rev at 75 mm",
    mark="COMPUTED",
)
def test_gain_of_a_strand_of_one_millimetre():
    """Along the circumference, in revolutions, and as the footprint of our own crossing count."""
    gain = gain_mm(1.0, 15.196)
    assert gain == pytest.approx(3.815, abs=0.0005)
    assert gain / (math.pi * 75.0) == pytest.approx(0.01619, abs=5e-6)
    counted = footprint_rev(math.radians(15.196), 1e12, 1.0, 75.0)
    assert counted == pytest.approx(0.01619, abs=5e-6)
