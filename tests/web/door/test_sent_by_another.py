"""What was kept is not said to be refused because somebody else sends it again."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.web.run.test_hand_page import form_of, ledger_of, page_of

from clew.ledger.events.message import Message
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep
from clew.mill import write_demo
from clew.web.app import create_app
from clew.web.workbench import Workbench

LINE = "Line 1"


@pytest.fixture
def tablet(tmp_path: Path) -> TestClient:
    """The workbench of a mill of its own."""
    write_demo(tmp_path / "mill")
    return TestClient(
        create_app(tmp_path / "mill"), base_url="http://127.0.0.1", follow_redirects=False
    )


def test_a_press_sent_again_after_another_hand_came_is_kept_already(tablet: TestClient) -> None:
    tablet.post("/run/hand", data=form_of(page_of(tablet, lane="3"), "tie"))
    ledger = ledger_of(tablet)
    (first,) = chain_records(ledger, LINE)
    form = form_of(page_of(tablet, lane="3"), "tie")
    ledger.append(
        [Message(LINE, "tie", first.at_us, first.source, form["key"], "Somebody else", lane=3)]
    )
    answer = tablet.post("/run/hand", data=form, headers={"Accept": "application/json"})
    assert (answer.status_code, answer.json()["outcome"]) == (200, "already")
    assert len(list(chain_records(ledger, LINE))) == 2


def test_a_message_sent_again_by_another_author_is_kept_already(tablet: TestClient) -> None:
    said = {"kind": "doff", "line": LINE, "lane": 2, "at": "2026-09-01T05:40:00Z", "key": "1"}
    tablet.post("/api/events", json={**said, "author": "Ada"})
    answer = tablet.post("/api/events", json={**said, "author": "Ben"})
    assert (answer.status_code, answer.json()["already"]) == (200, 1)
    assert tablet.post("/api/events", json={**said, "author": "Ben", "lane": 3}).status_code == 409


def test_once_the_disk_is_mended_the_pages_stop_saying_otherwise(tablet: TestClient) -> None:
    ledger = ledger_of(tablet)
    ledger.trouble = CannotKeep("the disk that holds the ledger is full", for_good=True)
    bench = tablet.app.state.bench  # type: ignore[attr-defined]
    assert isinstance(bench, Workbench)
    beside = bench.ledger
    assert beside.trouble() == "the disk that holds the ledger is full"
    aside = beside._aside
    assert aside is not None
    aside.join(10.0)
    assert beside.trouble() == ""
