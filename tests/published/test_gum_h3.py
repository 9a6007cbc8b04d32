"""Calibration of a thermometer by a straight line: GUM, H.3."""

from __future__ import annotations

import pytest

from clew.checks.instruments.check_weights import correction_line

READING_C = (
    21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
)  # fmt: skip
CORRECTION_C = (
    -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
)  # fmt: skip
LINE = correction_line(READING_C, CORRECTION_C, about=20.0)

printed = pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.3, thermometer", mark="MEMORY"
)


@printed
def test_line() -> None:
    assert LINE.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert LINE.intercept_u == pytest.approx(0.0029, abs=5e-5)
    assert LINE.slope == pytest.approx(0.00218, abs=5e-6)
    assert LINE.slope_u == pytest.approx(0.00067, abs=5e-6)
    assert LINE.r == pytest.approx(-0.930, abs=5e-4)
    assert LINE.sd == pytest.approx(0.0035, abs=5e-5)
    assert LINE.df == 9


@printed
def test_correction_at_30_degrees() -> None:
    correction, u = LINE.at(30.0)
    assert correction == pytest.approx(-0.1494, abs=6e-5)
    assert u == pytest.approx(0.0041, abs=5e-5)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.3.5, about the mean reading",
    mark="DERIVED",
)  # fmt: skip
def test_about_the_mean_reading_the_two_are_not_correlated() -> None:
    mean = sum(READING_C) / len(READING_C)
    other = correction_line(READING_C, CORRECTION_C, about=mean)
    assert other.r == pytest.approx(0.0, abs=1e-12)
    assert other.at(30.0) == pytest.approx(LINE.at(30.0), rel=1e-9)
