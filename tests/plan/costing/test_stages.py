"""The sum by hand, by counting a whole run, and at its limits."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.knots.price import Band
from clew.plan.costing.ball_cost import cost_of
from clew.plan.costing.doubt import doubts_of, joined
from clew.plan.costing.figures import BallFigures
from clew.plan.costing.stages import stages_of
from clew.plan.sequence.timed_run import Change, MoneyPart

CHANGE = Change(
    kind="colour",
    stand_s=600.0,
    clean_s=0.0,
    de00=20.0,
    lightness_rise=-5.0,
    strand_m=500.0,
    waste_kg=0.2,
    second_balls=6.0,
    parts=(
        MoneyPart("strand", "strand", 4.1),
        MoneyPart("mixed_balls", "mixed balls", 99.0),
        MoneyPart("first_balls", "first balls", 30.0),
    ),
)
PACK = (MoneyPart("pack_bag", "bag", 0.02), MoneyPart("pack_case", "case", 0.03))


def total(figures: BallFigures, run: int, change: Change | None, pack=()) -> float:
    return sum(part.money for one in stages_of(figures, run, change, pack) for part in one.parts)


def counted(figures: BallFigures, run: int, change: Change | None, pack=()) -> float:
    """All money of a run, less what second-quality balls fetch, over its first-quality balls."""
    good = figures.line_first_frac * (1.0 - figures.knot_second_frac - figures.knot_waste_frac)
    mixed = change.second_balls if change else 0.0
    wound = run / good
    dropped = wound * figures.knot_waste_frac
    full = wound - dropped + mixed
    ball_kg = (figures.declared_g + figures.over_g + figures.whole_turn_g) * figures.kg_per_g
    kg = (wound + mixed) * (ball_kg + figures.line_waste_kg)
    money = kg * figures.yarn_per_kg
    waste_kg = (wound + mixed) * figures.line_waste_kg + dropped * ball_kg
    money += waste_kg * figures.waste_per_kg
    money += (wound + mixed) * (figures.hands + figures.overhead)
    kwh = figures.steam_kwh + figures.dryer_kwh
    money += (wound + mixed) * (
        kwh * figures.fuel_per_kwh + figures.power_kwh * figures.power_per_kwh
    )
    money += full * figures.band + wound * figures.partings * figures.parting_each
    money -= (full - run) * figures.second_fetches
    if change is None:
        money += figures.first_balls * figures.weigh_each
    else:
        money += sum(one.money for one in change.parts if one.key != "mixed_balls")
    return money / run + sum(one.money for one in pack)


def test_nothing_lost_by_hand(by_hand: BallFigures) -> None:
    """2.00 yarn, 0.10 hands, 0.20 the hour, 0.15 heat, 0.05 power, 0.05 band, 30 over 100 balls."""
    assert total(by_hand, 100, None) == pytest.approx(2.55 + 0.30, abs=1e-12)
    assert total(by_hand, 100, None, PACK) == pytest.approx(2.90, abs=1e-12)


def test_a_tenth_spoilt_by_hand(by_hand: BallFigures) -> None:
    """Of 10 wound balls at 2.55 one fetches 1.00: 24.50 over 9 balls."""
    lossy = replace(by_hand, line_first_frac=0.9, first_balls=0.0)
    assert total(lossy, 100, None) == pytest.approx(24.5 / 9.0, abs=1e-12)


def test_a_change_by_hand(by_hand: BallFigures) -> None:
    """4.10 strand, 30 first balls, 6 mixed balls at 2.55 less 1.00 each, over 100 balls."""
    assert total(by_hand, 100, CHANGE) == pytest.approx(2.55 + (4.1 + 30.0 + 9.3) / 100, abs=1e-12)
    keys = [part.key for one in stages_of(by_hand, 100, CHANGE, ()) for part in one.parts]
    assert keys.count("first_balls") == 1
    assert "change_strand" in keys


shares = st.floats(0.0, 0.3)
money = st.floats(0.0, 5.0)


@settings(max_examples=60)
@given(
    line=st.floats(0.5, 1.0),
    second=shares,
    waste=shares,
    line_waste_kg=st.floats(0.0, 0.02),
    over_g=st.floats(0.0, 5.0),
    partings=st.floats(0.0, 1.0),
    fetches=money,
    run=st.integers(1, 5000),
    changed=st.booleans(),
)
def test_parts_add_up_to_all_money_of_a_run(
    by_hand, line, second, waste, line_waste_kg, over_g, partings, fetches, run, changed
) -> None:
    figures = replace(
        by_hand,
        line_first_frac=line,
        knot_second_frac=second,
        knot_waste_frac=waste,
        line_waste_kg=line_waste_kg,
        over_g=over_g,
        whole_turn_g=0.1,
        partings=partings,
        second_fetches=fetches,
    )
    change = CHANGE if changed else None
    assert total(figures, run, change, PACK) == pytest.approx(
        counted(figures, run, change, PACK), rel=1e-9, abs=1e-9
    )


@given(
    line=st.floats(0.5, 1.0), second=shares, waste=shares, kg=st.floats(0.0, 0.02),
    run=st.integers(1, 5000),
)  # fmt: skip
def test_yields_multiply_to_what_leaves_of_the_yarn(by_hand, line, second, waste, kg, run) -> None:
    figures = replace(
        by_hand,
        line_first_frac=line,
        knot_second_frac=second,
        knot_waste_frac=waste,
        line_waste_kg=kg,
    )
    cost = cost_of(figures, run, None, (), seed=1, replications=2)
    wound = 1.0 / (line * (1.0 - second - waste))
    assert cost.yield_frac == pytest.approx(0.1 / (wound * (0.1 + kg)), rel=1e-9)
    assert cost.second_balls == pytest.approx(wound * (1.0 - waste) - 1.0, abs=1e-9)


def test_a_change_yields_by_balls_and_kilograms(by_hand: BallFigures) -> None:
    """6 mixed balls and 0.2 kg of strand, two balls' worth, beside 92 that leave."""
    stage = next(one for one in stages_of(by_hand, 92, CHANGE, ()) if one.key == "changes")
    assert stage.yield_frac == pytest.approx(0.92)


