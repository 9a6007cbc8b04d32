"""A case with several dye lots is traced, recalled and told of by every lot in it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import LINE, KeptInList, Truth, at, live, messages_of

from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.backwards import back_from_band, back_from_case
from clew.ledger.trace.band_code import read_band_code, write_band_code
from clew.ledger.trace.epcis import Keys, epcis_document
from clew.ledger.trace.forwards import forward_from_lot
from clew.ledger.trace.recall import recall_list
from clew.ledger.trace.tracing import Tracing
from clew.mill.model import Mill

ZONE, DAY = "Europe/London", 86_400_000_000
LOTS = ["SL-199", "SL-207"]


@pytest.fixture(scope="module")
def truth(demo_mill: Mill) -> Truth:
    way = Tracing(demo_mill, KeptInList([])).transit(demo_mill.line[0], BALL)[0]
    return live(way, ball_name=BALL, lanes=2, hours=1.5, seed=5)


def told_with_mixed(truth: Truth) -> list[dict[str, Any]]:
    """Have a case's balls be of two lots, and another closed ten days on with what was left."""
    told = [
        {**one, "lot": "SL-199", "lots": LOTS} if one["key"] == "CASE-2" else one
        for one in truth.messages
    ]
    late = at(max(one.banded_us for one in truth.balls) + 10 * DAY)
    told.append(
        {"kind": "case closed", "package": "LEFT-1", "lot": "SL-199", "lots": LOTS, "balls": 7,
         "ball_name": BALL, "at": late, "from": late, "upto": late, "key": "left"}
    )  # fmt: skip
    told.append({"kind": "lot decision", "lot": "SL-199", "decision": "hold", "at": late,
                 "key": "held"})  # fmt: skip
    return told


@pytest.fixture
def tracing(ledger: Ledger, truth: Truth, mill_with: Callable[[str], Mill]) -> Tracing:
    ledger.append(messages_of(told_with_mixed(truth)))
    return Tracing(mill_with("rack"), ledger)


def test_back_from_a_band_finds_the_case_by_any_of_its_lots(tracing: Tracing, truth: Truth) -> None:
    ball = next(one for one in truth.balls if one.case == "CASE-2")
    for lot in ("SL-207", "SL-199"):
        code = write_band_code(lot, LINE, ball.lane, ball.banded_us, ZONE)
        trace = back_from_band(tracing, read_band_code(code, ZONE, lines=(LINE,)))
        assert "CASE-2" in [one.case for one in trace.cases], lot


def test_back_from_the_case_tells_of_every_lot(tracing: Tracing, truth: Truth) -> None:
    trace = back_from_case(tracing, "CASE-2")
    assert trace.lot == "" and trace.cases[0].all_lots == tuple(LOTS)
    assert [(one.lot, one.decision) for one in trace.decisions] == [
        ("SL-207", "release"), ("SL-199", "hold"),
    ]  # fmt: skip
    inside = {(one.lane, one.number) for one in truth.balls if one.case == "CASE-2"}
    assert inside <= {(one.lane, one.number) for one in trace.balls}
    events = document(trace)
    classes = [{"epcClass": f"https://mill.example/class/Querl%20100.{lot}"} for lot in LOTS]
    (made,) = [one for one in events if "outputQuantityList" in one]
    assert made["outputQuantityList"] == classes and made["clew:balls"] == len(trace.balls)


def document(trace: Any) -> list[dict[str, Any]]:
    found = epcis_document(trace, Keys(), made_us=1, zone=ZONE, ball_name=BALL, declared_g=100.0)
    return list(found["epcisBody"]["eventList"])


@pytest.mark.parametrize("lot", ["SL-207", "SL-199", "sl-199"])
def test_a_recall_of_any_lot_names_the_case(tracing: Tracing, lot: str) -> None:
    trace = forward_from_lot(tracing, lot)
    rows = {one.name: one for one in recall_list(trace, ZONE).rows}
    assert {"CASE-2", "LEFT-1"} <= set(rows)
    left = rows["LEFT-1"]
    assert (left.sure, left.balls_sure, left.balls_possible) == (True, 0, 7)
    assert left.lot == "SL-199 and SL-207" and "names the lot" in left.why
    packed = {one["parentID"]: one for one in document(trace) if "childQuantityList" in one}
    mixed = packed["https://mill.example/obj/LEFT-1"]
    assert [set(one) for one in mixed["childQuantityList"]] == [{"epcClass"}] * 2
    assert (mixed["clew:balls"], mixed["clew:declared"]["value"]) == (7, 0.7)


def test_a_recall_names_every_case_that_names_the_lot(
    ledger: Ledger, truth: Truth, mill_with: Callable[[str], Mill]
) -> None:
    """Also one of this lot alone, whose balls nobody told of."""
    late = at(max(one.banded_us for one in truth.balls) + 10 * DAY)
    left = {"kind": "case closed", "package": "LEFT-2", "lot": "SL-207", "balls": 7, "at": late,
            "tokens": ["T-1"], "key": "left 2"}  # fmt: skip
    ledger.append(messages_of([*truth.messages, left]))
    found = recall_list(forward_from_lot(Tracing(mill_with("rack"), ledger), "SL-207"), ZONE)
    rows = {one.name: one for one in found.rows if one.what == "case"}
    assert rows["LEFT-2"].sure and rows["LEFT-2"].balls_possible == 7
    assert set(rows) == {one.case for one in truth.balls if one.case} | {"LEFT-2"}


def test_a_lot_that_shares_no_case_names_none_of_another(tracing: Tracing) -> None:
    assert forward_from_lot(tracing, "SL-2").cases == ()


def test_both_ways_of_reading_say_the_same(
    tracing: Tracing, truth: Truth, mill_with: Callable[[str], Mill]
) -> None:
    in_list = Tracing(mill_with("rack"), KeptInList(messages_of(told_with_mixed(truth))))
    for lot in LOTS:
        assert forward_from_lot(tracing, lot) == forward_from_lot(in_list, lot)
    for name in ("CASE-2", "LEFT-1"):
        assert back_from_case(tracing, name) == back_from_case(in_list, name)
