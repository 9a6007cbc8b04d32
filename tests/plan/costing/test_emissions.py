"""What a ball leaves behind, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.mill.plan_rules import Emissions
from clew.plan.costing.ball_cost import cost_of
from clew.plan.costing.emissions import emissions_of
from clew.plan.costing.words import emission_words
from clew.plan.sequence.timed_run import Change

CHANGE = Change("yarn", 2400.0, 0.0, 10.0, 0.0, 900.0, 0.36, 0.0, ())
FACTORS = Emissions(heat_kg_per_kwh=0.2, power_kg_per_kwh=0.3, waste_kg_per_kg=0.5, source="a test")


def test_waste_heat_and_power_by_hand(by_hand) -> None:
    """Of 10 wound balls of 0.1 kg 1 is dropped and 1 spoilt: 8 leave; 0.36 kg a run of 80."""
    figures = replace(by_hand, line_first_frac=8.0 / 9.0, knot_waste_frac=0.1, line_waste_kg=0.004)
    left = emissions_of(cost_of(figures, 80, CHANGE, (), seed=1, replications=2), FACTORS)
    assert left.landfill_kg == pytest.approx(10 * 0.004 / 8 + 0.1 / 8 + 0.36 / 80)
    assert left.heat_kwh == pytest.approx(1.5 * 10 / 8)
    assert left.power_kwh == pytest.approx(0.2 * 10 / 8)
    assert left.known_kg == pytest.approx(
        0.2 * left.heat_kwh + 0.3 * left.power_kwh + 0.5 * left.landfill_kg
    )
    assert "a test" in emission_words(left)[1]


def test_no_factor_no_carbon(by_hand) -> None:
    left = emissions_of(cost_of(by_hand, 80, None, (), seed=1, replications=2), Emissions())
    assert left.landfill_kg == 0.0
    assert left.known_kg is None
    assert "no factors" in emission_words(left)[1]


def test_one_factor_alone_is_said_to_be_alone(by_hand) -> None:
    cost = cost_of(by_hand, 80, None, (), seed=1, replications=2)
    left = emissions_of(cost, Emissions(power_kg_per_kwh=0.3))
    assert left.known_kg == pytest.approx(0.06)
    assert "for power: 60 kg" in emission_words(left)[1]


def test_mixed_balls_take_heat_and_power_too(by_hand) -> None:
    mixed = replace(CHANGE, second_balls=8.0, waste_kg=0.0)
    left = emissions_of(cost_of(by_hand, 80, mixed, (), seed=1, replications=2), Emissions())
    assert left.heat_kwh == pytest.approx(1.5 * 1.1)
