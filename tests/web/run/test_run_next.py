"""From a run on: its weighings out of the ledger, links that carry what was chosen, taking back."""

from __future__ import annotations

import html
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_in_time
from clew.mill import read_mill, write_demo
from clew.web.run.weighings import RunWeighings

LINE = {"line": "Line 1"}
START = {**LINE, "ball": "Querl 100", "lot": "SL-207", "order": "1041"}


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    """A mill of its own."""
    write_demo(tmp_path / "mill")
    return tmp_path / "mill"


@pytest.fixture
def tablet(open_mill: Any, mill: Path) -> TestClient:
    """Its workbench, with a lead at the tablet."""
    made: TestClient = open_mill(mill)
    made.cookies.set("clew_hand", "Ina")
    return made


def ledger_of(client: TestClient) -> Ledger:
    ledger: Ledger = client.app.state.bench.ledger.ledger()  # type: ignore[attr-defined]
    return ledger


def tell(client: TestClient, *said: dict[str, Any]) -> None:
    """Have machines tell something, a millisecond apart, from now on."""
    now = datetime.now(UTC)
    told = [
        {**LINE, "at": (now + timedelta(microseconds=100 * place)).isoformat(),
         "key": f"{now.timestamp()} {place}", **one}
        for place, one in enumerate(said)
    ]  # fmt: skip
    answer = client.post("/api/events", json=told)
    assert {one["outcome"] for one in answer.json()["events"]} == {"kept"}, answer.text


def weighed(lane: int, ball: int, mass_g: float) -> dict[str, Any]:
    return {"kind": "weighing", "lane": lane, "ball": ball, "mass_g": mass_g}


def start(client: TestClient) -> str:
    assert client.post("/run/start", data=START | {"key": "start-the-run-1"}).status_code == 303
    (record,) = records_in_time(ledger_of(client), "Line 1", kinds=("run start",))
    return str(record.run)


def runs(client: TestClient, mill: Path) -> RunWeighings:
    return RunWeighings(read_mill(mill), lambda: ledger_of(client))


def test_a_ball_weighed_and_reeled_is_one_row_and_a_slip_is_none(
    tablet: TestClient, mill: Path
) -> None:
    run = start(tablet)
    tell(
        tablet,
        weighed(1, 1, 101.5), weighed(4, 1, 104.0), weighed(4, 2, 30_000.0),
        {"kind": "length check", "lane": 4, "ball": 1, "length_m": 203.0, "mass_g": 104.0},
        weighed(2, 1, 99.0),
    )  # fmt: skip
    slip = next(iter(records_in_time(ledger_of(tablet), "Line 1", kinds=("weighing",), lane=2)))
    tell(tablet, {"kind": "correction", "of_seq": slip.seq, "void": True, "why": "no ball"})
    found = runs(tablet, mill).read(f"run:{run}")
    winder = found.factors["winder"]
    rows = {
        (winder.names[code], float(mass), None if np.isnan(length) else float(length))
        for code, mass, length in zip(
            winder.codes, found.numbers["mass_g"], found.numbers["length_m"], strict=True
        )
    }
    assert rows == {("1", 101.5, None), ("4", 104.0, 203.0)}


def test_what_a_winder_wound_before_it_was_set_says_nothing_of_it_now(
    tablet: TestClient, mill: Path
) -> None:
    run = start(tablet)
    tell(tablet, weighed(4, 1, 104.0), weighed(1, 1, 101.0))
    change = {**LINE, "winder-4": "770", "why": "runs heavy", "key": "set-it-once-1"}
    assert tablet.post("/run/set", data=change).status_code == 303
    tell(tablet, weighed(4, 2, 103.0), weighed(4, 3, 101.2), weighed(1, 2, 101.1))
    found = runs(tablet, mill)
    whole, now = (found.read(f"run:{run}", as_set=one) for one in (False, True))
    assert sorted(whole.numbers["mass_g"]) == [101.0, 101.1, 101.2, 103.0, 104.0]
    assert sorted(now.numbers["mass_g"]) == [101.0, 101.1, 101.2]
    (one,) = found.runs()
    assert (one.counts["4"], one.counts["1"], one.running) == (770.0, 786.0, True)


