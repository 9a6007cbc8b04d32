"""What one thing more is worth: against mills written otherwise, and by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.mill.net_content import read_tables
from clew.plan.costing.ball_cost import ball_cost
from clew.plan.costing.sensitivities import cost_steps, doubled
from clew.plan.costing.stages import stages_of

REPLICATIONS = 10


def without_last_turn(cost) -> float:
    figures = replace(cost.figures, whole_turn_g=0.0)
    stages = stages_of(figures, cost.run_balls, cost.change, cost.pack)
    return sum(part.money for stage in stages for part in stage.parts)


@pytest.fixture(scope="module")
def steps(demo_mill):
    found = cost_steps(demo_mill, "Querl 100", replications=REPLICATIONS, tables=read_tables())
    return {one.key: one for one in found}


@pytest.mark.parametrize(
    ("key", "before", "after"),
    [
        ("shrink", 'shrink = "20 %"', 'shrink = "21 %"'),
        ("breaks", 'breaks = "0.35 /km"', 'breaks = "1.35 /km"'),
        ("giveaway", 'target_mass = "101 g"', 'target_mass = "102 g"'),
        ("yarn_price", "yarn_per_kg = 17.5", "yarn_per_kg = 19.25"),
    ],
)
def test_as_in_a_mill_file_written_otherwise(steps, edited, querl, key, before, after) -> None:
    then = ball_cost(edited((before, after)), "Querl 100", replications=REPLICATIONS)
    more = without_last_turn(then) - without_last_turn(querl)
    assert steps[key].money_per_ball == pytest.approx(more, rel=1e-6, abs=1e-9)
    assert steps[key].money_per_year == pytest.approx(90000 * more, rel=1e-6, abs=1e-4)


def test_yarn_by_hand(steps, querl) -> None:
    """A tenth of all yarn that is taken, the last turn left out."""
    figures = replace(querl.figures, whole_turn_g=0.0)
    wound = figures.wound_per_first + querl.change.second_balls / querl.run_balls
    kg = wound * (figures.ball_kg + figures.line_waste_kg)
    assert steps["yarn_price"].money_per_ball == pytest.approx(1.75 * kg, rel=1e-9)


def test_what_is_foregone_is_told_apart(steps, querl) -> None:
    """A change more mixes 6 balls, each 55 % of 4.60 short; pace spoils no ball."""
    assert steps["change"].foregone_per_ball == pytest.approx(6 * 0.55 * 4.6 / querl.run_balls)
    assert steps["pace"].foregone_per_ball == 0.0
    assert steps["breaks"].foregone_per_ball > 0.0


def test_pace_by_hand(steps, querl) -> None:
    figures = querl.figures
    wound = figures.wound_per_first + querl.change.second_balls / querl.run_balls
    hourly = figures.hands + figures.overhead + figures.power_kwh * figures.power_per_kwh
    assert steps["pace"].money_per_ball == pytest.approx(
        wound * hourly * (1.0 / 1.01 - 1.0), rel=1e-6
    )


def test_one_change_more_costs_what_one_costs(steps, querl) -> None:
    stage = next(one for one in querl.stages if one.key == "changes")
    assert steps["change"].money_per_ball == pytest.approx(stage.money, rel=1e-2)
    assert doubled(querl.change).cost == pytest.approx(2.0 * querl.change.cost)
    assert doubled(querl.change).de00 == querl.change.de00


def test_a_gram_of_giveaway_is_a_gram_of_yarn_and_its_time(steps, querl) -> None:
    yarn = querl.figures.kg_per_g * 17.5
    assert yarn < steps["giveaway"].money_per_ball < 1.15 * yarn


def test_a_gram_of_spread_is_worth_its_target(steps) -> None:
    moved = float(steps["spread"].words.split("target ")[1].split(" g")[0])
    assert moved > 0.0
    assert steps["spread"].money_per_ball == pytest.approx(
        moved * steps["giveaway"].money_per_ball, rel=0.1
    )


def test_spread_is_left_out_without_tables_or_rules(demo_mill, edited) -> None:
    plain = cost_steps(demo_mill, "Querl 100", replications=REPLICATIONS)
    assert "spread" not in {one.key for one in plain}
    free = edited(
        ('rule_set = "eu-average"\nother_rule_sets = ["uk-2006"]', 'rule_set = "none"\n#'),
    )
    found = cost_steps(free, "Querl 100", replications=REPLICATIONS, tables=read_tables())
    assert "spread" not in {one.key for one in found}


def test_the_largest_stands_first_and_a_year_may_be_unknown(edited) -> None:
    found = cost_steps(
        edited(("made_a_year = 90000", "made_a_year = 0")), "Querl 100", replications=REPLICATIONS
    )
    sizes = [abs(one.money_per_ball) for one in found]
    assert sizes == sorted(sizes, reverse=True)
    assert all(one.money_per_year is None for one in found)
