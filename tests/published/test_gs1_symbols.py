"""Element strings and symbol sizes against what GS1 offices and others print."""

from __future__ import annotations

import pytest

from clew.checks.band.gs1 import GS, MOST_CHARACTERS, Element, element_string, read_elements
from clew.papers.labels.symbols import (
    LONGEST_MM,
    SIZES,
    SymbolKind,
    gs1_128,
    itf14,
    retail_symbol,
)


@pytest.mark.outside(
    document="GS1 AI validating parser, wiki page GS1 Data Example",
    edition="as on the web in 2026",
    section="the batch of the example, its separator and its GTIN",
    mark="READ",
)
def test_a_separator_ends_a_batch_and_none_a_gtin() -> None:
    printed = "010506091751001110628S93R"
    said = (Element("01", "05060917510011"), Element("10", "628S93R"))
    assert read_elements(printed) == said
    assert element_string(said) == printed
    assert element_string((said[1], said[0])) == f"10628S93R{GS}0105060917510011"


@pytest.mark.outside(
    document="GS1 General Specifications",
    edition="release 18, 2018",
    section="5.4.4.3, longest symbol",
    mark="READ",
)
def test_the_limits_of_one_symbol() -> None:
    assert (LONGEST_MM, MOST_CHARACTERS) == (165.1, 48)


@pytest.mark.outside(
    document="GS1 Sweden, size guide",
    edition="as on the web in 2026",
    section="limits of module, height and white",
    mark="READ",
)
@pytest.mark.parametrize(
    ("kind", "least", "usual", "most", "height", "left", "right"),
    [
        ("EAN-8", 0.264, 0.330, 0.660, 18.23, 7, 7),
        ("EAN-13", 0.264, 0.330, 0.660, 22.85, 11, 7),
        ("UPC-A", 0.264, 0.330, 0.660, 22.85, 9, 9),
        ("ITF-14", 0.495, 0.495, 1.016, 31.75, 10, 10),
        ("GS1-128", 0.495, 0.495, 1.016, 31.75, 10, 10),
    ],
)
def test_sizes_of_symbols(
    kind: SymbolKind, least: float, usual: float, most: float, height: float, left: int, right: int
) -> None:
    size = SIZES[kind]
    assert (size.least_mm, size.usual_mm, size.most_mm) == (least, usual, most)
    assert (size.left_modules, size.right_modules) == (left, right)
    drawn = size.height_mm or size.height_per_module * usual
    assert drawn == pytest.approx(height)


@pytest.mark.outside(
    document="GS1 Ireland, EAN-13 symbol specifications",
    edition="as on the web in 2026",
    section="least, nominal and largest size, light margins",
    mark="READ",
)
@pytest.mark.parametrize(
    ("module", "width", "bars"),
    [(0.264, 29.83, 18.28), (0.330, 37.29, 22.85), (0.660, 74.58, 45.7)],
)
def test_an_ean13_is_as_wide_and_high_as_printed(module: float, width: float, bars: float) -> None:
    symbol = retail_symbol("9521234001010", module)
    assert symbol.width_mm == pytest.approx(width, abs=0.01)
    assert min(bar.height_mm for bar in symbol.bars) == pytest.approx(bars, abs=0.01)
    if module == 0.330:
        left = min(bar.x_mm for bar in symbol.bars)
        right = max(bar.x_mm + bar.width_mm for bar in symbol.bars)
        assert (left, width - right) == (pytest.approx(3.63), pytest.approx(2.31))


@pytest.mark.outside(
    document="onbarcode.com, ITF-14 size setting",
    edition="as on the web in 2026",
    section="W = P(4N + 6)X + (N + 6)X + 2Q + 2B",
    mark="READ",
)
def test_an_itf14_is_as_wide_as_its_formula() -> None:
    module, pairs, ratio, white, bearer = 0.495, 7, 3, 10, 5
    wide = (pairs * (4 * ratio + 6) + (ratio + 6) + 2 * white + 2 * bearer) * module
    assert itf14("19521234001017", module).width_mm == pytest.approx(wide)


@pytest.mark.outside(
    document="ISO/IEC 15417, Code 128",
    edition="-",
    section="start, FNC1, pairs of digits, check, stop: 11 modules each, 13 the stop",
    mark="MEMORY",
)
def test_an_sscc_symbol_is_as_wide_as_its_characters() -> None:
    symbol = gs1_128((Element("00", "095212340000000013"),))
    assert symbol.width_mm == pytest.approx((11 * (1 + 1 + 10 + 1) + 13 + 20) * 0.495)
