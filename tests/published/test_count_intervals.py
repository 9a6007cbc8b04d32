"""Exact intervals of a count as printed by others."""

import pytest

from clew.knots.rates import poisson_interval


@pytest.mark.outside(
    document="GraphPad FAQ, confidence interval of a count",
    edition="current",
    section="25 events; 90 %, 95 %, 99 %",
    mark="READ",
)
@pytest.mark.parametrize(
    ("confidence", "low", "high"),
    [(0.90, 17.38, 34.92), (0.95, 16.18, 36.90), (0.99, 14.00, 41.00)],
)
def test_interval_of_25_events(confidence: float, low: float, high: float) -> None:
    assert poisson_interval(25, confidence=confidence) == pytest.approx((low, high), abs=0.005)


@pytest.mark.outside(
    document="R package epitools, manual, exact Poisson interval",
    edition="current",
    section="no events: upper end two-sided 95 %, and one-sided 95 %",
    mark="READ",
)
@pytest.mark.parametrize(("confidence", "high"), [(0.95, 3.689), (0.90, 2.996)])
def test_upper_end_of_no_events(confidence: float, high: float) -> None:
    low, found = poisson_interval(0, confidence=confidence)
    assert low == 0.0
    assert found == pytest.approx(high, abs=0.0005)


@pytest.mark.outside(
    document="calculatorhub, Poisson confidence interval",
    edition="current",
    section="10 events, 95 %",
    mark="READ",
)
def test_interval_of_10_events() -> None:
    assert poisson_interval(10) == pytest.approx((4.80, 18.39), abs=0.005)


@pytest.mark.outside(
    document="F. Garwood, Fiducial limits for the Poisson distribution, Biometrika 28, 437-442",
    edition="1936",
    section="table of limits, 95 % and 99 %",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("count", "confidence", "low", "high"),
    [
        (1, 0.95, 0.0253, 5.572),
        (2, 0.95, 0.242, 7.225),
        (3, 0.95, 0.619, 8.767),
        (5, 0.95, 1.623, 11.668),
        (10, 0.99, 3.717, 21.398),
    ],
)
def test_table_of_limits(count: int, confidence: float, low: float, high: float) -> None:
    assert poisson_interval(count, confidence=confidence) == pytest.approx((low, high), abs=6e-4)
