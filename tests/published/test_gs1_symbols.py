"""Element strings and symbol sizes against what GS1 offices and others print."""

from __future__ import annotations

import pytest

from clew.checks.band.gs1 import (
    GS,
    IDENTIFIERS,
    MOST_CHARACTERS,
    Element,
    case_gtin_for,
    element_string,
    in_set_82,
    read_elements,
)
from clew.faults import BadInput
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


@pytest.mark.outside(
    document="GS1 Barcode Syntax Dictionary, gs1-syntax-dictionary.txt",
    edition="GS1 AISBL, 2025",
    section="format, and the flag of those that need no separator",
    mark="READ",
)
@pytest.mark.parametrize(
    ("ai", "form", "predefined"),
    [
        ("00", "N18", True), ("01", "N14", True), ("02", "N14", True), ("10", "X..20", False),
        ("310n", "N6", True), ("330n", "N6", True), ("37", "N..8", False), ("400", "X..30", False),
    ],
)  # fmt: skip
def test_formats_of_identifiers(ai: str, form: str, predefined: bool) -> None:
    (one,) = (one for one in IDENTIFIERS if one.ai == ai)
    lengths = f"..{one.most}" if one.least == 1 else f"{one.most}"
    assert ("N" if one.digits else "X") + lengths == form
    assert one.predefined is predefined
    assert one.least in (1, one.most)


@pytest.mark.outside(
    document="GS1 Barcode Syntax Dictionary, gs1-syntax-dictionary.txt",
    edition="GS1 AISBL, 2025",
    section="req and ex: 01 not with 37, 02 not with 01, 02 with 37, 37 with 02",
    mark="READ",
)
def test_a_count_goes_with_what_is_inside_and_never_with_a_trade_item() -> None:
    trade, inside = Element("01", "19521234001017"), Element("02", "09521234001010")
    count = Element("37", "80")
    assert element_string((inside, count)) == "02095212340010103780"
    for wrong in ((trade, count), (trade, inside), (inside,), (count,), (trade, inside, count)):
        with pytest.raises(BadInput):
            element_string(wrong)


@pytest.mark.outside(
    document="GS1 Barcode Syntax Dictionary, lint_cset82.c",
    edition="GS1 AISBL, 2024",
    section="the 82 characters",
    mark="READ",
)
def test_the_82_characters_and_no_other() -> None:
    said = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
    assert len(said) == 82
    assert {chr(code) for code in range(0x250) if in_set_82(chr(code))} == set(said)


@pytest.mark.outside(
    document="GS1 General Specifications",
    edition="release 18, 2018",
    section="figure 2.1.8.2-1: indicator 1 to 8, noughts before a shorter number, own check digit",
    mark="READ",
)
def test_a_case_number_is_filled_up_by_the_length_of_its_ball_s() -> None:
    assert case_gtin_for("96385074", 3)[:-1] == "3000009638507"
    assert case_gtin_for("614141000012", 1)[:-1] == "1061414100001"
    assert case_gtin_for("9521234001010", 8)[:-1] == "8952123400101"
    for indicator in (0, 9):
        with pytest.raises(BadInput):
            case_gtin_for("9521234001010", indicator)
