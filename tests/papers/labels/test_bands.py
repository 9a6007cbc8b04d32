"""Sheets of bands: true size, figures as high as the law asks, the symbol read back."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from tests.papers.labels.rasters import framed, module_mm, pages_of, read, white_beside

from clew.checks.band.text import BandText
from clew.faults import BadInput
from clew.papers.labels.bands import bands_pdf, sheet_for

MADE = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
BAND = BandText(
    "Fell 100", "Lichen", "LI-01", ("eu", "us"), ("59 % wool, 41 % acrylic",),
    ("100 g", "3.52 oz", "200 m (218 yd)"), True, 3.175, 3.0, "medium (4)",
    "20 stitches and 28 rows to 10 cm", "4.5 mm", ("Hand wash in cool water", "Dry flat"), (),
    "Test Mill, Weir Lane", "Made in the United Kingdom", "9521234001010", 210.0, 60.0, False,
)  # fmt: skip


def text_of(pdf: bytes) -> str:
    pages = PdfReader(BytesIO(pdf)).pages
    return re.sub(r"[\s\u200b]+", " ", " ".join(page.extract_text() for page in pages))


@pytest.mark.parametrize(
    ("paper", "gtin"),
    [("A4", "9521234001010"), ("Letter", "952123400307"), ("A4", "96385074")],
)
def test_every_band_of_a_sheet_is_read_back(
    paper: Literal["A4", "Letter"], gtin: str, tmp_path: Path
) -> None:
    pdf = bands_pdf(replace(BAND, gtin=gtin), 4, made=MADE, paper=paper, footer="Test Mill")
    pages = pages_of(pdf, tmp_path, 300)
    codes = [code for page in pages for code in read(page)]
    assert [code.text.zfill(14) for code in codes] == [gtin.zfill(14)] * 4
    modules = 67 if len(gtin) == 8 else 95
    assert module_mm(pages[0], codes[0], modules, 300) == pytest.approx(0.330, abs=0.0015)


def test_every_line_of_the_band_is_on_it() -> None:
    said = text_of(bands_pdf(BAND, 1, made=MADE, footer="Test Mill"))
    for line in (*BAND.quantity_lines, *BAND.fibre_lines, *BAND.care, BAND.gauge, BAND.needles,
                 BAND.lot_name, BAND.colour_name, BAND.maker, BAND.origin, BAND.class_words,
                 BAND.gtin, "\u212e"):  # fmt: skip
        assert line.replace(" ", "") in said.replace(" ", "")


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    narrow = replace(BAND, width_mm=130.0, figure_mm=3.9)
    (page,) = PdfReader(BytesIO(bands_pdf(narrow, 1, made=MADE, footer=""))).pages
    lines = [line.strip() for line in page.extract_text().splitlines()]
    assert "(218 yd)" in lines  # it broke, and broke there
    assert "200 m" in lines


@pytest.mark.parametrize("height_mm", [2.0, 3.175, 4.0, 6.0])
def test_figures_are_as_high_as_decided(height_mm: float, tmp_path: Path) -> None:
    only = replace(
        BAND, ball_name="", class_words="", quantity_lines=("1234567",), e_mark=False, gtin="",
        figure_mm=height_mm,
    )  # fmt: skip
    (page,) = pages_of(bands_pdf(only, 1, made=MADE, footer=""), tmp_path, 300)
    front = page[round(10 / 25.4 * 300) : round(60 / 25.4 * 300), 120 : round(60 / 25.4 * 300)]
    rows = np.flatnonzero((front < 128).any(axis=1))
    found = (rows[-1] - rows[0] + 1) / 300 * 25.4
    least = max(height_mm, 1.3)
    assert least - 0.09 <= found <= least * 1.08


def test_the_e_is_three_millimetres_high(tmp_path: Path) -> None:
    only = replace(BAND, ball_name="", class_words="", quantity_lines=("",), gtin="", figure_mm=2.0)
    (page,) = pages_of(bands_pdf(only, 1, made=MADE, footer=""), tmp_path, 300)
    front = page[round(10 / 25.4 * 300) : round(60 / 25.4 * 300), 120 : round(60 / 25.4 * 300)]
    rows = np.flatnonzero((front < 128).any(axis=1))
    assert 3.0 <= (rows[-1] - rows[0] + 1) / 300 * 25.4 <= 3.3


def test_cut_marks_stand_at_true_size(tmp_path: Path) -> None:
    only = replace(BAND, width_mm=160.0, height_mm=60.0)
    page = pages_of(bands_pdf(only, 1, made=MADE, footer=""), tmp_path, 300)[0]
    above = page[round(5.9 / 25.4 * 300)] < 128  # a row through the upper marks
    marks = np.flatnonzero(above)
    assert (marks[-1] - marks[0]) / 300 * 25.4 == pytest.approx(160.0, abs=0.25)
    beside = np.flatnonzero(page[: round(90 / 25.4 * 300), round(5.9 / 25.4 * 300)] < 128)
    assert (beside[-1] - beside[0]) / 300 * 25.4 == pytest.approx(60.0, abs=0.25)


@given(st.floats(40, 290), st.floats(20, 190), st.sampled_from(["A4", "Letter"]))
def test_a_sheet_holds_what_it_is_said_to(
    width_mm: float, height_mm: float, paper: Literal["A4", "Letter"]
) -> None:
    short, long = (210.0, 297.0) if paper == "A4" else (215.9, 279.4)
    try:
        sheet = sheet_for(width_mm, height_mm, paper)
    except BadInput:
        upright = width_mm <= short - 14 and height_mm <= long - 18
        lying = width_mm <= long - 14 and height_mm <= short - 18
        assert not upright and not lying
        return
    wide, high = (long, short) if sheet.landscape else (short, long)
    assert sheet.across * width_mm + (sheet.across - 1) * 4 <= wide - 14 + 1e-9
    assert sheet.down * height_mm + (sheet.down - 1) * 4 <= high - 18 + 1e-9
    assert sheet.across >= 1 and sheet.down >= 1


def test_sheets_and_refusals() -> None:
    pdf = bands_pdf(BAND, 7, made=MADE, footer="Test Mill")
    assert len(PdfReader(BytesIO(pdf)).pages) == 3  # three lie on a sheet
    with pytest.raises(BadInput, match="too large"):
        bands_pdf(replace(BAND, width_mm=400.0), 1, made=MADE, footer="")
    with pytest.raises(BadInput, match="no number of bands"):
        bands_pdf(BAND, 0, made=MADE, footer="")
    with pytest.raises(BadInput, match="time zone"):
        bands_pdf(BAND, 1, made=datetime(2026, 11, 25), footer="")


@pytest.mark.parametrize(
    ("gtin", "modules", "left", "right"),
    [("9521234001010", 95, 11, 7), ("614141000012", 95, 9, 9), ("96385074", 67, 7, 7)],
)
def test_an_overfull_band_prints_nothing_into_the_white_of_its_symbol(
    gtin: str, modules: int, left: int, right: int, tmp_path: Path
) -> None:
    full = replace(
        BAND, gtin=gtin, width_mm=80.0, height_mm=45.0, ball_name="Wimmelnd Wohlklingendname " * 3,
        care=("Machinewashablewithlikes in a bag of its own, with like colours",) * 8,
        maker="A mill with a very long address indeed, by the water, in a far town " * 3,
    )  # fmt: skip
    (page,) = pages_of(bands_pdf(full, 4, made=MADE, footer=""), tmp_path, 300)
    codes = read(page)
    assert [code.text.zfill(13) for code in codes] == [gtin.zfill(13)] * 4
    for code in codes:
        cut = white_beside(page, code, modules, left, right)
        assert cut is not None
        (again,) = read(framed(cut))
        assert again.text.zfill(13) == gtin.zfill(13)
