"""The shift report on paper: every text is there, with the anchor, in either size of paper."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pytest

from clew.faults import BadInput
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.reports.of_ledger import AnchoredReport
from clew.ledger.reports.shift_report import shift_report
from clew.ledger.state.answer import Handover, Shift
from clew.mill.model import Mill
from clew.papers.printing import pdf_of
from clew.papers.shift_report import shift_report_content

MADE = datetime(2026, 11, 25, 14, 2, tzinfo=UTC)
SHIFT = Shift("2026-11-25 06:00", 10, 20)


def anchored(note: str = "") -> AnchoredReport:
    from dataclasses import replace

    report = shift_report("Line 1", 6, SHIFT, 100, ())
    if note:
        report = replace(report, handovers=(Handover(15, "Ina", "Bo", note),))
    return AnchoredReport(report, 41, bytes(range(32)))


def pages_of(pdf: bytes) -> str:
    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_every_text_stands_on_the_paper(demo_mill: Mill) -> None:
    content = shift_report_content(anchored("*mind* #winder 4"), demo_mill, "metric")
    text = pages_of(pdf_of(content, made=MADE))
    for words in (content.title, content.headline, *[grid.title for grid in content.grids]):
        assert words in text
    assert "*mind* #winder 4" in text
    anchor = anchor_at("Line 1", 41, bytes(range(32))).text()
    assert anchor in text.replace("\u200b", "")  # long words may break where there is no space
    assert "printed 2026-11-25 14:02" in text


def test_the_same_report_is_the_same_file(demo_mill: Mill) -> None:
    content = shift_report_content(anchored(), demo_mill, "yard")
    assert pdf_of(content, made=MADE) == pdf_of(content, made=MADE)
    with pytest.raises(BadInput, match="time zone"):
        pdf_of(content, made=datetime(2026, 1, 1))


def test_a_line_without_records_has_no_anchor(demo_mill: Mill) -> None:
    empty = AnchoredReport(shift_report("Line 1", 6, SHIFT, 100, ()), 0, b"")
    content = shift_report_content(empty, demo_mill, "metric")
    assert content.anchor == ""
    assert content.headline == "Nothing was recorded in this shift."
    assert "Nothing was recorded on this line yet." in pages_of(pdf_of(content, made=MADE))
