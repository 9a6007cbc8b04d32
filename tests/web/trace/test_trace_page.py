"""Trace: the page says what the room says, and its files are those of the commands."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from clew.cli.play.shift_script import shift_script
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import records_in_time
from clew.ledger.trace.backwards import back_from_band
from clew.ledger.trace.band_code import read_band_code, write_band_code
from clew.ledger.trace.forwards import forward_from_cone
from clew.ledger.trace.recall import recall_list
from clew.ledger.trace.tracing import Tracing
from clew.mill import write_demo
from clew.mill.model import Mill
from clew.web.app import create_app

CONE = "SL-207-203"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A mill whose line has run for an hour."""
    made = tmp_path_factory.mktemp("traced")
    write_demo(made)
    ledger = open_ledger(url_of(made))
    told = list(shift_script(start=datetime(2026, 11, 25, 6, 0, tzinfo=UTC), minutes=60).messages)
    ledger.append([read_message(one, Sender("demo")) for one in told])
    ledger.close()
    return made


@pytest.fixture
def client(folder: Path) -> TestClient:
    """Its workbench."""
    return TestClient(create_app(folder), base_url="http://127.0.0.1", follow_redirects=False)


@pytest.fixture
def ledger(folder: Path) -> Iterator[Ledger]:
    """Its ledger."""
    opened = open_ledger(url_of(folder))
    yield opened
    opened.close()


def text_of(client: TestClient, status: int = 200, **asked: str) -> str:
    answer = client.get("/trace", params=asked)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text).replace("\u00a0", " ")


def test_a_cone_is_followed_on_as_the_room_says(
    client: TestClient, ledger: Ledger, demo_mill: Mill
) -> None:
    found = forward_from_cone(Tracing(demo_mill, ledger), CONE)
    text = text_of(client, what="cone", name=CONE)
    assert found.balls
    assert f"in {found.sure} ball" in text
    assert f"in {found.possible} more possibly" in text
    for ball in found.balls:
        assert ball.name in text
    for case in found.cases:
        assert case.case in text


def test_a_band_leads_back_to_cones_of_its_dye_lot(
    client: TestClient, ledger: Ledger, demo_mill: Mill
) -> None:
    banded = list(records_in_time(ledger, "Line 1", kinds=("banded",), lane=4))
    code = write_band_code("SL-207", "Line 1", 4, banded[-5].at_us, demo_mill.mill.time_zone)
    text = text_of(client, what="band", name=code)
    read = read_band_code(code, demo_mill.mill.time_zone, lines=("Line 1",))
    found = back_from_band(Tracing(demo_mill, ledger), read)
    assert found.cones
    for cone in found.cones:
        assert cone.cone.startswith("SL-207-4")
        assert cone.cone in text
        assert cone.spinner in text
    assert "Its cones" in text
    assert text_of(client, what="band", name=code.lower().replace("_", " ")).count("SL-207-4")


def test_the_files_are_those_of_the_commands(
    client: TestClient, ledger: Ledger, demo_mill: Mill
) -> None:
    asked = {"what": "cone", "name": CONE}
    found = recall_list(forward_from_cone(Tracing(demo_mill, ledger), CONE), "Europe/London")
    table = client.get("/trace/recall.csv", params=asked)
    rows = list(csv.DictReader(io.StringIO(table.content.decode())))
    assert [row["name"] for row in rows] == [row.name for row in found.rows]
    paper = client.get("/trace/recall.pdf", params=asked)
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(paper.content)).pages)
    assert CONE in words.replace("\u200b", "")
    events = json.loads(client.get("/trace/epcis.json", params=asked).content)
    assert events["type"] == "EPCISDocument"
    assert events["epcisBody"]["eventList"]


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"what": "moon", "name": "x"}, "nothing that is traced"),
        ({"what": "band", "name": "hello"}, "That cannot be traced"),
        ({"what": "cone", "name": "x" * 200}, "too long a name"),
        ({"foo": "x"}, "nothing of that name is asked here"),
    ],
)
def test_what_cannot_be_traced_is_a_plain_page(
    client: TestClient, asked: dict[str, str], words: str
) -> None:
    assert words in text_of(client, 422, **asked)


def test_what_is_too_long_stays_typed_beside_its_fault(client: TestClient) -> None:
    text = text_of(client, 422, what="lot", name="x" * 200)
    assert f'value="{"x" * 200}" aria-invalid="true"' in text
    assert '<option value="lot" selected>' in text


def test_what_no_record_names_is_said_so(client: TestClient) -> None:
    text = text_of(client, what="cone", name="C-nowhere")
    assert "no record says that it passed a feed" in text
    assert "Read the name again" in text
    assert "a code is dye lot" not in text
    assert "Take along" not in text
    assert client.get("/trace/recall.csv").status_code == 422
    asked = {"what": "case", "name": "C"}
    assert client.get("/trace/recall.csv", params=asked).status_code == 422


def test_a_case_is_so_many_of_the_balls_that_may_be_in_it(
    client: TestClient, ledger: Ledger
) -> None:
    (case, *_) = records_in_time(ledger, "Line 1", kinds=("case closed",))
    text = text_of(client, what="case", name=case.package)
    balls = case.fields()["balls"]
    assert f"Case {case.package}: {balls} of these " in text
    assert "one of " not in text.split("</section>")[0]
    assert "The balls that may be in it" in text


def test_a_column_in_which_nothing_is_told_is_left_out(client: TestClient) -> None:
    text = text_of(client, what="cone", name=CONE)
    stint = text[text.index("stints-head") : text.index("balls-head")]
    assert "Spinner" in stint
    assert "Why so" not in stint  # both of its ties were told


def test_an_end_on_the_same_day_is_told_by_the_clock(client: TestClient) -> None:
    text = text_of(client, what="cone", name=CONE)
    stint = text[text.index("stints-head") : text.index("balls-head")]
    assert re.search(r'data-head="From">2026-11-25 06:\d\d<', stint)
    assert re.search(r'data-head="To">06:\d\d<', stint)


def test_before_anything_is_asked_the_page_says_what_can_be(client: TestClient) -> None:
    text = text_of(client)
    assert "What can be asked" in text
    assert "SL-207 Line_1 W1 261125-1432" in text


def test_a_pallet_is_told_case_by_case(client: TestClient, ledger: Ledger) -> None:
    (case, *_) = records_in_time(ledger, "Line 1", kinds=("case closed",))
    told = {"kind": "pallet closed", "package": "PAL-1", "cases": [case.package, "K-none"],
            "at": "2026-11-25T06:59:00Z", "key": "pal"}  # fmt: skip
    ledger.append([read_message(told, Sender("t", "Ina"))])
    text = text_of(client, what="pallet", name="PAL-1")
    assert case.package in text
    assert "K-none" in text
    assert "SL-207-" in text
    assert "Take along" not in text
    asked = {"what": "pallet", "name": "PAL-1"}
    assert client.get("/trace/epcis.json", params=asked).status_code == 422
    assert len(client.get("/api/lot/trace", params=asked).json()["traces"]) == 1
    assert "no such pallet" in text_of(client, 422, what="pallet", name="PAL-9")
