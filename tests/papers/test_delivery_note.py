"""The delivery note on paper: lines by dye lot, certificates, anchors, places to sign."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from io import BytesIO

import pytest
from pypdf import PdfReader
from tests.papers.test_packing_list import LOOSE, MADE, PALLET, case, consignment, text_of

from clew.faults import BadInput
from clew.ledger.shipping.consignment import Parcel
from clew.mill.model import Mill
from clew.papers.delivery_note_content import delivery_note_content
from clew.papers.printing import pdf_of

OTHER = Parcel("C-0009", False, (case("C-0009", 40, "SL-211"),))


def test_lines_are_by_dye_lot_and_add_up(demo_mill: Mill) -> None:
    found = delivery_note_content(demo_mill, consignment(PALLET, LOOSE, OTHER))
    assert [(one.lot, one.cases, one.balls, one.net) for one in found.lines] == [
        ("SL-207", "3", "190", "19.00 kg"), ("SL-211", "1", "40", "4.00 kg"),
    ]  # fmt: skip
    assert found.lines[0].colour == "Sloe" and found.lines[0].gtin == "9521234001010"
    assert (found.total.cases, found.total.balls, found.total.net) == ("4", "230", "23.00 kg")
    assert found.packages == ("Pallet P-0001", "Case C-0003", "Case C-0009")
    assert [(one.head, one.text) for one in found.certificates] == [
        ("SL-207, released", "ab" * 32), ("SL-211, released", "no certificate was told"),
    ]  # fmt: skip
    assert found.sentence == (
        "1 pallet, 4 cases, 2 of them on none. 230 balls now, 230 of 1200 with what left before: "
        "970 still to come."
    )


def test_a_case_of_two_dye_lots_has_a_line_and_both_certificates(demo_mill: Mill) -> None:
    mixed = Parcel("C-0009", False, (replace(case("C-0009", 40), lots=("SL-207", "SL-211")),))
    found = delivery_note_content(demo_mill, consignment(PALLET, mixed))
    assert [(one.lot, one.colour, one.balls) for one in found.lines] == [
        ("SL-207", "Sloe", "110"), ("SL-207, SL-211", "Sloe", "40"),
    ]  # fmt: skip
    assert [one.head for one in found.certificates] == ["SL-207, released", "SL-211, released"]


def test_an_order_that_is_not_known_is_not_counted_against(demo_mill: Mill) -> None:
    unknown = replace(consignment(LOOSE), order="", asked_balls=None)
    found = delivery_note_content(demo_mill, unknown)
    assert found.sentence == "1 case. 80 balls."
    assert ("Order", "none was told") in [(one.head, one.text) for one in found.about]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_paper_carries_it_the_same_each_time(demo_mill: Mill, paper: str) -> None:
    found = delivery_note_content(
        demo_mill,
        consignment(PALLET, LOOSE, customer="#eval(1) *Tarn*"),
        paper=paper,  # type: ignore[arg-type]
    )
    raw = pdf_of(found, made=MADE)
    assert raw == pdf_of(found, made=MADE)
    reader = PdfReader(BytesIO(raw))
    assert round(float(reader.pages[0].mediabox.width)) == (595 if paper == "A4" else 612)
    text = text_of(raw)
    for words in ("Delivery note D-0007", "#eval(1) *Tarn*", "1041",
                  "ab" * 32, "Line 1 · 7 · ABCD · 12", "Received by", "2026-11-25 20:40",
                  "Pallet P-0001", "19.00 kg"):  # fmt: skip
        assert words in text


def test_many_packages_run_over_pages(demo_mill: Mill) -> None:
    parcels = [Parcel(f"C-{number}", False, (case(f"C-{number}", 1),)) for number in range(240)]
    raw = pdf_of(delivery_note_content(demo_mill, consignment(*parcels)), made=MADE)
    text = text_of(raw)
    assert len(PdfReader(BytesIO(raw)).pages) >= 2
    assert all(f"Case C-{number}" in text for number in range(240))


def test_a_time_without_a_zone_is_refused(demo_mill: Mill) -> None:
    with pytest.raises(BadInput):
        pdf_of(delivery_note_content(demo_mill, consignment(LOOSE)), made=datetime(2026, 11, 25))
