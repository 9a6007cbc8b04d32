"""When nothing can be kept every page says so, and the disk is looked at without a page waiting."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.ledger.safekeeping.room_left import RoomLeft
from clew.ledger.store.ledger import Ledger
from clew.mill import write_demo
from clew.web import ledger_beside
from clew.web.app import create_app

PAGES = ("/creel", "/wind", "/run", "/run/hand", "/trace", "/lots", "/band")
FULL = RoomLeft("cannot keep", "…", 0, False, "the disk that holds the ledger is full")
LOW = RoomLeft("low", "The disk that holds the ledger has 1.1 GB left.", 1, True)


@pytest.mark.parametrize(("room", "words"), [(FULL, FULL.reason), (LOW, LOW.words)])
def test_every_page_says_what_is_wrong_with_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room: RoomLeft, words: str
) -> None:
    def looked(_: Ledger) -> RoomLeft:
        return room

    monkeypatch.setattr(ledger_beside, "room_left", looked)
    write_demo(tmp_path)
    app = create_app(tmp_path)
    client = TestClient(app, base_url="http://127.0.0.1")
    beside = app.state.bench.ledger
    assert words not in client.get("/creel").text  # there is no ledger: nothing to be wrong with
    beside.ledger()
    client.get("/creel")
    beside._aside.join(timeout=10.0)
    for page in PAGES:
        assert words in client.get(page).text, page
    beside.close()


def test_an_open_ledger_on_a_sound_disk_says_nothing(tmp_path: Path) -> None:
    write_demo(tmp_path)
    app = create_app(tmp_path)
    client = TestClient(app, base_url="http://127.0.0.1")
    app.state.bench.ledger.ledger()
    client.get("/creel")
    app.state.bench.ledger._aside.join(timeout=30.0)
    assert 'class="trouble"' not in client.get("/creel").text
    app.state.bench.ledger.close()
