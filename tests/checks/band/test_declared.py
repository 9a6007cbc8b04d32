"""Declarations in both systems never say more than is declared."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from clew.checks.band.declared import (
    eu_figure_height_mm,
    figure_height_mm,
    length_declared,
    mass_declared,
    us_figure_height_mm,
)
from clew.faults import BadInput

OUNCE = Fraction("28.349523125")
YARD = Fraction("0.9144")


def said(text: str, units: dict[str, Fraction]) -> Fraction:
    number, unit = text.split()
    return Fraction(number) * units[unit]


MASS = {"g": Fraction(1), "kg": Fraction(1000), "oz": OUNCE, "lb": 16 * OUNCE}
LENGTH = {"m": Fraction(1), "yd": YARD}


@given(st.floats(1.0, 20_000.0))
@example(100.0)
@example(453.59237)
@example(453.592)
@example(1000.0)
@example(99.2233309375)
def test_no_mass_says_more_than_declared_and_little_less(mass_g: float) -> None:
    found = mass_declared(mass_g)
    metric, other = said(found.metric, MASS), said(found.inch_pound, MASS)
    assert metric <= Fraction(mass_g) * (1 + Fraction(2, 10**9))
    assert other <= Fraction(mass_g) * (1 + Fraction(2, 10**9))
    assert metric >= Fraction(mass_g) * (1 - Fraction(1, 10**5))
    assert other >= Fraction(mass_g) * Fraction(99, 100)
    assert float(other) == pytest.approx(found.inch_pound_amount)
    assert float(metric) == pytest.approx(found.metric_amount)


@given(st.floats(1.0, 5000.0))
def test_no_length_says_more_than_declared(length_m: float) -> None:
    found = length_declared(length_m)
    for text in (found.metric, found.inch_pound):
        assert said(text, LENGTH) <= Fraction(length_m) * (1 + Fraction(2, 10**9))
        assert said(text, LENGTH) >= Fraction(length_m) * Fraction(99, 100)


@given(st.integers(10, 999))
def test_a_declaration_in_ounces_or_yards_comes_back_whole(hundredths: int) -> None:
    ounces = hundredths / 100
    assert mass_declared(ounces * float(OUNCE)).inch_pound == f"{ounces:g} oz"
    assert length_declared(hundredths * 0.9144).inch_pound == f"{hundredths} yd"


def test_nothing_is_no_declaration() -> None:
    for wrong in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(BadInput):
            mass_declared(wrong)
        with pytest.raises(BadInput):
            length_declared(wrong)


def test_figures_grow_with_the_quantity_and_the_front() -> None:
    assert [eu_figure_height_mm(g) for g in (50, 50.1, 200, 200.1, 1000, 1001)] == [
        2,
        3,
        3,
        4,
        4,
        6,
    ]
    heights = [us_figure_height_mm(area * 6.4516) for area in (5, 5.1, 25, 26, 100, 101, 400, 401)]
    inches = [1 / 16, 1 / 8, 1 / 8, 3 / 16, 3 / 16, 1 / 4, 1 / 4, 1 / 2]
    assert heights == pytest.approx([25.4 * one for one in inches])


def test_the_strictest_market_decides_the_figures() -> None:
    assert figure_height_mm(50.0, ("eu",), 160.0, 92.0) == 2.0
    front_cm2 = 0.4 * 16.0 * 9.2
    assert figure_height_mm(50.0, ("us", "eu"), 160.0, 92.0) == us_figure_height_mm(front_cm2)
    assert figure_height_mm(1200.0, ("us", "uk"), 160.0, 92.0) == 6.0
