"""What the US package-checking handbook allows a scale."""

from __future__ import annotations

import pytest

from clew.checks.instruments.rule_limits import class_tolerance_g, us_handbook
from clew.checks.instruments.tare import unused_dry_tare

handbook = pytest.mark.outside(
    document="NIST HB 133", edition="2026", section="2.2, measuring equipment", mark="READ"
)


@handbook
def test_a_scale_for_113_g() -> None:
    """Allowed variation 7.2 g, a sixth is 1.2 g: a scale of 1 g will do."""
    found = us_handbook(7.2, 1.0, load_g=115.0, capacity_g=1000.0)
    division = found.requirements[0]
    assert division.limit == pytest.approx(1.2, rel=1e-12)
    assert found.allowed
    assert not us_handbook(7.2, 2.0, load_g=115.0, capacity_g=1000.0).allowed


@handbook
def test_a_scale_for_a_quarter_pound() -> None:
    """In pounds: 0.016 lb over 6 is 0.0027 lb, printed 0.002 lb as the next scale that is made."""
    pound = 453.59237
    assert us_handbook(0.016 * pound, 0.002 * pound, load_g=115.0, capacity_g=1000.0).allowed
    assert not us_handbook(0.016 * pound, 0.005 * pound, load_g=115.0, capacity_g=1000.0).allowed


@handbook
@pytest.mark.parametrize(
    ("scale_class", "divisions", "tolerance"),
    [
        ("II", 1, 0.5),
        ("II", 5_000, 0.5),
        ("II", 5_001, 1.0),
        ("II", 20_000, 1.0),
        ("II", 20_001, 1.5),
        ("III", 500, 0.5),
        ("III", 501, 1.0),
        ("III", 2_000, 1.0),
        ("III", 2_001, 1.5),
        ("III", 4_000, 1.5),
        ("III", 4_001, 2.5),
    ],
)
def test_tolerances_of_the_classes(scale_class, divisions: int, tolerance: float) -> None:
    assert class_tolerance_g(0.1 * divisions, 0.1, scale_class) == pytest.approx(0.1 * tolerance)


@handbook
def test_fewer_than_a_hundred_divisions() -> None:
    found = us_handbook(12.7, 2.0, load_g=150.0, capacity_g=198.0)
    assert [one.key for one in found.requirements if one.met is False] == ["divisions"]
    assert us_handbook(12.7, 2.0, load_g=150.0, capacity_g=200.0).allowed


@pytest.mark.outside(
    document="NIST HB 133", edition="2026", section="2.3, unused dry tare", mark="READ"
)
def test_unused_dry_tare() -> None:
    assert unused_dry_tare([1.2, 1.2], 0.1).tare_g == pytest.approx(1.2)
    assert unused_dry_tare([1.2, 1.3], 0.1).more == 3
    five = unused_dry_tare([1.2, 1.3, 1.1, 1.2, 1.3], 0.1)
    assert (five.tare_g, five.used) == (pytest.approx(1.22), 5)