def test_an_ended_run_leads_to_its_lot_and_the_front_page_follows_the_run(
    tablet: TestClient,
) -> None:
    assert tablet.get("/").headers["location"] == "/wind"
    run = start(tablet)
    assert tablet.get("/").headers["location"] == "/run"
    doffs = [{"kind": "doff", "lane": 1, "ball": number} for number in range(1, 31)]
    tell(tablet, *doffs, *(weighed(1, number, 101.0) for number in range(1, 28)))
    tablet.post("/run/end", data={**LINE, "why": "done", "key": "end-it-once-1"})
    page = html.unescape(tablet.get("/run?told=end").text)
    found = re.search(r'href="(/lots\?[^"]*)">Test the lot SL-207', page)
    assert found
    for said in (f"file=run%3A{run}", "size=30", "order=1041", "lot=SL-207"):
        assert said in found[1]
    lots = html.unescape(tablet.get(found[1]).text)
    assert f'<option value="run:{run}" selected>' in lots
    assert re.search(r'id="size" name="size" value="30"', lots)


@pytest.mark.parametrize("deed", ["start", "set", "end"])
def test_a_deed_just_entered_is_taken_back_by_who_entered_it(tablet: TestClient, deed: str) -> None:
    start(tablet)
    if deed != "start":
        typed = {"set": {"winder-4": "770", "why": "heavy"}, "end": {"why": "done"}}[deed]
        tablet.post(f"/run/{deed}", data={**LINE, **typed, "key": "deed-once-123"})
    (record,) = records_in_time(ledger_of(tablet), "Line 1", kinds=(f"run {deed}",))
    undo = {**LINE, "seq": str(record.seq)}
    tablet.cookies.set("clew_hand", "Joss")
    assert "Take it back" not in tablet.get("/run").text
    assert tablet.post("/run/undo", data=undo).status_code == 422
    tablet.cookies.set("clew_hand", "Ina")
    assert "Take it back" in tablet.get("/run").text
    assert tablet.post("/run/undo", data=undo).headers["location"].endswith("told=undo")
    assert tablet.post("/run/undo", data=undo).status_code == 422
    page = tablet.get("/run").text
    assert ('action="/run/start"' in page) == (deed == "start")
    if deed == "set":
        assert re.search(r'name="winder-4"[^>]* value="786"', page)


def test_orders_lead_to_card_and_start_with_what_was_planned(tablet: TestClient) -> None:
    page = html.unescape(tablet.get("/orders?within=1").text)
    card = re.search(r'href="(/wind/card\?[^"]*)">Run card<span class="unseen"> of 1041', page)
    assert card
    shown = html.unescape(tablet.get(card[1]).text)
    begin = re.search(r'href="(/run\?[^"]*)#start-run">Start this run', shown)
    assert begin
    form = tablet.get(begin[1]).text
    assert "<option selected>Querl 100</option>" in form
    assert re.search(r'name="order"[^>]* value="1041"', form)
    tried = tablet.get("/wind/card?ball=Querl+100&lot=SL-207&target_mass=102+g").text
    assert "Start this run" not in tried  # a run starts from the mill file, not from what was tried


def test_a_closed_case_leads_to_its_pallet_and_is_taken_back(tablet: TestClient) -> None:
    start(tablet)
    tell(tablet, *({"kind": "doff", "lane": 1, "ball": number} for number in range(1, 91)))
    closing = {**LINE, "lot": "SL-207", "balls": "80", "by": "Ina", "key": "case-once-1234"}
    told = tablet.post("/case/close-case", data=closing).headers["location"]
    page = html.unescape(tablet.get(told.partition("#")[0]).text)
    onto = re.search(r'href="(/case\?[^"#]*)#close-pallet">Put it on a pallet', page)
    assert onto
    assert re.search(r'name="case" value="[^"]+" checked', tablet.get(onto[1]).text)
    package = re.search(r'name="package" value="([^"]+)"><button', page)
    assert package
    undo = {"package": package[1]}
    back = tablet.post("/case/undo", data=undo).headers["location"].partition("#")[0]
    text = html.unescape(tablet.get(back).text)
    assert "Taken back." in text
    assert "90 balls of SL-207 left to case" in text
    assert tablet.post("/case/undo", data=undo).status_code == 422


def test_a_decision_without_a_name_is_said_beside_the_field_and_one_is_taken_back(
    tablet: TestClient,
) -> None:
    asked = {"ball": "Querl 100", "lot": "SL-207", "size": "720"}
    tablet.cookies.clear()
    refused = tablet.post("/lots/decide", data=asked | {"by": ""})
    assert refused.status_code == 422
    assert 'aria-describedby="keep-fault"' in refused.text
    assert 'name="size" value="720"' in refused.text
    kept = tablet.post("/lots/decide", data=asked | {"by": "Ina"}).headers["location"]
    page = tablet.get(kept.partition("#")[0]).text
    seq = re.search(r'name="seq" value="(\d+)"', page)
    assert seq
    back = tablet.post("/lots/undo", data=asked | {"seq": seq[1]}).headers["location"]
    text = html.unescape(tablet.get(back.partition("#")[0]).text)
    assert "Taken back." in text
    assert "holds no decision on SL-207 yet" in text
