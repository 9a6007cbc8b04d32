"""The length on a roll, a worked answer: the cylinder that grows by its own thickness."""

import pytest

from clew.ball.wind.closed_forms import cylinder_growth, helix_package_diameter_mm


@pytest.mark.outside(
    document="Math Central, University of Regina, Varying diameters for linear feet",
    edition="question 09.99, bolin1",
    section="core 10.750 in, roll 60.002 in, paper 0.014 in: 195490 in, 16290.8 ft",
    mark="READ",
)
def test_length_of_paper_on_a_roll():
    """One inch of width holds paper of area 0.014: the length gives the diameter, and back."""
    inch = 25.4
    length_m = 195490.0 * inch / 1000.0
    grown = cylinder_growth(5.375 * inch, inch, 0.014 * inch * inch, length_m=length_m)
    assert 2.0 * grown.radius_mm / inch == pytest.approx(60.002, abs=0.0005)
    assert length_m / 0.3048 == pytest.approx(16290.8, abs=0.05)
    by_turns = cylinder_growth(5.375 * inch, inch, 0.014 * inch * inch, turns=grown.turns)
    assert by_turns.length_m * 1000.0 / inch == pytest.approx(195490.0, abs=0.5)
    volume = length_m * 1000.0 * 0.014 * inch * inch
    diameter = helix_package_diameter_mm(10.750 * inch, inch, volume)
    assert diameter / inch == pytest.approx(60.002, abs=0.0005)
