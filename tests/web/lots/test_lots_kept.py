"""Lots: the decision is kept in the ledger by a person, and the paper carries the line's anchor."""

from __future__ import annotations

import html
import io
import re
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from clew.ledger.events.reading import Sender, read_message
from clew.ledger.lots.decided import anchor_words
from clew.ledger.store.ledger import FILE_NAME
from clew.ledger.store.reading import chain_records
from clew.mill import write_demo
from clew.web.app import create_app

LOT = {"ball": "Querl 100", "lot": "SL-207", "size": "720"}


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    """The workbench of a mill of its own."""
    write_demo(tmp_path)
    return TestClient(create_app(tmp_path), base_url="http://127.0.0.1", follow_redirects=False)


def test_looking_at_a_lot_makes_no_ledger(client: TestClient, tmp_path: Path) -> None:
    assert client.get("/lots", params=LOT).status_code == 200
    assert not (tmp_path / FILE_NAME).exists()


def test_a_decision_is_kept_once_with_its_paper(client: TestClient) -> None:
    page = client.get("/lots", params=LOT).text
    form = re.search(r'<form method="post" action="/lots/decide"[^>]*>(.*?)</form>', page, re.S)
    assert form is not None
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', html.unescape(form[1])))
    assert client.post("/lots/decide", data=fields).status_code == 422  # nobody is named
    first = client.post("/lots/decide", data=fields | {"by": "Ina"})
    again = client.post("/lots/decide", data=fields | {"by": "Ina"})
    assert first.status_code == again.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    ledger = client.app.state.bench.ledger.ledger()  # type: ignore[attr-defined]
    (record,) = chain_records(ledger, "")
    assert (record.kind, record.lot, record.author) == ("lot decision", "SL-207", "Ina")
    assert record.fields()["decision"] == "hold"
    shown = html.unescape(client.get(first.headers["location"].partition("#")[0]).text)
    assert "<strong>Kept</strong> as record 1 of the mill." in shown
    assert "SL-207 held by Ina, on this very paper." in shown


def test_without_a_size_there_is_nothing_to_keep(client: TestClient) -> None:
    answer = client.post("/lots/decide", data={"ball": "Querl 100", "lot": "SL-207", "by": "Ina"})
    assert answer.status_code == 422


def test_the_paper_says_where_the_line_stood(client: TestClient) -> None:
    ledger = client.app.state.bench.ledger.ledger()  # type: ignore[attr-defined]
    found = {"kind": "doff", "at": "2026-11-25T05:40:00Z", "key": "k", "lane": 1}
    ledger.append([read_message(found, Sender("t", "Ina", "Line 1"))])
    paper = client.get("/lots/certificate.pdf", params=LOT)
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(paper.content)).pages)
    assert anchor_words(ledger, "Line 1") in " ".join(text.replace("\u200b", "").split())
