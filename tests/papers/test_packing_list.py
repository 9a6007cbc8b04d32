"""The packing list on paper: every case with its masses, sums that add up, texts taken as texts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from clew.faults import BadInput
from clew.ledger.shipping.consignment import Consignment, Parcel
from clew.ledger.shipping.packed import CaseKept
from clew.mill.model import Mill
from clew.papers.packing_list_content import packing_list_content
from clew.papers.printing import pdf_of

MADE = datetime(2026, 11, 25, 20, 40, tzinfo=UTC)
AT_US = 1_795_600_000_000_000


def case(name: str, balls: int = 80, lot: str = "SL-207", ball: str = "Querl 100") -> CaseKept:
    return CaseKept(name, "Line 1", "R-1", lot, ball, balls, "", AT_US, 1)


def consignment(*parcels: Parcel, customer: str = "Customer 12") -> Consignment:
    return Consignment(
        "D-0007", "1041", customer, "Ansa", AT_US, parcels, (("SL-207", "ab" * 32),),
        ("Line 1 · 7 · ABCD · 12",), 0, 1200,
    )  # fmt: skip


PALLET = Parcel("P-0001", True, (case("C-0001"), case("C-0002", 30)))
LOOSE = Parcel("C-0003", False, (case("C-0003"),))


def text_of(raw: bytes) -> str:
    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(raw)).pages)


def kg(words: str) -> float:
    return float(words.removesuffix(" kg"))


def test_a_case_of_two_dye_lots_names_both(demo_mill: Mill) -> None:
    mixed = replace(case("C-0009"), lots=("SL-207", "SL-208"))
    found = packing_list_content(demo_mill, consignment(Parcel("C-0009", False, (mixed,))))
    assert found.groups[0].rows[0].lot == "SL-207, SL-208"


def test_pallets_then_loose_cases_and_sums_that_add_up(demo_mill: Mill) -> None:
    found = packing_list_content(demo_mill, consignment(PALLET, LOOSE))
    assert [one.title for one in found.groups] == ["Pallet P-0001", "Cases on no pallet"]
    first, loose = found.groups
    assert [one.case for one in first.rows] == ["C-0001", "C-0002"]
    assert (first.total.balls, first.total.net) == ("110", "11.00 kg")
    deck = demo_mill.pack.pallet.tare_mass_g / 1000.0
    assert kg(first.total.gross) == pytest.approx(
        sum(kg(one.gross) for one in first.rows) + deck, abs=0.02
    )
    assert kg(found.total.gross) == pytest.approx(
        kg(first.total.gross) + kg(loose.total.gross), abs=0.011
    )
    assert found.total.case == "1 pallet, 3 cases, 1 of them on none"
    assert (found.total.balls, found.total.net) == ("190", "19.00 kg")


def test_only_cases_or_a_ball_that_is_not_known(demo_mill: Mill) -> None:
    found = packing_list_content(demo_mill, consignment(LOOSE))
    assert [one.title for one in found.groups] == ["Cases"] and found.total.case == "1 case"
    odd = Parcel("C-9", False, (case("C-9", ball="Gone 50"),))
    found = packing_list_content(demo_mill, consignment(LOOSE, odd))
    assert (found.total.net, found.total.gross, found.total.balls) == ("–", "–", "160")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_paper_carries_it_the_same_each_time(demo_mill: Mill, paper: str) -> None:
    found = packing_list_content(
        demo_mill,
        consignment(PALLET, LOOSE, customer="#eval(1) *Tarn*"),
        paper=paper,  # type: ignore[arg-type]
    )
    raw = pdf_of(found, made=MADE)
    assert raw == pdf_of(found, made=MADE)
    reader = PdfReader(BytesIO(raw))
    assert "/StructTreeRoot" in reader.root_object
    width = float(reader.pages[0].mediabox.width)
    assert round(width) == (595 if paper == "A4" else 612)
    text = text_of(raw)
    for words in ("Packing list D-0007", "P-0001", "C-0002", "C-0003", "SL-207", "#eval(1) *Tarn*",
                  "19.00 kg", "page 1 of 1", "Ansa"):  # fmt: skip
        assert words in text


def test_a_long_list_runs_over_pages(demo_mill: Mill) -> None:
    parcels = [
        Parcel(f"P-{row:04d}", True, tuple(case(f"C-{row}-{place}") for place in range(24)))
        for row in range(4)
    ]
    raw = pdf_of(packing_list_content(demo_mill, consignment(*parcels)), made=MADE)
    text = text_of(raw)
    assert len(PdfReader(BytesIO(raw)).pages) >= 2
    assert all(f"C-{row}-{place}" in text for row in range(4) for place in range(24))


def test_a_time_without_a_zone_is_refused(demo_mill: Mill) -> None:
    with pytest.raises(BadInput):
        pdf_of(packing_list_content(demo_mill, consignment(LOOSE)), made=datetime(2026, 11, 25))