def test_yields_multiply_with_a_change_too(by_hand: BallFigures) -> None:
    """100 balls of 0.1 kg leave; 100/0.72 wound and 6 mixed at 0.11 kg, and 0.2 kg, were taken."""
    lossy = replace(
        by_hand,
        line_first_frac=0.8,
        knot_second_frac=0.06,
        knot_waste_frac=0.04,
        line_waste_kg=0.01,
    )
    cost = cost_of(lossy, 100, CHANGE, (), seed=1, replications=2)
    taken = (100.0 / 0.72 + 6.0) * 0.11 + 0.2
    assert cost.yield_frac == pytest.approx(10.0 / taken, rel=1e-12)


def test_no_loss_looks_like_a_gain(by_hand: BallFigures) -> None:
    """Where second quality fetches more than it cost, the loss stands by itself, and the fetch."""
    dear = replace(by_hand, line_first_frac=0.8, knot_second_frac=0.1, second_fetches=3.0)
    cost = cost_of(dear, 100, CHANGE, PACK, seed=1, replications=2)
    assert all(part.money >= 0.0 for part in cost.parts if not part.key.endswith("_fetch"))
    fetched = [part.money for part in cost.parts if part.key.endswith("_fetch")]
    assert len(fetched) == 3 and max(fetched) < 0.0
    assert sum(fetched) == pytest.approx(-3.0 * cost.second_balls, rel=1e-12)
    assert cost.spent == pytest.approx(
        cost_of(replace(dear, second_fetches=0.0), 100, CHANGE, PACK, seed=1, replications=2).total
    )


def test_each_doubt_is_worked_through_by_itself(by_hand: BallFigures) -> None:
    """A mean ball of 99 to 101 g is 0.02 either way; 6.4 shifts of 12.8 % spread make 10 % pace."""
    unsure = replace(
        by_hand,
        pace_cv=0.128,
        knot_second_band=Band(0.0, 0.0, 0.1),
        balls_per_h=100.0 / 6.4,
        shift_h=1.0,
    )
    found = {one.key: one for one in doubts_of(unsure, 100, None, ())}
    assert found["mean_ball"].high - 2.85 == pytest.approx(0.02, abs=1e-12)
    assert 2.85 - found["mean_ball"].low == pytest.approx(0.02, abs=1e-12)
    assert found["joins"].high == pytest.approx((25.5 - 1.0) / 9.0 + 0.30, abs=1e-12)
    assert found["joins"].low == pytest.approx(2.85, abs=1e-12)
    slow = 1.0 - 1.959964 * 0.128 / 6.4**0.5
    assert found["pace"].high - 2.85 == pytest.approx(0.35 * (1.0 / slow - 1.0), rel=1e-9)
    low, high = joined(2.85, tuple(found.values()))
    assert high - 2.85 == pytest.approx(
        sum((one.high - 2.85) ** 2 for one in found.values()) ** 0.5, rel=1e-9
    )
    assert low < 2.85


def test_the_dearest_doubt_stands_first(by_hand: BallFigures) -> None:
    unsure = replace(by_hand, mean_g_band=Band(95.0, 100.0, 105.0))
    cost = cost_of(unsure, 100, None, (), seed=1, replications=2)
    assert cost.dominates.key == "mean_ball"
    assert cost.low == pytest.approx(cost.total - 0.10)
    assert cost.high == pytest.approx(cost.total + 0.10)


def test_what_second_quality_forgoes(by_hand: BallFigures) -> None:
    """One ball of ten at 1.00 in place of 4.00, over nine."""
    cost = cost_of(replace(by_hand, line_first_frac=0.9), 100, None, (), seed=1, replications=2)
    assert cost.foregone == pytest.approx(3.0 / 9.0)
    assert cost.margin == pytest.approx(4.0 - cost.total)
    assert cost.per_kg == pytest.approx(10.0 * cost.total)
