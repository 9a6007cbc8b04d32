"""What packing costs where the mill file leaves out how many cases go on a pallet."""

from __future__ import annotations

from clew.mill.balls import Packing
from clew.mill.model import Mill
from clew.plan.packing.answer import pack_answer
from clew.plan.packing.cost import pack_cost
from clew.plan.packing.words import pack_words

BALL = "Querl 100"


def with_packing(mill: Mill, packing: Packing, freight: float, price: float = 12.0) -> Mill:
    pallet = mill.pack.pallet.model_copy(update={"freight": freight, "price": price})
    balls = tuple(
        one.model_copy(update={"packing": packing}) if one.name == BALL else one
        for one in mill.ball
    )
    pack = mill.pack.model_copy(update={"pallet": pallet})
    return mill.model_copy(update={"ball": balls, "pack": pack})


def test_freight_is_no_case_s_alone_where_nobody_said_how_many_stand_on_a_pallet(
    demo_mill: Mill,
) -> None:
    terms = {"balls_per_bag": 10, "bags_per_case": 8, "case": "Medium"}
    unsaid = with_packing(demo_mill, Packing(**terms), 480.0)
    parts = {part.key: part.money for part in pack_cost(unsaid, BALL)}
    assert parts["pallet"] == parts["freight"] == 0.0 < parts["hands"]
    found = pack_answer(unsaid, BALL)
    assert found.saved_per_ball is None and found.saved_a_year is None
    assert not found.present.pallet_counted
    (now,) = [one for one in pack_words(found) if one.startswith("At present")]
    assert "without the pallet and its freight" in now and "to a pallet" not in now

    one_case = with_packing(demo_mill, Packing(**terms, cases_per_pallet=1), 480.0)
    parts = {part.key: part.money for part in pack_cost(one_case, BALL)}
    assert parts["freight"] == 480.0 / 80
    assert pack_answer(one_case, BALL).present.pallet_counted


def test_without_a_pallet_to_pay_for_nothing_is_left_out(demo_mill: Mill) -> None:
    unsaid = Packing(balls_per_bag=10, bags_per_case=8, case="Medium")
    found = pack_answer(with_packing(demo_mill, unsaid, 0.0, 0.0), BALL)
    assert found.present.pallet_counted
    assert any("1 case to a pallet" in one for one in pack_words(found))
