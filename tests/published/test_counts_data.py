"""Published counts: which of them scatter more than chance, and which points are out of control."""

import pytest

from clew.knots.rate_chart import joins_chart
from clew.knots.rate_spread import dispersion_test, gamma_fit
from clew.knots.rate_tests import compare_rates
from clew.knots.rates import CountedCone, pooled_rate

CLOTH = (
    (1.22, 1), (1.70, 4), (2.71, 5), (3.71, 14), (3.72, 7), (3.75, 9), (4.17, 2), (4.41, 8),
    (4.58, 4), (4.91, 7), (4.92, 4), (4.95, 7), (5.22, 6), (5.42, 9), (5.43, 8), (5.51, 6),
    (6.30, 7), (6.42, 10), (6.45, 6), (6.51, 4), (6.57, 9), (7.15, 14), (7.16, 3), (7.35, 17),
    (7.38, 9), (7.49, 10), (8.32, 17), (8.42, 9), (8.68, 8), (8.95, 28), (9.05, 23), (9.52, 9),
)  # fmt: skip
"""Rolls of cloth: length in 100 m, flaws. Bissell 1972."""

BOARDS = (
    21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16,
    19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15,
)  # fmt: skip
WAFERS = (
    16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14,
    16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13,
)  # fmt: skip
SERIES = (
    11, 8, 13, 11, 13, 17, 25, 23, 11, 16, 9, 15, 10, 16, 12,
    8, 9, 15, 4, 12, 12, 12, 15, 17, 14, 17, 12, 12, 7, 16,
)  # fmt: skip
KICKS = (144, 91, 32, 11, 2)
"""Corps and years with 0, 1, 2, 3, 4 men killed by the kick of a horse."""


def as_cones(rows: "list[tuple[float, int]]") -> list[CountedCone]:
    """Make counts on lengths into cones of 1000 tex, so that grams are metres."""
    return [
        CountedCone(str(place), "one", "", 1000.0 * length, 1000.0, count)
        for place, (length, count) in enumerate(rows)
    ]


@pytest.mark.outside(
    document="A. F. Bissell, A negative binomial model with varying element sizes, Biometrika 59",
    edition="1972",
    section="data: 284 flaws in 32 rolls, 188.05 lengths of 100 m (read in R package boot, cloth)",
    mark="READ",
)
def test_flaws_in_rolls_of_cloth_scatter_more_than_chance() -> None:
    cones = as_cones(list(CLOTH))
    rate = pooled_rate(cones)
    assert (rate.knots, rate.length_km) == (284, pytest.approx(188.05, abs=0.005))
    found = dispersion_test(cones)
    assert found is not None
    assert found.p_drawn < 0.01
    assert found.p_chi2 < 0.01


@pytest.mark.outside(
    document="Bissell's rolls of cloth fitted with length as exposure by statsmodels",
    edition="statsmodels, offset model",
    section="theta 8.694; Pearson over degrees 2.194",
    mark="COMPUTED",
)
def test_flaws_in_rolls_of_cloth_fitted_by_another_program() -> None:
    cones = as_cones(list(CLOTH))
    fit, found = gamma_fit(cones), dispersion_test(cones)
    assert fit is not None
    assert found is not None
    assert fit.shape == pytest.approx(8.694, abs=0.0005)
    assert found.index == pytest.approx(2.194, abs=0.0005)
    assert fit.p_value < 0.001
    assert fit.shape_high is not None


@pytest.mark.outside(
    document="L. von Bortkiewicz, Das Gesetz der kleinen Zahlen: deaths by horse kick",
    edition="1898",
    section="144 91 32 11 2 in 280 corps-years, mean .70 (read in R package DescTools, manual)",
    mark="READ",
)
def test_horse_kicks_are_chance_alone() -> None:
    rows = [(1.0, count) for count, times in enumerate(KICKS) for _ in range(times)]
    cones = as_cones(rows)
    fit, found = gamma_fit(cones), dispersion_test(cones)
    assert fit is not None
    assert found is not None
    assert fit.per_km == pytest.approx(0.70, abs=0.005)
    assert fit.shape_high is None
    assert fit.p_value > 0.05
    assert found.p_drawn > 0.05


@pytest.mark.outside(
    document="G. B. Wetherill and D. W. Brown, Statistical Process Control, pp. 212-218",
    edition="1991",
    section="data of the Poisson series (read in R package qcc); D 42.694 on 29, p .0486 computed",
    mark="COMPUTED",
)
def test_dispersion_of_a_series_of_counts() -> None:
    found = dispersion_test(as_cones([(1.0, count) for count in SERIES]))
    assert found is not None
    assert found.chi2 == pytest.approx(42.694, abs=0.0005)
    assert found.degrees == 29
    assert found.p_chi2 == pytest.approx(0.0486, abs=0.00005)
    assert found.p_drawn == pytest.approx(0.0486, abs=0.015)


@pytest.mark.outside(
    document="D. C. Montgomery, Introduction to Statistical Quality Control, pp. 173-175",
    edition="1991",
    section="circuit boards: samples 6 and 20 are out",
    mark="READ",
)
def test_circuit_boards_out_of_control() -> None:
    chart = joins_chart(BOARDS, [1.0] * len(BOARDS))
    out = [place for place, point in enumerate(chart.points, 1) if point.signal]
    assert out == [6, 20]


@pytest.mark.outside(
    document="NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1",
    edition="2012",
    section="mean 16; wafer 24 is out, wafer 3 on the limit is not",
    mark="MEMORY",
)
def test_wafers_out_of_control() -> None:
    chart = joins_chart(WAFERS, [1.0] * len(WAFERS))
    assert chart.centre_per_100_km / 100 == pytest.approx(16.0, abs=0.005)
    assert [place for place, point in enumerate(chart.points, 1) if point.signal] == [24]


@pytest.mark.outside(
    document="R package exactci, manual: 2 in 17877 against 10 in 20000",
    edition="current",
    section="example read; its p-value by adding counts no likelier, .04213, computed elsewhere",
    mark="COMPUTED",
)
def test_two_rates_of_rare_events() -> None:
    found = compare_rates(2, 17877.0, 10, 20000.0)
    assert found.p_least_likely == pytest.approx(0.04213, abs=0.000005)
    assert found.p_value > 0.05
    assert found.ratio_high is not None
    assert found.ratio_low < 1.0 < found.ratio_high
