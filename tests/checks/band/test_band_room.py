"""How high a band must be: what a line more takes of it, at the type the sheet sets it in."""

from __future__ import annotations

import importlib.resources
import re
from dataclasses import replace

import pytest

from clew.checks.band.room import LEAST_TYPE_PT, room_words
from clew.checks.band.text import BandText

PT_MM = 25.4 / 72.0
LINE = 1.25
BAND = BandText(
    ball_name="Moor",
    colour_name="",
    lot_name="",
    markets=("eu",),
    fibre_lines=(),
    quantity_lines=("100 g",),
    e_mark=False,
    figure_mm=6.0,
    e_mm=3.0,
    class_words="Aran",
    gauge="",
    needles="",
    care=(),
    other_lines=(),
    maker="",
    origin="",
    gtin="",
    width_mm=160.0,
    height_mm=60.0,
    own_text=False,
)


def least_height_mm(band: BandText) -> float:
    """Lowest band on which all goes, by halving."""
    low, high = 0.0, 500.0
    assert room_words(replace(band, height_mm=low)) and not room_words(
        replace(band, height_mm=high)
    )
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        if room_words(replace(band, height_mm=middle)):
            low = middle
        else:
            high = middle
    return high


def name_pt() -> float:
    """Type in which the printed sheet sets a ball's name [pt]."""
    sheet = importlib.resources.files("clew.papers") / "templates" / "bands.typ"
    (size,) = re.findall(
        r"text\(size: ([\d.]+)pt, strong\(paper\.name\)\)", sheet.read_text("utf-8")
    )
    return float(size)


def test_a_name_of_two_lines_takes_a_line_of_the_sheet_s_type_more() -> None:
    """Two words too long for one line of the column, each short enough alone."""
    two = replace(BAND, ball_name="Moorlandish Weatherling")
    more = least_height_mm(two) - least_height_mm(BAND)
    assert more == pytest.approx(name_pt() * LINE * PT_MM, abs=1e-4)


def test_a_line_of_the_content_takes_the_smallest_type() -> None:
    lines = tuple(f"line {n}" for n in range(30))
    found = [least_height_mm(replace(BAND, other_lines=lines[:n])) for n in (29, 30)]
    assert found[1] - found[0] == pytest.approx(LEAST_TYPE_PT * LINE * PT_MM, abs=1e-4)


def test_the_front_by_hand() -> None:
    """Margins of 3, name 12 pt, class 7.5 pt, free above and below, type of 6 mm figures."""
    lines = (12.0 + 7.5) * LINE * PT_MM
    quantity = 1.1 * LINE * 6.0 / 0.63
    assert least_height_mm(BAND) == pytest.approx(6.0 + lines + 2 * 6.0 + quantity, abs=1e-4)


def test_a_ball_with_a_symbol_needs_the_symbol_s_own_height() -> None:
    """An EAN-13 at its nominal size is 28.5 mm high with its digits, beside margins of 3 mm."""
    low = replace(BAND, figure_mm=2.0, lot_name="SL-207")
    with_symbol = replace(low, gtin="9521234003073")
    line = LEAST_TYPE_PT * LINE * PT_MM
    assert least_height_mm(with_symbol) == pytest.approx(6.0 + line + 28.5, abs=1e-4)
    assert least_height_mm(low) < least_height_mm(with_symbol)
