"""Calibration of an end gauge: GUM, H.1."""

from __future__ import annotations

import pytest

from clew.checks.instruments.budget import Array, Budget, Input, coverage_factor, make_budget
from clew.checks.instruments.distributions import normal

LENGTH_NM = 50.000623e6


def end_gauge(
    standard: float | Array,
    difference: float | Array,
    comparator_random: float | Array,
    comparator_systematic: float | Array,
    expansion: float | Array,
    temperature: float | Array,
    expansion_difference: float | Array,
    temperature_difference: float | Array,
) -> float | Array:
    gauge = standard + difference + comparator_random + comparator_systematic
    return gauge - standard * (
        expansion_difference * temperature + expansion * temperature_difference
    )


INPUTS = (
    Input("standard", "length of the standard", "nm", normal(LENGTH_NM, 25.0, 18)),
    Input("difference", "mean of repeated comparisons", "nm", normal(215.0, 5.8, 24)),
    Input("comparator_random", "comparator, random", "nm", normal(0.0, 3.9, 5)),
    Input("comparator_systematic", "comparator, systematic", "nm", normal(0.0, 6.7, 8)),
    Input("expansion", "expansion of the standard", "1/°C", normal(11.5e-6, 1.2e-6)),
    Input("temperature", "temperature of the bed, less 20 °C", "°C", normal(-0.1, 0.41)),
    Input("expansion_difference", "difference of expansions", "1/°C", normal(0.0, 0.58e-6, 50)),
    Input("temperature_difference", "difference of temperatures", "°C", normal(0.0, 0.029, 2)),
)


@pytest.fixture(scope="module")
def budget() -> Budget:
    return make_budget(end_gauge, INPUTS, confidence=0.99, second_order=True)


read = pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.1, end-gauge calibration", mark="READ"
)


@read
@pytest.mark.parametrize(
    ("key", "printed_nm"),
    [
        ("standard", 25.0),
        ("difference", 5.8),
        ("comparator_random", 3.9),
        ("comparator_systematic", 6.7),
        ("expansion_difference", 2.9),
        ("temperature_difference", 16.6),
    ],
)
def test_contributions(budget: Budget, key: str, printed_nm: float) -> None:
    row = next(row for row in budget.rows if row.key == key)
    assert abs(row.contribution) == pytest.approx(printed_nm, abs=0.1)


@read
def test_uncertainty_and_degrees_of_freedom(budget: Budget) -> None:
    assert budget.u == pytest.approx(32.0, abs=0.5)
    assert budget.df == pytest.approx(16.7, abs=0.1)
    assert budget.k == pytest.approx(2.92, abs=0.005)
    assert round(budget.expanded) == 93
    assert coverage_factor(0.95, budget.df) == pytest.approx(2.12, abs=0.005)


@read
def test_second_order(budget: Budget) -> None:
    assert budget.second_order_u == pytest.approx(34.0, abs=0.5)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.1, unrounded", mark="COMPUTED"
)
def test_unrounded(budget: Budget) -> None:
    assert budget.u == pytest.approx(31.705, abs=0.02)
    assert budget.df == pytest.approx(16.64, abs=0.02)
    assert budget.expanded == pytest.approx(92.60, abs=0.06)
    assert budget.second_order_u == pytest.approx(33.91, abs=0.03)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.1.6, rounded to four terms",
    mark="COMPUTED",
)  # fmt: skip
def test_rounding_before_the_formula_gives_another_number_of_degrees() -> None:
    """Rounded to 25, 9.7, 2.9 and 16.6 the formula gives 17.47: the look-up is then at 17."""
    parts, dfs = (25.0, 9.7, 2.9, 16.6), (18, 25.6, 50, 2)
    whole = sum(part**2 for part in parts) ** 2
    rounded = 32.0**4 / sum(part**4 / df for part, df in zip(parts, dfs, strict=True))
    unrounded = whole / sum(part**4 / df for part, df in zip(parts, dfs, strict=True))
    assert rounded == pytest.approx(17.47, abs=0.01)
    assert unrounded == pytest.approx(16.76, abs=0.01)
    assert coverage_factor(0.99, 17) != pytest.approx(2.92, abs=0.005)
