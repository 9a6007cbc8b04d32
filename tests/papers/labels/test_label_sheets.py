"""Case and pallet labels on paper: what a reader sees, at true size."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Literal

import pytest
from pypdf import PdfReader
from tests.papers.labels.rasters import framed, module_mm, pages_of, read, white_beside

from clew.checks.band.gs1 import read_elements, sscc_for
from clew.faults import BadInput
from clew.papers.labels.case_label import CaseLabel, case_elements, case_labels_pdf
from clew.papers.labels.pallet_label import PalletLabel, pallet_labels_pdf

MADE = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
GTIN14 = "19521234001017"
SSCC = sscc_for("9521234", 7)
CASE = CaseLabel(
    "Test Mill", "Test Mill, Weir Lane", "Fell 100", "Lichen", "LI-01", 80, 8000.0, 8912.0,
    GTIN14, "Case 4", "", "1041", "Customer 12",
)  # fmt: skip
PALLET = PalletLabel(
    "Test Mill", "Test Mill, Weir Lane", "Pallet 7", SSCC, 24, 1920, "Fell 100",
    ("LI-01", "LI-02"), 260_000.0, "1041", "Customer 12", "D-19",
)  # fmt: skip
DPI = 200


def text_of(pdf: bytes) -> str:
    pages = PdfReader(BytesIO(pdf)).pages
    return re.sub(r"[\s\u200b]+", " ", " ".join(page.extract_text() for page in pages))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_case_says_gtin_and_batch(paper: Literal["A4", "Letter"], tmp_path: Path) -> None:
    pdf = case_labels_pdf([CASE, CASE, CASE], made=MADE, paper=paper, footer="Test Mill")
    pages = pages_of(pdf, tmp_path, DPI)
    codes = [code for page in pages for code in read(page)]
    assert len(pages) == 2
    assert [code.symbology_identifier for code in codes] == ["]C1"] * 3
    assert {code.bytes.decode() for code in codes} == {f"01{GTIN14}10LI-01"}
    start_to_stop = 11 * (2 + 8 + 1 + 6 + 1) + 13  # start, FNC1; pairs, "10"; B and lot; check
    found = module_mm(pages[0], codes[0], start_to_stop, DPI)
    assert found == pytest.approx(0.495, abs=0.002)


def test_a_lot_that_fits_no_symbol_leaves_itf14(tmp_path: Path) -> None:
    pdf = case_labels_pdf([replace(CASE, lot_name="LI 01 é")], made=MADE, footer="Test Mill")
    (page,) = pages_of(pdf, tmp_path, DPI)
    (code,) = read(page)
    assert (code.text, code.symbology_identifier) == (GTIN14, "]I1")
    assert module_mm(page, code, 7 * 18 + 4 + 5, DPI) == pytest.approx(0.75, abs=0.003)
    assert "The dye lot is not in the symbol" in text_of(pdf)


def test_a_long_lot_and_an_sscc_stand_apart(tmp_path: Path) -> None:
    label = replace(CASE, lot_name="abcdefghijklmnopqrst", sscc=SSCC)
    pdf = case_labels_pdf([label, label], made=MADE, paper="Letter", footer="Test Mill")
    (page,) = pages_of(pdf, tmp_path, DPI)
    codes = [code.bytes.decode() for code in read(page)]
    assert sorted(codes) == sorted([f"00{SSCC}", f"01{GTIN14}", "10abcdefghijklmnopqrst"] * 2)
    assert [read_elements(one) for one in set(codes)]


def test_a_case_without_numbers_has_no_symbol(tmp_path: Path) -> None:
    pdf = case_labels_pdf([replace(CASE, gtin14="")], made=MADE, footer="Test Mill")
    assert read(pages_of(pdf, tmp_path, 100)[0]) == []
    assert "No trade number" in text_of(pdf)


def test_a_case_label_says_it_in_words() -> None:
    said = text_of(case_labels_pdf([CASE], made=MADE, footer="Test Mill"))
    for word in ("Fell 100", "Lichen", "LI-01", "80", "8.00 kg", "8.91 kg", "1041",
                 "Customer 12", "Case 4", "Test Mill, Weir Lane"):  # fmt: skip
        assert word in said
    plain = replace(CASE, gross_mass_g=None, order="", customer="")
    assert "Gross" not in text_of(case_labels_pdf([plain], made=MADE, footer="Test Mill"))


def test_the_count_is_in_no_symbol() -> None:
    assert all(one.ai != "37" for said in case_elements(CASE) for one in said)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_pallet_says_its_sscc_twice(paper: Literal["A4", "Letter"], tmp_path: Path) -> None:
    pdf = pallet_labels_pdf([PALLET], made=MADE, paper=paper, footer="Test Mill")
    (page,) = pages_of(pdf, tmp_path, DPI)
    codes = read(page)
    assert [code.bytes.decode() for code in codes] == [f"00{SSCC}"] * 2
    assert [code.symbology_identifier for code in codes] == ["]C1", "]C1"]
    assert module_mm(page, codes[0], 11 * (2 + 10 + 1) + 13, DPI) == pytest.approx(0.9, abs=0.003)
    said = text_of(pdf)
    for word in ("LI-01, LI-02", "24 cases, 1920 balls", "260.00 kg", "D-19", f"(00){SSCC}"):
        assert word in said


def test_a_pallet_without_a_number_says_so(tmp_path: Path) -> None:
    pdf = pallet_labels_pdf([replace(PALLET, sscc="")], made=MADE, footer="Test Mill")
    assert read(pages_of(pdf, tmp_path, 100)[0]) == []
    assert "No SSCC" in text_of(pdf)


def test_wrong_keys_and_no_labels_are_refused() -> None:
    with pytest.raises(BadInput, match="check digit"):
        case_labels_pdf([replace(CASE, gtin14=GTIN14[:-1] + "1")], made=MADE, footer="")
    with pytest.raises(BadInput, match="check digit"):
        pallet_labels_pdf([replace(PALLET, sscc="0" * 17 + "1")], made=MADE, footer="")
    with pytest.raises(BadInput, match="no case"):
        case_labels_pdf([], made=MADE, footer="")
    with pytest.raises(BadInput, match="no pallet"):
        pallet_labels_pdf([], made=MADE, footer="")


def test_the_same_labels_and_time_give_the_same_bytes() -> None:
    one, two = (case_labels_pdf([CASE], made=MADE, footer="Test Mill") for _ in range(2))
    assert one == two


LONG = replace(
    CASE, mill_name="Test Mill", maker="Test Mill, Long Weir Lane by the River, Ostrel on Sea",
    ball_name="W" * 40 + " merino and flax 100", colour_name="Lichen on Weathered Slate " * 2,
    lot_name="ABCDEFGHIJKLMNOPQRST", sscc=SSCC, package=f"Case {SSCC}", order="O" * 30,
    customer="Handweavers and Spinners Guild Supply of Northern Anglia Ltd",
)  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("lot", ["ABCDEFGHIJKLMNOPQRST", "Grün 7/8 Büro", "LI-01"])
def test_many_words_leave_each_label_in_its_half(
    paper: Literal["A4", "Letter"], lot: str, tmp_path: Path
) -> None:
    label = replace(LONG, lot_name=lot, customer="W" * 60 if " " in lot else LONG.customer)
    pdf = case_labels_pdf([label, label], made=MADE, paper=paper, footer="Test Mill")
    (page,) = pages_of(pdf, tmp_path, DPI)
    codes = read(page)
    due = [f"00{SSCC}", *(("01" + GTIN14, "10" + lot) if lot[0] == "A" else ())]
    due += [f"01{GTIN14}10{lot}"] if lot[0] == "L" else [GTIN14] if lot[0] == "G" else []
    assert sorted(code.bytes.decode() for code in codes) == sorted(due * 2)
    lowest = max(codes, key=lambda code: code.position.bottom_left.y)
    at_foot = [code for code in codes
               if lowest.position.bottom_left.y - code.position.bottom_left.y < 30]  # fmt: skip
    assert f"00{SSCC}" in [code.bytes.decode() for code in at_foot]
    half = page.shape[0] // 2
    near = [row for row in range(half - 16, half + 16) if (page[row] < 128).any()]
    assert near and max(near) - min(near) <= 2  # the line to cut by, and nothing else


def test_the_mill_is_named_once_where_its_address_begins_with_it() -> None:
    said = text_of(case_labels_pdf([CASE], made=MADE, footer=""))
    assert said.count("Test Mill") == 1
    other = replace(CASE, maker="Weir Lane, Ostrel")
    assert "Test Mill · Weir Lane" in text_of(case_labels_pdf([other], made=MADE, footer=""))


def test_a_pallet_of_many_lots_names_the_first_and_counts_the_rest(tmp_path: Path) -> None:
    many = replace(PALLET, lots=tuple(f"LOT-{n:04d}" for n in range(60)), customer="W" * 60)
    pdf = pallet_labels_pdf([many], made=MADE, paper="Letter", footer="")
    assert "LOT-0007 and 52 more: see the packing list" in text_of(pdf)
    (page,) = pages_of(pdf, tmp_path, DPI)
    assert [code.bytes.decode() for code in read(page)] == [f"00{SSCC}"] * 2


@pytest.mark.parametrize("dpi", [200, 300])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_nothing_is_printed_in_the_white_and_black_round_it_hides_nothing(
    paper: Literal["A4", "Letter"], dpi: int, tmp_path: Path
) -> None:
    cases = case_labels_pdf(
        [LONG, replace(LONG, lot_name="7 é")], made=MADE, paper=paper, footer=""
    )
    pallets = pallet_labels_pdf([PALLET], made=MADE, paper=paper, footer="")
    seen = 0
    for pdf in (cases, pallets):
        (page,) = pages_of(pdf, tmp_path, dpi)
        for code in read(page):
            said = code.bytes.decode()
            data = {"00": 10, "01": 8, "10": 2 + 20}.get(said[:2])  # symbol characters
            modules = 7 * 18 + 9 if said == GTIN14 else 11 * (3 + (data or 0)) + 13
            cut = white_beside(page, code, modules, 10, 10)
            assert cut is not None, said
            (again,) = read(framed(cut))
            assert again.bytes.decode() == said
            seen += 1
    assert seen == 3 + 2 + 2
