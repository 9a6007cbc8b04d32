"""Economic targets against brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from clew.checks.target.comparison import compare
from clew.checks.target.economic import (
    bettes,
    giveaway_against_short,
    golhar,
    hunter_kartha,
    springer,
    three_rules,
)
from clew.faults import BadInput
from target_plans import double, single


@given(st.floats(0.5, 5.0), st.floats(0.001, 0.5), st.floats(0.1, 5.0))
def test_hunter_and_kartha_is_a_maximum(gap: float, giveaway: float, sd: float) -> None:
    best = hunter_kartha(6.0, 6.0 - gap, giveaway, sd, 100.0)

    def income(mean: float) -> float:
        z = (100.0 - mean) / sd
        short = stats.norm.cdf(z)
        above = sd * (stats.norm.pdf(z) - z * (1 - short))
        return float(6.0 * (1 - short) + (6.0 - gap) * short - giveaway * above)

    assert best.value == pytest.approx(income(best.mean), abs=1e-9)
    for step in (-0.05 * sd, 0.05 * sd):
        assert income(best.mean + step) < best.value + 1e-12


@given(st.floats(0.1, 5.0), st.floats(0.3, 3.0))
def test_springer_is_a_minimum(ratio: float, sd: float) -> None:
    best = springer(ratio, 1.0, sd, 98.0, 104.0)
    means = best.mean + np.linspace(-1, 1, 401)
    cost = ratio * stats.norm.cdf((98.0 - means) / sd) + stats.norm.sf((104.0 - means) / sd)
    assert cost.min() >= best.value - 1e-12


def test_equal_costs_put_springer_in_the_middle() -> None:
    assert springer(1.0, 1.0, 2.0, 98.0, 104.0).mean == 101.0


def expected_inside(mean: float, low: float, high: float, sd: float) -> tuple[float, float]:
    """Share between limits and mean content there, by quadrature."""
    share = integrate.quad(stats.norm(mean, sd).pdf, low, high)[0]
    content = integrate.quad(lambda x: x * stats.norm(mean, sd).pdf(x), low, high)[0]
    return share, content / share


def test_bettes_by_a_grid_of_quadratures() -> None:
    best = bettes(0.5, 0.2, 2.0, 50.0)
    cheapest = math.inf
    for mean in best.mean + np.linspace(-0.6, 0.6, 7):
        for high in best.upper + np.linspace(-0.6, 0.6, 7):
            share, content = expected_inside(mean, 50.0, high, 2.0)
            cheapest = min(cheapest, 0.5 * content + 0.2 * (1 - share) / share)
    share, content = expected_inside(best.mean, 50.0, best.upper, 2.0)
    assert best.value == pytest.approx(0.5 * content + 0.2 * (1 - share) / share, abs=1e-8)
    assert best.value <= cheapest + 1e-9
    assert best.upper < 50.0 + 12 * 2.0


def test_golhar_is_bettes_without_an_upper_limit() -> None:
    one, two = golhar(3.0, 0.02, 1.0, 2.0, 50.0), bettes(0.02, 1.0, 2.0, 50.0)
    assert one.mean == pytest.approx(two.mean, abs=1e-4)
    assert 3.0 - one.value == pytest.approx(two.value, abs=1e-8)


def test_the_three_rules_by_their_shares() -> None:
    found = three_rules(100.0, 95.5, 91.0, 2.8)
    assert found.binding == "second"
    assert stats.norm.cdf((91.0 - found.mean) / 2.8) == pytest.approx(0.0001)
    assert stats.norm.cdf((95.5 - found.first) / 2.8) == pytest.approx(0.025)


def test_what_cannot_be_solved_is_one_clear_line() -> None:
    for call in (
        lambda: giveaway_against_short(1.0, 0.5, 2.0, 100.0),
        lambda: hunter_kartha(1.0, 1.0, 0.1, 1.0, 100.0),
        lambda: springer(1.0, 1.0, 2.0, 104.0, 98.0),
        lambda: golhar(1.0, 0.1, 0.1, math.nan, 100.0),
        lambda: bettes(1.0, 1.0, 1.0, 100.0, highest=99.0),
        lambda: three_rules(100.0, 95.5, 91.0, 0.0),
    ):
        with pytest.raises(BadInput) as caught:
            call()
        assert len(str(caught.value).splitlines()) == 1


def test_what_is_compared_follows_what_is_known() -> None:
    plans = [double(), single()]
    assert [one.key for one in compare(plans, 2.8)] == ["three-rules eu-average"]
    known = compare(plans, 2.8, yarn_per_kg=17.5, ball_price=4.6, short_price=2.0)
    assert [one.key for one in known] == [
        "three-rules eu-average",
        "hunter-kartha",
        "linear-giveaway",
    ]
    for one in known:
        assert one.short_frac == pytest.approx(stats.norm.cdf((100.0 - one.mass_g) / 2.8))
    assert len(compare(plans, 2.8, yarn_per_kg=17.5, ball_price=2.0, short_price=2.0)) == 1
    assert compare([], 2.8) == ()
    assert compare(plans, 0.0) == ()
