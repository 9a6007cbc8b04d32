"""A ball packed every way a mill can: masses, costs, limits, what conflicts and what frees it."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.size.shape import Range
from clew.faults import BadInput
from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize
from clew.plan.packing.answer import PackAnswer, pack_answer
from clew.plan.packing.ball_block import LEVELS, BallBlock, block_of, side_at
from clew.plan.packing.conflict import conflicts_of
from clew.plan.packing.cost import cost_parts, pack_cost
from clew.plan.packing.option import case_outside, inner_of, option_of
from clew.plan.packing.plain import plain_pack
from clew.plan.packing.words import pack_words, size_words


@pytest.fixture(scope="module")
def answer(demo_mill: Mill) -> PackAnswer:
    return pack_answer(demo_mill, "querl 100", free=True)


def changed(mill: Mill, ball: str = "Querl 100", **packing: Any) -> Mill:
    """The mill with another habit for one ball."""
    balls = tuple(
        one.model_copy(update={"packing": one.packing.model_copy(update=packing)})
        if one.name == ball
        else one
        for one in mill.ball
    )
    return mill.model_copy(update={"ball": balls})


def with_case(mill: Mill, name: str, **terms: Any) -> CaseSize:
    case = next(one for one in mill.pack.case if one.name == name)
    return case.model_copy(update=terms)


def cube(side: float, mass_g: float = 100.0) -> BallBlock:
    known = Range(side, side, side)
    return BallBlock(known, known, known, True, True, mass_g, mass_g, mass_g)


def test_the_cheapest_first_and_all_that_can_be(demo_mill: Mill, answer: PackAnswer) -> None:
    costs = [one.cost for one in answer.options]
    assert costs == sorted(costs) and answer.best is answer.options[0]
    named = {(one.balls_per_bag, one.case.name) for one in answer.options}
    refused = {(5, "Small"), (10, "Small")}
    assert named | refused == {
        (balls, case.name)
        for balls in (*demo_mill.pack.balls_per_bag_choices, 10)
        for case in demo_mill.pack.case
    }
    assert len(answer.conflicts) == 2


def test_nothing_is_lost_on_the_way(demo_mill: Mill, answer: PackAnswer) -> None:
    rules = demo_mill.pack
    for one in answer.options:
        bags, cases, balls = one.bags_per_case, one.cases_per_pallet, one.balls_per_case
        assert one.bag.gross_g == pytest.approx(
            one.balls_per_bag * answer.block.mass_g + rules.bag_tare_g
        )
        assert one.full_case.gross_g == pytest.approx(bags * one.bag.gross_g + one.case.tare_mass_g)
        assert one.pallet.gross_g == pytest.approx(
            cases * one.full_case.gross_g + rules.pallet.tare_mass_g
        )
        assert one.pallet.gross_g <= rules.pallet.most_mass_g
        assert one.load.height_mm <= rules.pallet.most_height_mm
        assert one.pallet.declared_g == cases * balls * 100.0
        assert one.full_case.volume_m3 == pytest.approx(math.prod(case_outside(one.case)) / 1e9)
        assert demo_mill.safety.heaviest_lift_g is not None
        assert one.full_case.gross_g <= demo_mill.safety.heaviest_lift_g
        assert one.bags_per_case <= one.room.middle.number
        assert one.room.if_large <= one.room.middle.number <= one.room.if_small


def test_cost_of_a_ball_from_the_cost_of_a_pallet(demo_mill: Mill, answer: PackAnswer) -> None:
    rules, hand = demo_mill.pack, demo_mill.prices.hand_per_hour / 3600.0
    for one in answer.options:
        bags = one.bags_per_case * one.cases_per_pallet
        whole = (
            bags * (rules.bag_price + rules.bag_time_s * hand)
            + one.cases_per_pallet * (one.case.price + rules.case_time_s * hand)
            + rules.pallet.price
            + rules.pallet.freight
        )
        assert one.cost == pytest.approx(whole / (bags * one.balls_per_bag))
    assert [part.key for part in one.parts] == ["bag", "case", "pallet", "freight", "hands"]


def test_the_present_habit_is_what_the_costing_takes(demo_mill: Mill, answer: PackAnswer) -> None:
    habit = demo_mill.find_ball("Querl 100").packing
    assert answer.present.parts == pack_cost(demo_mill, "Querl 100")
    assert answer.present.option is not None
    assert answer.present.option.cost == pytest.approx(answer.present.cost)
    assert answer.present.option.cases_per_pallet == habit.cases_per_pallet
    best = answer.best
    assert best is not None and answer.saved_a_year == pytest.approx(
        90_000 * (answer.present.cost - best.cost)
    )
    assert sum(part.money for part in pack_cost(changed(demo_mill, case=None), "Querl 100")) < (
        answer.present.cost
    )


@pytest.mark.parametrize("ball", ["Querl 100", "Querl 200", "Dunnow 50", "Sallowe 100"])
def test_every_habit_of_the_demo_mill_can_be(demo_mill: Mill, ball: str) -> None:
    found = pack_answer(demo_mill, ball)
    assert found.present.conflicts == () and found.present.option is not None
    assert found.present.option.fit in ("sure", "likely")
    assert found.saved_per_ball is not None and found.saved_per_ball >= 0.0


def test_a_heaviest_lift_is_kept(demo_mill: Mill) -> None:
    safety = demo_mill.safety.model_copy(update={"heaviest_lift_g": 5_000.0})
    light = demo_mill.model_copy(update={"safety": safety})
    block, case = block_of(light, "Querl 100"), with_case(light, "Medium")
    found = option_of(light, block, 10, case)
    assert found is not None and (found.bags_per_case, found.case_limit) == (4, "heaviest lift")
    none = light.model_copy(
        update={"safety": safety.model_copy(update={"heaviest_lift_g": 1_000.0})}
    )
    assert option_of(none, block, 10, case) is None
    (conflict,) = conflicts_of(none, block, 10, case)
    assert conflict.key == "case_mass" and conflict.frees == (
        "3 balls in a bag, and one bag in the case",
    )
    fits = option_of(none, block, 3, case)
    assert fits is not None and fits.bags_per_case == 1
    assert option_of(none, block, 4, case) is None


def test_what_would_free_a_case_too_small(demo_mill: Mill) -> None:
    block, case = cube(100.0), with_case(demo_mill, "Small", inner_height_mm=250.0)
    plain = demo_mill.model_copy(
        update={"pack": demo_mill.pack.model_copy(update={"squeeze_frac": 0.0, "bag_film_mm": 0.0})}
    )
    assert inner_of(case) == (390.0, 290.0, 250.0)
    (conflict,) = conflicts_of(plain, block, 6, case, bags=3)
    assert conflict.key == "case_room"
    assert conflict.words == "3 bags of 6 balls do not fit the case Small: it holds 2 bags"
    assert conflict.frees == (
        "a case 10 mm longer inside along its width",
        "a case 50 mm longer inside along its height",
        "a case 210 mm longer inside along its length",
        "2 bags in the case",
        "4 balls in a bag",
        "the case Medium",
        "the case Large",
    )
    wider = case.model_copy(update={"inner_width_mm": 300.0})
    assert conflicts_of(plain, block, 6, wider, bags=3) == ()
    almost = case.model_copy(update={"inner_width_mm": 299.0})
    assert conflicts_of(plain, block, 6, almost, bags=3) != ()


def test_a_pallet_that_cannot_be(demo_mill: Mill) -> None:
    mill = changed(demo_mill, cases_per_pallet=30)
    found = pack_answer(mill, "Querl 100")
    (conflict,) = found.present.conflicts
    assert conflict.key == "pallet" and "it holds 25" in conflict.words
    assert conflict.frees == (
        "25 cases on the pallet",
        "a pallet that may stand 2532 mm high, for 6 layers",
        "cases 56 mm lower",
    )
    assert found.saved_per_ball is None, "a habit that cannot be is nothing to compare with"
    assert any("What would free it" in line for line in pack_words(found))


def test_a_habit_without_a_case_is_not_judged(demo_mill: Mill) -> None:
    found = pack_answer(changed(demo_mill, case=None), "Querl 100")
    assert found.present.option is None and found.saved_per_ball is None
    assert any("names no case" in line for line in pack_words(found))


def test_a_case_without_a_price_is_not_called_cheapest(demo_mill: Mill) -> None:
    cases = tuple(one.model_copy(update={"price": 0.0}) for one in demo_mill.pack.case[:2])
    pack = demo_mill.pack.model_copy(update={"case": (*cases, demo_mill.pack.case[2])})
    found = pack_answer(demo_mill.model_copy(update={"pack": pack}), "Querl 100")
    assert found.best is not None and found.best.case.name == "Large"
    assert [one.priced for one in found.options] == [True, True, False, False]


def test_bad_questions_are_refused_at_once(demo_mill: Mill) -> None:
    bare = demo_mill.model_copy(update={"pack": demo_mill.pack.model_copy(update={"case": ()})})
    with pytest.raises(BadInput) as bad:
        pack_answer(bare, "Querl 100", balls_per_bag=0)
    assert [fault.what for fault in bad.value.faults] == [
        "no case to pack into", "no count of balls",
    ]  # fmt: skip
    with pytest.raises(BadInput):
        pack_answer(demo_mill, "Nobody")


def test_a_case_made_to_size_holds_what_it_is_made_for(answer: PackAnswer) -> None:
    assert answer.free is not None and answer.free.option is not None
    made, option = answer.free.middle, answer.free.option
    assert option.bags_per_case == 8 and option.room.middle.number >= 8 and not option.priced
    assert made.board_m2 < answer.free.large.board_m2
    medium = next(one for one in answer.options if one.case.name == "Medium")
    length, width, height = case_outside(medium.case)
    assert made.board_m2 < 2.0 * (length + width) * (height + width) / 1e6
    assert option.case.tare_mass_g < medium.case.tare_mass_g


def test_plain_values_are_json_with_stable_keys(demo_mill: Mill, answer: PackAnswer) -> None:
    plain = plain_pack(answer, deck_mm=144.0, most_height_mm=2200.0)
    json.dumps(plain, allow_nan=False)
    assert set(plain) == {
        "ball", "currency", "words", "ball_size", "best", "options", "present",
        "saved_per_ball_money", "saved_a_year_money", "made_a_year", "conflicts", "free",
        "drawings",
    }  # fmt: skip
    best = plain["best"]
    assert best["cost_per_ball_money"]["total"] == pytest.approx(answer.options[0].cost)
    assert best["lift"]["at_start"]["recommended_kg"] == pytest.approx(
        best["lift"]["recommended_kg"]
    )


def test_words_say_the_doubt_and_never_promise(answer: PackAnswer) -> None:
    said = " ".join(pack_words(answer))
    assert said.startswith("Querl 100: pack 10 to a bag, 8 bags to the case Medium, 25 cases")
    assert "no ball of it was measured" in said and "not the largest" in said
    assert "safe" not in said.casefold()


def test_round_and_pressed_balls(demo_mill: Mill) -> None:
    balls = tuple(one.model_copy(update={"press_gap_mm": None}) for one in demo_mill.ball)
    loose = block_of(demo_mill.model_copy(update={"ball": balls}), "Querl 100")
    flat = block_of(demo_mill, "Querl 100")
    assert not loose.pressed and flat.pressed
    assert loose.breadth_mm == loose.height_mm
    assert side_at(flat.height_mm, "high") < side_at(loose.height_mm, "low")
    assert flat.mass_g == pytest.approx(flat.yarn_mass_g + 2.1)
    assert "round, as the box about it" in size_words(loose)


@given(st.floats(1.0, 100.0), st.floats(0.0, 50.0))
def test_the_middle_lies_between_the_ends(low: float, more: float) -> None:
    low_side, middle, high = (side_at(Range(low, low + more), level) for level in LEVELS)
    assert low_side <= middle <= high
    assert side_at(Range(low, low + more, low), "middle") == low


@given(st.integers(1, 30), st.integers(1, 30), st.integers(1, 60))
def test_more_in_a_case_never_costs_more(
    demo_mill: Mill, balls: int, bags: int, cases: int
) -> None:
    case = demo_mill.pack.case[0]

    def cost(bags: int, cases: int) -> float:
        parts = cost_parts(
            demo_mill, case, balls_per_bag=balls, bags_per_case=bags, cases_per_pallet=cases
        )
        return sum(part.money for part in parts)

    assert cost(bags + 1, cases) <= cost(bags, cases)
    assert cost(bags, cases + 1) <= cost(bags, cases)
