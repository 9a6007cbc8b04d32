"""The cost of a ball of a mill: the same numbers as the other rooms give."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.ball.from_mill import terms_of
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.line.heat.answer import heat_answer
from clew.line.heat.from_mill import heat_terms
from clew.line.improve.crew import crew_table
from clew.line.improve.money import shift_cost, shift_prices_of
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.measures import MEASURES
from clew.mill import mill_from_text
from clew.plan.costing.ball_cost import ball_cost
from clew.plan.packing.cost import pack_cost

REPLICATIONS = 10
SHIFT = ("yarn", "giveaway", "line_waste", "hands", "band")


def smooth(cost) -> float:
    """The cost of a wound ball by the parts that a simulated shift has as well."""
    return sum(cost.money_of(key) for key in SHIFT)


@pytest.mark.parametrize("name", ["Querl 100", "Dunnow 50", "Sallowe 100"])
def test_a_shift_costs_the_same(demo_mill, name) -> None:
    cost = ball_cost(demo_mill, name, replications=REPLICATIONS, seed=3)
    layout, prices = layout_of(demo_mill, "", name), shift_prices_of(demo_mill, name)
    answer = shift_answer(layout, replications=REPLICATIONS, seed=3)
    means = np.array([[answer.measures[key].mean for key in MEASURES]])
    assert smooth(cost) == pytest.approx(
        float(shift_cost(layout, prices, means)[0]) / answer.balls.mean, rel=1e-12
    )


def test_the_crew_table_says_the_same(demo_mill) -> None:
    cost = ball_cost(demo_mill, "Querl 100", replications=REPLICATIONS, seed=5)
    layout, prices = layout_of(demo_mill, "", "Querl 100"), shift_prices_of(demo_mill, "Querl 100")
    table = crew_table(layout, prices, most_hands=2, replications=REPLICATIONS, seed=5)
    assert table.rows[1].hands == layout.hands
    assert smooth(cost) / cost.figures.line_first_frac == pytest.approx(
        table.rows[1].cost_per_ball.mean, rel=1e-9
    )


def test_giveaway_is_the_mean_ball_above_the_declaration(demo_mill, querl) -> None:
    terms = terms_of(demo_mill, "Querl 100")
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    figures = querl.figures
    assert figures.over_g + figures.whole_turn_g == pytest.approx(answer.over_mass_g, rel=1e-9)
    kg_per_g = querl.money_of("yarn") / (17.5 * 100.0)
    assert querl.money_of("giveaway", "whole_turn") == pytest.approx(
        17.5 * kg_per_g * answer.over_mass_g, rel=1e-9
    )


def test_yarn_is_bought_with_its_finish_and_its_water(querl) -> None:
    """100 g at 9.5 % regain were 100/1.095 dry, /0.992 with finish, at 9 % regain x 1.09.

    Winding keeps the mass, so shrink and stretch are not in it.
    """
    assert querl.money_of("yarn") == pytest.approx(17.5 * 0.1 / 1.095 / 0.992 * 1.09, rel=1e-9)


def test_a_commercial_ball_is_bought_dry(demo_mill) -> None:
    """50 g at the wool's agreed 17 %, spun at 15 %, with 0.8 % of finish."""
    cost = ball_cost(demo_mill, "Dunnow 50", replications=REPLICATIONS)
    from clew.ball.from_mill import allowance_of

    allowance = allowance_of(demo_mill.find_blend("pure wool"))
    assert cost.money_of("yarn") == pytest.approx(
        17.5 * 0.05 / (1.0 + allowance) / 0.992 * 1.15, rel=1e-9
    )


def test_parts_stages_and_total_agree(querl) -> None:
    assert sum(stage.money for stage in querl.stages) == pytest.approx(querl.total, rel=1e-14)
    assert len({part.key for part in querl.parts}) == len(querl.parts)
    assert querl.low < querl.total < querl.high
    assert [stage.key for stage in querl.stages] == ["cone", "line", "knots", "changes", "packed"]
    assert querl.per_kg == pytest.approx(10.0 * querl.total)


def test_heat_is_that_of_the_feed_the_shift_runs(demo_mill, querl) -> None:
    answer = shift_answer(layout_of(demo_mill, "", "Querl 100"), replications=REPLICATIONS, seed=1)
    feed = answer.measures["laid_m"].mean / (6 * 8 * 3600.0)
    assert feed < 5.0
    terms = replace(heat_terms(demo_mill, "", "Querl 100"), feed_m_per_s=feed)
    per_h = heat_answer(terms, draws=20).money.money_per_h
    assert querl.money_of("steam", "drying") == pytest.approx(
        per_h / (answer.balls.mean / 8.0), rel=1e-9
    )
    assert querl.money_of("power") == pytest.approx(9.5 * 0.21 * 8.0 / answer.balls.mean)
    assert querl.money_of("overhead") == pytest.approx(38.0 * 8.0 / answer.balls.mean)


def test_packing_is_the_packing_rooms(demo_mill, querl) -> None:
    parts = {part.key: part.money for part in pack_cost(demo_mill, "Querl 100")}
    for key in ("bag", "case", "pallet", "hands"):
        assert querl.money_of(f"pack_{key}") == parts[key] > 0.0
    assert querl.money_of("pack_freight") == 0.0


