"""Budgets of net mass and of length: closed forms, air, and that the two views agree."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.budget import make_budget
from clew.checks.instruments.check_weights import correction_line
from clew.checks.instruments.length_budget import Pull, Reel, length_model
from clew.checks.instruments.mass_budget import (
    Scale,
    TareKnown,
    Water,
    air_factor,
    mass_model,
)
from clew.checks.instruments.propagate import propagate_until_stable, validate
from clew.faults import BadInput


@given(st.floats(0.01, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 0.5))
def test_scale_and_tare_add_in_quadrature(sd: float, division: float, tare_sd: float) -> None:
    terms = mass_model(100.0, Scale(sd, division_g=division), TareKnown(2.0, tare_sd))
    found = make_budget(terms.model, terms.inputs)
    load, zero = division / 2 / math.sqrt(3), division / 4 / math.sqrt(3)
    assert found.value == pytest.approx(100.0)
    assert found.u == pytest.approx(math.sqrt(sd**2 + load**2 + zero**2 + tare_sd**2), rel=1e-6)
    assert terms.condition == "as weighed"


def test_tares_that_were_weighed_add_the_doubt_of_their_mean() -> None:
    terms = mass_model(100.0, Scale(1e-9), TareKnown(2.0, 0.1, 5))
    found = make_budget(terms.model, terms.inputs)
    assert found.u == pytest.approx(0.1 * math.sqrt(1.2), rel=1e-6)
    assert found.df == pytest.approx(4.0, rel=1e-6)


def test_regain_scales_the_mass_and_its_doubt() -> None:
    water = Water(regain_frac=0.10, sd_frac=0.01, stated_frac=0.1825)
    terms = mass_model(100.0, Scale(1e-9), TareKnown(), water=water)
    found = make_budget(terms.model, terms.inputs)
    assert found.value == pytest.approx(100.0 * 1.1825 / 1.10)
    assert found.u == pytest.approx(found.value * 0.01 / 1.10, rel=1e-6)
    assert terms.condition == "at 18.25 % regain"


def test_air_of_the_reference_changes_nothing_and_other_air_next_to_nothing() -> None:
    assert air_factor(1.2, 1310.0) == pytest.approx(1.0, rel=1e-14)
    assert 100 * (air_factor(1.3, 1310.0) - 1.0) == pytest.approx(0.0064, abs=2e-4)
    assert air_factor(1.3, 8000.0) == pytest.approx(1.0, rel=1e-14)
    terms = mass_model(100.0, Scale(0.1), TareKnown(), density_kg_m3=1310.0)
    found = make_budget(terms.model, terms.inputs)
    air = next(row for row in found.rows if row.key == "air")
    assert air.share < 0.002
    assert "tiny" in terms.air_words


def test_check_weights_correct_the_slope_and_not_the_zero() -> None:
    """A scale that reads 1 % light and 0.5 g high all over: only the 1 % reaches the net mass."""
    shown = [0.5, 50.0, 99.5, 149.0]
    line = correction_line(shown, [(x - 0.5) / 0.99 - x for x in shown], about=0.0)
    terms = mass_model(99.0, Scale(0.1), TareKnown(2.0, 0.0), standards=line)
    found = make_budget(terms.model, terms.inputs)
    assert found.value == pytest.approx(100.0)


def test_budget_and_monte_carlo_agree_on_a_ball() -> None:
    terms = mass_model(
        100.0,
        Scale(0.1, division_g=0.1, linearity_g=0.1, eccentricity_g=0.1),
        TareKnown(2.1, 0.04),
        water=Water(0.1, 0.005, 0.1825),
        density_kg_m3=1310.0,
    )
    budget = make_budget(terms.model, terms.inputs)
    drawn = propagate_until_stable(terms.model, terms.inputs, digits=1, finer=5.0, seed=1)
    assert validate(budget, drawn, digits=1).valid


def test_length_as_reeled() -> None:
    terms = length_model(200.0, Reel(1.0, 0.001, 0.5, 0.003))
    found = make_budget(terms.model, terms.inputs)
    parts = (200 * 0.001 / math.sqrt(3), 0.5 / math.sqrt(3), 200 * 0.003)
    assert found.value == pytest.approx(200.0)
    assert found.u == pytest.approx(math.hypot(*parts), rel=1e-6)
    assert terms.condition == "as reeled"


@given(st.floats(0.0, 60.0), st.floats(5.0, 50.0), st.floats(200.0, 1000.0))
def test_a_pull_is_taken_off_again(tension: float, modulus: float, count: float) -> None:
    """Length at rest is the length asked for; the harder the pull, the more turns it took."""
    terms = length_model(200.0, Reel(), Pull(tension, 0.0, modulus, 0.0, count))
    found = make_budget(terms.model, terms.inputs)
    turns = next(one.law.value for one in terms.inputs if one.key == "turns")
    assert found.value == pytest.approx(200.0)
    assert turns == pytest.approx(200.0 * (1.0 + tension / (modulus * count)))


@pytest.mark.parametrize(
    "make",
    [
        lambda: mass_model(0.0, Scale(0.1), TareKnown()),
        lambda: mass_model(math.nan, Scale(0.1), TareKnown()),
        lambda: mass_model(100.0, Scale(-0.1), TareKnown()),
        lambda: mass_model(100.0, Scale(0.1), TareKnown(2.0, 0.1, 1)),
        lambda: mass_model(100.0, Scale(0.1), TareKnown(), density_kg_m3=1.0),
        lambda: length_model(-1.0, Reel()),
        lambda: length_model(200.0, Reel(circumference_m=0.0)),
        lambda: length_model(200.0, Reel(), Pull(40.0, 3.0, 0.0, 0.2, 500.0)),
    ],
)
def test_what_is_no_measurement_is_refused(make) -> None:
    with pytest.raises(BadInput):
        make()
