"""Constants of control charts against exact values, a naive integral and drawn groups."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from clew.checks.charts.constants import MOST_IN_RANGE, c4, chart_constants, d2, d3, of_sizes
from clew.faults import BadInput


def test_two_balls_have_a_range_in_closed_form() -> None:
    assert d2(2) == pytest.approx(2.0 / math.sqrt(math.pi), rel=1e-11)
    assert d3(2) == pytest.approx(math.sqrt(2.0 - 4.0 / math.pi), rel=1e-11)


def test_three_and_four_balls_have_a_mean_range_in_closed_form() -> None:
    assert d2(3) == pytest.approx(3.0 / math.sqrt(math.pi), rel=1e-11)
    four = 6.0 / math.pi**1.5 * (math.pi / 2.0 + math.asin(1.0 / 3.0))
    assert d2(4) == pytest.approx(four, rel=1e-11)


@pytest.mark.parametrize("n", [5, 17, 100, 1000])
def test_mean_range_against_the_largest_ball(n: int) -> None:
    """Twice the mean of the largest: another integral, another rule."""
    largest, _ = quad(
        lambda x: n * x * norm.pdf(x) * norm.cdf(x) ** (n - 1), -8, 9, epsabs=1e-12, limit=400
    )
    assert d2(n) == pytest.approx(2.0 * largest, abs=2e-9)


@pytest.mark.parametrize("n", [3, 10, 60])
def test_spread_of_the_range_against_drawn_groups(n: int) -> None:
    drawn = np.random.default_rng(n).standard_normal((200_000, n))
    ranges = np.ptp(drawn, axis=1)
    assert d3(n) == pytest.approx(float(ranges.std()), rel=0.008)
    assert c4(n) == pytest.approx(float(drawn.std(axis=1, ddof=1).mean()), rel=0.003)


@pytest.mark.parametrize("n", [198, 199, 200, 201, 230])
def test_the_series_of_c4_meets_the_gamma_function(n: int) -> None:
    direct = math.sqrt(2.0 / (n - 1)) * math.exp(math.lgamma(n / 2) - math.lgamma((n - 1) / 2))
    assert c4(n) == pytest.approx(direct, rel=3e-12)


def test_c4_of_many_balls_nears_one_from_below() -> None:
    assert c4(10**7) == pytest.approx(1.0 - 0.25e-7, rel=1e-14)
    assert c4(10**7) < 1.0


def test_derived_constants_at_another_width() -> None:
    two = chart_constants(5, width=2.0)
    three = chart_constants(5)
    assert pytest.approx(three.A2) == 1.5 * two.A2
    assert pytest.approx(three.D4 - 1.0) == 1.5 * (two.D4 - 1.0)
    assert two.B3 > 0.0 == three.B3


@pytest.mark.parametrize("n", [-1, 0, 1])
def test_fewer_than_two_balls_are_refused(n: int) -> None:
    for constant in (c4, d2, d3):
        with pytest.raises(BadInput, match="too few balls"):
            constant(n)


def test_a_range_of_too_many_balls_is_refused_with_the_way_out() -> None:
    with pytest.raises(BadInput, match="xbar-s"):
        d2(MOST_IN_RANGE + 1)


def test_constants_of_many_groups() -> None:
    found = of_sizes("c4", np.array([5, 1, 2, 5]))
    assert found[[0, 2, 3]].tolist() == [c4(5), c4(2), c4(5)]
    assert math.isnan(found[1])
