"""Every symbol is read back by an independent reader, and is as large as it should be."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.checks.band.gs1 import case_gtin_for, element, element_string, sscc_for
from clew.faults import BadInput
from clew.mill.gs1_keys import check_digit
from clew.papers.labels.symbols import (
    LONGEST_MM,
    SIZES,
    Symbol,
    fits_one_gs1_128,
    gs1_128,
    itf14,
    retail_symbol,
)

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-./_!\"%&'()*+,:;<=>?"
lots = st.text(LETTERS, min_size=1, max_size=9)


def keyed(digits: str) -> str:
    return f"{digits}{check_digit(digits)}"


def seen(symbol: Symbol) -> Any:
    """Read a symbol drawn straight from its bars, 12 pixels to a module."""
    scale = 12 / symbol.module_mm
    page = np.full((round(symbol.height_mm * scale) + 40, round(symbol.width_mm * scale)), 255)
    for bar in symbol.bars:
        top, left = round(bar.y_mm * scale) + 20, round(bar.x_mm * scale)
        below, right = top + round(bar.height_mm * scale), left + round(bar.width_mm * scale)
        page[top:below, left:right] = 0
    (found,) = zxingcpp.read_barcodes(page.astype(np.uint8)[::6, ::3].copy())
    return found


@settings(max_examples=25, deadline=None)
@given(st.sampled_from([7, 11, 12]), st.integers(0, 10**12 - 1))
def test_a_ball_s_number_is_read_back(length: int, serial: int) -> None:
    gtin = keyed(f"{serial % 10**length:0{length}d}")
    found = seen(retail_symbol(gtin))
    assert found.text.zfill(14) == gtin.zfill(14)
    assert found.symbology_identifier == ("]E4" if length == 7 else "]E0")


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**12 - 1), st.integers(1, 8))
def test_itf14_is_read_back(serial: int, indicator: int) -> None:
    gtin14 = case_gtin_for(keyed(f"{serial:012d}"), indicator)
    found = seen(itf14(gtin14, 0.75))
    assert (found.text, found.format) == (gtin14, zxingcpp.BarcodeFormat.ITF)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**12 - 1), lots)
def test_gtin_and_batch_are_read_back(serial: int, lot: str) -> None:
    said = (element("01", case_gtin_for(keyed(f"{serial:012d}"))), element("10", lot))
    found = seen(gs1_128(said))
    assert found.bytes.decode() == element_string(said)
    assert found.symbology_identifier == "]C1"


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**9 - 1), st.integers(0, 9))
def test_an_sscc_is_read_back(serial: int, extension: int) -> None:
    sscc = sscc_for("9521234", serial, extension)
    found = seen(gs1_128((element("00", sscc),), 0.9))
    assert found.bytes.decode() == f"00{sscc}"
    assert (found.symbology_identifier, found.content_type) == ("]C1", zxingcpp.ContentType.GS1)


def test_a_separator_stands_after_a_batch_that_is_not_last() -> None:
    said = (element("10", "SL-207"), element("400", "1041"))
    assert seen(gs1_128(said)).bytes == b"10SL-207\x1d4001041"


def test_guard_bars_reach_below_and_all_others_end_alike() -> None:
    bars = retail_symbol("9521234001010").bars
    heights = sorted({round(bar.height_mm, 6) for bar in bars})
    assert heights == [22.85, pytest.approx(22.85 + 5 * 0.33)]
    assert sum(bar.height_mm > 23 for bar in bars) == 6  # two at each end, two in the middle


def test_bearer_bars_go_all_round_and_leave_the_white_inside() -> None:
    symbol = itf14("19521234001017")
    *bars, top, bottom, left, right = symbol.bars
    assert top.width_mm == bottom.width_mm == pytest.approx(symbol.width_mm)
    assert min(bar.x_mm for bar in bars) - left.width_mm == pytest.approx(10 * 0.495)
    last = max(bar.x_mm + bar.width_mm for bar in bars)
    assert right.x_mm - last == pytest.approx(10 * 0.495)
    assert {round(bar.width_mm / 0.495, 6) for bar in bars} == {1.0, 3.0}


@pytest.mark.parametrize("module", [0.26, 0.67])
def test_a_module_out_of_range_is_refused(module: float) -> None:
    with pytest.raises(BadInput, match="no module of EAN-13"):
        retail_symbol("9521234001010", module)


@pytest.mark.parametrize("gtin", ["9521234001011", "19521234001017", "952123", "95212340010x0"])
def test_a_wrong_number_is_refused(gtin: str) -> None:
    with pytest.raises(BadInput, match="no GTIN of a ball"):
        retail_symbol(gtin)


def test_no_symbol_is_longer_than_it_may_be() -> None:
    gtin = element("01", "19521234001017")
    assert not fits_one_gs1_128((gtin, element("10", "abcdefghijklmnopqrst")))
    assert fits_one_gs1_128((element("10", "abcdefghijklmnopqrst"),))
    with pytest.raises(BadInput, match="too long"):
        gs1_128((gtin, element("10", "abcdefghijklmnopqrst")))
    for length in range(1, 21):
        said = (gtin, element("10", "a" * length))
        if fits_one_gs1_128(said):
            assert gs1_128(said).width_mm <= LONGEST_MM
    assert SIZES["GS1-128"].least_mm == 0.495
