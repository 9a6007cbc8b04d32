"""The JSON beside Run and Trace says what the rooms say."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from clew.cli.play.shift_script import shift_script
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.opening import open_ledger, url_of
from clew.mill import write_demo
from clew.web.app import create_app


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """The workbench of a line that has run for half an hour."""
    folder = tmp_path_factory.mktemp("told")
    write_demo(folder)
    ledger = open_ledger(url_of(folder))
    told = list(shift_script(start=datetime.now(UTC) - timedelta(minutes=30), minutes=30).messages)
    ledger.append([read_message(one, Sender("demo")) for one in told])
    ledger.close()
    return TestClient(create_app(folder), base_url="http://127.0.0.1")


def test_the_line_now(client: TestClient) -> None:
    said = client.get("/api/run/live").json()
    assert said["line"] == "Line 1"
    assert len(said["lanes"]) == 6
    assert client.get("/api/run/live", params={"line": "Line 9"}).status_code == 422


def test_a_cone_is_followed_on_and_recalled(client: TestClient) -> None:
    asked = {"what": "cone", "name": "SL-207-202"}
    found = client.get("/api/lot/trace", params=asked).json()
    assert found["balls_sure"] + found["balls_possible"] == len(found["balls"]) > 0
    listed = client.get("/api/lot/recall", params=asked).json()
    assert listed["balls_sure"] == found["balls_sure"]
    assert listed["rows"]


def test_what_cannot_be_traced_or_recalled_says_why(client: TestClient) -> None:
    assert client.get("/api/lot/trace").json()["faults"][0]["key"] == "name"
    asked = {"what": "band", "name": "SL-207 Line_1 W4 261125-1432"}
    assert client.get("/api/lot/recall", params=asked).json()["faults"][0]["key"] == "what"
