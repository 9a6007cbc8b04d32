"""What was closed and shipped is what traces, recall and EPCIS see, on both databases."""

from __future__ import annotations

import pytest
from tests.ledger.shipping.bench import Bench, decide
from tests.ledger.trace.truth import Truth, live, messages_of

from clew.ledger.events.moments import show_utc
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.epcis import Keys, epcis_document
from clew.ledger.trace.forwards import forward_from_lot
from clew.ledger.trace.pallets import back_from_pallet
from clew.ledger.trace.recall import recall_list
from clew.ledger.trace.tracing import Tracing
from clew.mill.model import Mill

BALL = "Querl 100"
TOLD = ("case closed", "pallet closed", "shipped", "lot decision", "run end")


@pytest.fixture(scope="module")
def truth(demo_mill: Mill) -> Truth:
    from tests.ledger.trace.truth import KeptInList

    way = Tracing(demo_mill, KeptInList([])).transit(demo_mill.line[0], BALL)[0]
    return live(way, ball_name=BALL, lanes=2, hours=2.0, seed=4)


def test_from_the_winder_to_the_customer_and_back(
    ledger: Ledger, numbered_mill: Mill, truth: Truth
) -> None:
    told = [one for one in truth.messages if one["kind"] not in TOLD]
    ledger.append(sorted(messages_of(told), key=lambda one: one.at_us))
    bench, now = Bench(ledger, numbered_mill), [0]
    ledger.clock = lambda: now[0]
    banded = sorted(truth.balls, key=lambda one: one.banded_us)
    cases = []
    for place in range(0, 60, 20):
        part = banded[place : place + 20]
        now[0] = part[-1].banded_us + 60_000_000
        cases.append(
            bench.case(20, first=show_utc(part[0].banded_us), last=show_utc(part[-1].banded_us))
        )
    pallet = bench.pallet(cases[:2])
    now[0] += 60_000_000
    decide(ledger, "SL-207", "release")
    now[0] += 60_000_000
    assert bench.ship([pallet]).reasons == ()

    tracing = Tracing(numbered_mill, ledger)
    back = back_from_pallet(tracing, pallet)
    assert [one.case for one in back.cases] == cases[:2]
    assert all(one.sure and one.customer == "Customer 12" for one in back.cases)
    assert {one.delivery for one in back.cases} == {"D-0001"}
    for number, trace in enumerate(back.traces):
        inside = {(one.lane, one.number) for one in banded[number * 20 : number * 20 + 20]}
        assert inside <= {(one.lane, one.number) for one in trace.balls}

    forward = forward_from_lot(tracing, "SL-207")
    rows = {one.name: one for one in recall_list(forward, "Europe/London").rows}
    assert [rows[one].customer for one in cases] == ["Customer 12", "Customer 12", ""]
    assert [rows[one].pallet for one in cases] == [pallet, pallet, ""]

    found = epcis_document(
        forward, Keys(prefix="9521234", gtin="9521234001010"), made_us=now[0],
        zone="Europe/London", ball_name=BALL,
    )  # fmt: skip
    events = found["epcisBody"]["eventList"]
    shipped = [one for one in events if one["bizStep"] == "shipping"]
    urn = f"urn:epc:id:sscc:9521234.{pallet[0]}{pallet[8:17]}"
    assert [one["epcList"] for one in shipped] == [[urn]]
    stacked = [one for one in events if one.get("parentID") == urn]
    assert len(stacked) == 1 and len(stacked[0]["childEPCs"]) == 2
    assert f"urn:epc:id:sscc:9521234.{cases[2][0]}{cases[2][8:17]}" in {
        one.get("parentID") for one in events
    }
