"""The recall list on paper: every line with a box, the mill's own words, where the ledger stood."""

from __future__ import annotations

from datetime import UTC, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from clew.faults import BadInput
from clew.ledger.trace.recall import RecallList, RecallRow
from clew.papers.printing import pdf_of
from clew.papers.recall_list_content import RecallContent, recall_content

MADE = datetime(2026, 11, 25, 20, 40, tzinfo=UTC)


def row(name: str, *, customer: str = "", sure: bool = False, what: str = "case") -> RecallRow:
    where = f"shipped to {customer}" if customer else "in the mill"
    kind = "ball" if what == "ball" else "case"
    return RecallRow(
        kind, name, sure, int(sure), 4, "L1", "SL-207", where, customer,
        "P1" if customer else "", "", "2026-03-01 05:40", "4 of its 20 balls", "L1·7 mill·2",
    )  # fmt: skip


def content(rows: tuple[RecallRow, ...], **other: object) -> RecallContent:
    found = RecallList("cone C-12", rows, 1, 9, ("widened for C-12",))
    said: dict[str, object] = {
        "mill_name": "Ostrel Mill", "author": "Ansa", "anchors": ("L1 · 7 · ABCD · 12",), **other,
    }  # fmt: skip
    return recall_content(found, **said)  # type: ignore[arg-type]


ROWS = (
    row("K1", customer="Brannock Wools", sure=True), row("K2", customer="Tarn & Daughters"),
    row("K3"), row("L1 lane 4 ball 7", what="ball"),
)  # fmt: skip


def test_it_says_how_much_there_is_and_from_whom() -> None:
    found = content(ROWS)
    assert found.sentence == (
        "1 ball has it in it, 9 more may: 3 cases, 2 of them shipped to Brannock Wools, "
        "Tarn & Daughters; 1 ball in no case."
    )
    assert [one.title for one in found.groups] == [
        "Brannock Wools", "Tarn & Daughters", "In the mill: cases",
        "In the mill: balls in no case",
    ]  # fmt: skip


def test_the_paper_carries_every_line_and_the_anchor() -> None:
    raw = pdf_of(content(ROWS, words=("Ring the office first.",)), made=MADE)
    assert raw == pdf_of(content(ROWS, words=("Ring the office first.",)), made=MADE)
    text = "\n".join(one.extract_text() for one in PdfReader(BytesIO(raw)).pages)
    for words in ("K1", "K2", "K3", "L1 lane 4 ball 7", "Brannock Wools", "Ring the office first.",
                  "L1 · 7 · ABCD · 12", "Made by: Ansa", "widened for C-12",
                  "2026-11-25 20:40"):  # fmt: skip
        assert words in text
    assert "Stop every case" not in text


def test_a_long_list_runs_over_pages() -> None:
    rows = tuple(row(f"K{place}", customer="#eval(1) *Tarn*") for place in range(90))
    pages = PdfReader(BytesIO(pdf_of(content(rows), made=MADE))).pages
    text = "\n".join(one.extract_text() for one in pages)
    assert len(pages) >= 3
    assert all(f"K{place}" in text for place in range(90))
    assert "#eval(1) *Tarn*" in text
    assert f"page 1 of {len(pages)}" in text


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(BadInput):
        pdf_of(content(ROWS), made=datetime(2026, 11, 25))