def test_dearer_yarn_makes_a_ball_dearer_by_just_its_mass(edited, demo_mill) -> None:
    """Every kilogram taken from cones for a first-quality ball costs 1 more, change and all."""
    now = ball_cost(demo_mill, "Querl 100", replications=REPLICATIONS)
    then = ball_cost(
        edited(("yarn_per_kg = 17.5", "yarn_per_kg = 18.5")), "Querl 100", replications=REPLICATIONS
    )
    figures, run = now.figures, now.run_balls
    mixed = now.change.second_balls / run
    kg = (figures.wound_per_first + mixed) * (figures.ball_kg + figures.line_waste_kg)
    assert then.total - now.total == pytest.approx(kg + now.change.waste_kg / run, rel=1e-9)


def test_dearer_balls_credit_second_quality(edited, querl) -> None:
    then = ball_cost(edited(("price = 4.6", "price = 5.6")), "Querl 100", replications=REPLICATIONS)
    assert then.total - querl.total == pytest.approx(-0.45 * querl.second_balls, rel=1e-3)


def test_a_longer_run_spreads_its_change(demo_mill) -> None:
    short, long = (
        ball_cost(demo_mill, "Querl 100", run_balls=balls, replications=REPLICATIONS)
        for balls in (600, 1200)
    )
    at = {
        cost.run_balls: next(s for s in cost.stages if s.key == "changes") for cost in (short, long)
    }
    assert at[600].money == pytest.approx(2.0 * at[1200].money)
    assert short.total - long.total == pytest.approx(at[1200].money)
    assert long.run_balls == 1200


def test_without_prices_it_says_what_is_not_counted(edited) -> None:
    mill = edited(
        ("price = 4.6", "# no price"),
        ("fuel_per_kwh = 0.06", "# no fuel"),
        ("power_kw = 9.5", "# no power"),
    )
    cost = ball_cost(mill, "Querl 100", replications=REPLICATIONS)
    assert cost.margin is None
    assert cost.foregone is None
    assert cost.money_of("steam", "drying", "power") == 0.0
    assert cost.money_of("knot_second") > 0.0
    said = " ".join(cost.notes)
    for words in ("No price of the ball", "fuel_per_kwh", "power_kw is not stated", "straight"):
        assert words in said


def test_a_mill_that_does_not_look_ahead_winds_straight(edited, querl) -> None:
    straight = ball_cost(
        edited(("look_ahead = ", "# look_ahead = ")), "Querl 100", replications=REPLICATIONS
    )
    assert straight.figures.knot_waste_frac == 0.0
    assert straight.figures.knot_second_frac > querl.figures.knot_second_frac


def test_a_measured_lot_is_costed_as_measured(demo_mill, querl) -> None:
    """A count heavier than nominal winds fewer metres into the same mass: yarn is the same."""
    cost = ball_cost(demo_mill, "Querl 100", "SL-207", replications=REPLICATIONS)
    assert cost.money_of("yarn") == pytest.approx(17.5 * 0.1 / 1.095 / 0.992 * 1.092, rel=1e-9)
    assert cost.figures.lot_name == "SL-207"


def test_the_same_question_has_the_same_answer(demo_mill, querl) -> None:
    assert ball_cost(demo_mill, "Querl 100", replications=REPLICATIONS) == querl
    other = ball_cost(demo_mill, "Querl 100", replications=REPLICATIONS, seed=2)
    assert other.total != querl.total
    assert other.total == pytest.approx(querl.total, rel=0.01)


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ({"ball_name": "Nettle 50"}, "ball"),
        ({"ball_name": "Querl 100", "lot_name": "BR-091"}, "dye lot"),
        ({"ball_name": "Querl 100", "line_name": "Line 9"}, "line"),
        ({"ball_name": "Querl 100", "run_balls": 0}, "run without balls"),
    ],
)
def test_what_is_not_there_is_named(demo_mill, asked, word) -> None:
    with pytest.raises(BadInput, match=word):
        ball_cost(demo_mill, replications=REPLICATIONS, **asked)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        (
            (
                ('shift_time = "8 h"', 'shift_time = "20 s"'),
                ("crew_breaks = 2", "crew_breaks = 0"),
                ('doff_time = "7 s"', 'doff_time = "600 s"'),
            ),
            "a shift gives no first-quality ball",
        ),
        (
            (
                ('breaks = "0.35 /km"', 'breaks = "300 /km"'),
                ("breaks_cv = 0.9", "breaks_cv = 0.0"),
                ("look_ahead = ", "# look_ahead = "),
                ("knot_limit = 2", "knot_limit = 0"),
            ),
            "joins leave no ball",
        ),
    ],
)
def test_where_no_ball_is_first_quality_there_is_no_cost(edited, changes, word) -> None:
    with pytest.raises(BadInput, match=word):
        ball_cost(edited(*changes), "Querl 100", replications=REPLICATIONS)


def test_a_mill_without_orders_or_colours(demo_text) -> None:
    """The creel's 24 cones of 1.6 kg are 384 balls of 100 g; nothing to change from."""
    text = demo_text[
        : demo_text.index(
            "# ---------------------------------------------------------------- colours"
        )
    ]
    rest = demo_text[
        demo_text.index(
            "# ---------------------------------------------------------------- joins"
        ) :
    ]
    cost = ball_cost(mill_from_text(text + rest), "Querl 100", replications=REPLICATIONS)
    assert cost.run_balls == 384
    assert cost.change is None
    assert cost.money_of("first_balls") == pytest.approx(12 * 2.5 / 384)
    assert any("no second colour" in note for note in cost.notes)
