"""A trace as EPCIS events: each thing once, in order of time, with the same names every time."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

import pytest
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import KeptInList, live, messages_of

from clew.faults import BadInput
from clew.ledger.trace.answer import ForwardTrace
from clew.ledger.trace.epcis import Keys, epcis_document
from clew.ledger.trace.forwards import forward_from_cone
from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

ZONE, MADE = "Europe/London", 1_781_000_000_000_000


def test_cones_become_balls_cases_pallets_and_leave(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    truth = live(way, ball_name=BALL, hours=2.0, seed=2)
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(truth.messages)))
    trace = forward_from_cone(tracing, "C1-002")
    document = epcis_document(
        trace, Keys(), made_us=MADE, zone=ZONE, ball_name=BALL, declared_g=100.0
    )
    events = document["epcisBody"]["eventList"]
    times = [one["eventTime"] for one in events]
    assert times == sorted(times)
    (made,) = [one for one in events if one["type"] == "TransformationEvent"]
    assert made["inputEPCList"] == ["https://mill.example/obj/C1-002"]
    assert made["outputQuantityList"] == [
        {"epcClass": "https://mill.example/class/Querl%20100.SL-207", "quantity": len(trace.balls)}
    ]
    assert made["clew:sure"] is False
    assert made["clew:declared"] == {"value": len(trace.balls) / 10, "uom": "KGM"}
    assert {one["clew:declared"]["value"] for one in events if "childQuantityList" in one} == {2.0}
    packed = [one["parentID"] for one in events if "childQuantityList" in one]
    assert packed == [f"https://mill.example/obj/{one.case}" for one in trace.cases]
    shipped = [one for one in events if one.get("bizStep") == "shipping"]
    assert {one["epcList"][0] for one in shipped} == {
        f"https://mill.example/obj/{one.pallet}" for one in trace.cases
    }
    for one in shipped:
        of = next(case for case in trace.cases if one["epcList"][0].endswith(f"/{case.pallet}"))
        party = f"https://mill.example/party/{quote(of.customer)}"
        assert one["destinationList"] == [{"type": "owning_party", "destination": party}]
    again = epcis_document(
        trace, Keys(), made_us=MADE + 1, zone=ZONE, ball_name=BALL, declared_g=100.0
    )
    assert [one["eventID"] for one in again["epcisBody"]["eventList"]] == [
        one["eventID"] for one in events
    ]
    assert len({one["eventID"] for one in events}) == len(events)


def test_nothing_found_is_nothing_to_write() -> None:
    with pytest.raises(BadInput, match="nothing to write"):
        epcis_document(ForwardTrace("x", (), (), (), ()), Keys(), made_us=MADE, zone=ZONE)


def test_gs1_urns_need_the_company_prefix() -> None:
    with pytest.raises(BadInput, match="prefix"):
        Keys(gtin="4006381333931")
    with pytest.raises(BadInput, match="no web address"):
        Keys(site="ostrel")
