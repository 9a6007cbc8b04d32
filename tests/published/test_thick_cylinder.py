"""Lame's thick-walled cylinder under a pressure in its bore."""

import pytest

from clew.ball.size.stress_closed_forms import (
    bore_growth_lame,
    bore_pressure_lame,
    bore_pressure_removed,
)


@pytest.mark.outside(
    document="Lame, thick-walled cylinder (textbook formula)",
    edition="worked example, a 50, b 100, p 10, E 200e3, nu 0.3",
    section="bore hoop stress 16.667, bore growth .0049167",
    mark="MEMORY",
)
def test_bore_of_a_thick_cylinder():
    pressure, hoop = bore_pressure_lame([50.0, 100.0], 50.0, 100.0, 10.0)
    assert hoop[0] == pytest.approx(16.667, abs=5e-4)
    assert list(pressure) == pytest.approx([10.0, 0.0])
    assert bore_growth_lame(50.0, 100.0, 10.0, 200e3, 0.3) == pytest.approx(0.0049167, abs=5e-8)


@pytest.mark.outside(
    document="Lame, thick-walled cylinder (textbook formula)",
    edition="worked example, a 50, b 100, p 10",
    section="bore hoop stress 16.667, by the removal form at equal moduli",
    mark="MEMORY",
)
def test_removal_of_the_same_pressure():
    _, hoop = bore_pressure_removed([50.0], 50.0, 100.0, 10.0, 1.0)
    assert hoop[0] == pytest.approx(-16.667, abs=5e-4)
