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
from tests.papers.labels.rasters import module_mm, pages_of, read

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
