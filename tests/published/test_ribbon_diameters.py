"""Diameters at which a drum-wound package lays ribbons: wind ratio whole, or a half."""

import pytest

from clew.ball.wind.closed_forms import ribbon_diameter_mm


@pytest.mark.outside(
    document="Question bank on yarn winding, wind per double traverse (collegedunia.com)",
    edition="rule as printed; the list worked out for a traverse ratio of 5 and a drum of 75 mm",
    section="ribbon where the wind ratio is a whole number",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("wind_ratio", "diameter"),
    [
        (1.0, 375.0),
        (2.0, 187.5),
        (3.0, 125.0),
        (4.0, 93.75),
        (5.0, 75.0),
        (6.0, 62.5),
        (1.5, 250.0),
        (2.5, 150.0),
        (3.5, 107.14),
        (4.5, 83.33),
    ],
)
def test_ribbon_diameters_of_random_winding(wind_ratio, diameter):
    """Traverse ratio times drum over package diameter is the wind ratio."""
    assert ribbon_diameter_mm(5.0, 75.0, wind_ratio) == pytest.approx(diameter, abs=0.005)
