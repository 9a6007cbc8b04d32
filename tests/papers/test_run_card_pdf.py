"""The card on paper: one sheet, every text on it, black and white, the same bytes every time."""

from __future__ import annotations

import dataclasses
import io
import struct
import zlib
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from typing import Any

import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.papers import DEFERRAL, CardContent, card_content, run_card_pdf, run_card_png

Contents = Callable[..., CardContent]
Texts = Callable[[CardContent], list[str]]
SHEETS = [(paper, units) for paper in ("A4", "Letter") for units in ("metric", "yard")]
SIZES_PT = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
FIGURE_HEIGHT_MM = 0.729 * 25.4 / 72
"""Height of a figure of DejaVu Sans Mono for one point of its size."""
HOSTILE = (
    "#set page(fill: red)", "*bold* _thin_ `code`", "$ x $ = /* note */ // end", "@lot <label> ~",
    "[ ] { } ( ) \" ' \\", "1. + - =", "\\u{41}", "%PDF", "</p><script>alert(1)</script>",
    "{{ 7 * 7 }} {% raw %}", "x" * 80, "W" * 80, "藍色の糸 1", "🧶 ball", "سلام", "é" + "e\u0301",
    "e\u0301\u0323\u0331", "א\u0301", "\x00\x07", "\u202egnirts",
)  # fmt: skip


def _pages(data: bytes) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(data)).pages)


def _tokens(data: bytes) -> set[str]:
    return {
        word for page in _pages(data) for word in page.extract_text().replace("\u200b", "").split()
    }


def _grey_and_shape(png: bytes) -> tuple[bool, tuple[int, int]]:
    """Read an RGB(A) PNG of 8 bits by the book; do red, green and blue agree everywhere?"""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    place, packed, width, height, channels = 8, b"", 0, 0, 0
    while place < len(png):
        (length,), kind = struct.unpack(">I", png[place : place + 4]), png[place + 4 : place + 8]
        body = png[place + 8 : place + 8 + length]
        if kind == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert depth == 8
            channels = {2: 3, 6: 4}[colour]
        elif kind == b"IDAT":
            packed += body
        place += 12 + length
    raw = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + width * channels)
    above = np.zeros((width, channels), np.int64)
    grey = True
    for line in raw:
        filtered, here = (
            line[1:].reshape(width, channels).astype(np.int64),
            np.zeros((width, channels), np.int64),
        )
        if line[0] in {0, 2}:
            here = (filtered + (above if line[0] == 2 else 0)) % 256
        else:
            left, corner = np.zeros(channels, np.int64), np.zeros(channels, np.int64)
            for x in range(width):
                if line[0] == 1:
                    guess = left
                elif line[0] == 3:
                    guess = (left + above[x]) // 2
                else:
                    start = left + above[x] - corner
                    far = [abs(start - left), abs(start - above[x]), abs(start - corner)]
                    guess = np.where(
                        (far[0] <= far[1]) & (far[0] <= far[2]),
                        left,
                        np.where(far[1] <= far[2], above[x], corner),
                    )
                left, corner = (filtered[x] + guess) % 256, above[x]
                here[x] = left
        grey = grey and bool((here[:, 0] == here[:, 1]).all() and (here[:, 1] == here[:, 2]).all())
        above = here
    return grey, (width, height)


@pytest.mark.parametrize(
    ("paper", "units"), [("A4", "metric"), pytest.param("Letter", "yard", marks=pytest.mark.long)]
)
def test_every_ball_and_lot_of_the_demo_is_one_sheet(
    demo_mill: Mill, content: Contents, made: datetime, paper: str, units: str
) -> None:
    count = 0
    for ball in demo_mill.ball:
        lots = [
            lot.lot
            for colour in demo_mill.colour
            for lot in colour.dye_lot
            if lot.yarn == ball.yarn
        ]
        for lot in lots:
            (page,) = _pages(
                run_card_pdf(content(ball.name, lot, paper=paper, units=units), made=made)
            )
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
                SIZES_PT[paper], abs=0.1
            )
            count += 1
    assert count == 15


@pytest.mark.parametrize(("paper", "units"), SHEETS)
def test_the_longest_texts_and_twelve_winders_are_one_sheet_in_letters_of_8_points(
    fullest: Contents, made: datetime, paper: str, units: str
) -> None:
    (page,) = _pages(run_card_pdf(fullest(paper=paper, units=units), made=made))
    assert min(_letter_sizes(page)) >= 8.0 - 1e-6
    assert max(_letter_sizes(page)) * FIGURE_HEIGHT_MM >= 10.0


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_tried_values_stand_on_the_one_sheet_too(
    fullest: Contents, made: datetime, paper: str
) -> None:
    for full in (fullest(paper=paper), fullest(paper=paper, units="yard")):
        found = dataclasses.replace(full, tried=("NOT FOR THE RUN", "Tried: all of it. " * 20))
        (page,) = _pages(run_card_pdf(found, made=made))
        assert "NOT FOR THE RUN" in page.extract_text()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_turns_can_be_read_from_two_metres(
    content: Contents, made: datetime, paper: str
) -> None:
    """Figures are legible from two hundred times their height: 10 mm (common practice)."""
    (page,) = _pages(run_card_pdf(content(paper=paper), made=made))
    assert max(_letter_sizes(page)) * FIGURE_HEIGHT_MM >= 10.0
    assert min(_letter_sizes(page)) >= 8.0 - 1e-6


def _letter_sizes(page: pypdf.PageObject) -> list[float]:
    found: list[float] = []

    def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        if text.strip():
            found.append(size * abs(tm[3] * cm[3]))

    page.extract_text(visitor_text=visit)
    assert found
    return found


@pytest.mark.parametrize("winders", [24, 64])
def test_more_winders_than_a_sheet_holds_make_the_letters_smaller_and_no_second_sheet(
    fullest: Contents, made: datetime, winders: int
) -> None:
    usual = fullest(paper="Letter")
    rows = tuple((str(n), str(n), *usual.winders.rows[n % 6][2:]) for n in range(1, winders + 1))
    many = dataclasses.replace(usual, winders=dataclasses.replace(usual.winders, rows=rows))
    data = run_card_pdf(many, made=made)
    assert len(_pages(data)) == 1
    assert {str(n) for n in range(1, winders + 1)} <= _tokens(data)


@pytest.mark.parametrize(("paper", "units"), SHEETS)
def test_every_text_of_the_content_stands_on_the_sheet(
    content: Contents, printed_texts: Texts, made: datetime, paper: str, units: str
) -> None:
    found = content("Dunnow 50", "SA-340", paper=paper, units=units)
    on_sheet = {word.casefold() for word in _tokens(run_card_pdf(found, made=made))}
    for text in printed_texts(found):
        for word in text.casefold().split():
            assert any(word in here for here in on_sheet), f"{word} of {text!r}"


def test_the_closing_line_and_the_time_of_printing_stand_on_the_sheet(
    content: Contents, made: datetime
) -> None:
    (page,) = _pages(run_card_pdf(content(), made=made))
    text = " ".join(page.extract_text().split())
    assert DEFERRAL in text
    assert "printed 2026-11-25 07:46" in text


def test_the_same_content_and_time_give_the_same_bytes(content: Contents, made: datetime) -> None:
    first = run_card_pdf(content(), made=made)
    assert first == run_card_pdf(content(), made=made)
    assert first != run_card_pdf(content(), made=made + timedelta(minutes=1))
    assert first != run_card_pdf(content(lot="SL-211"), made=made)


def test_the_time_is_printed_on_the_mills_own_clock(content: Contents, made: datetime) -> None:
    there = made.astimezone(timezone(timedelta(hours=5, minutes=30)))
    (page,) = _pages(run_card_pdf(content(), made=there))
    assert "printed 2026-11-25 13:16" in page.extract_text()


def test_a_time_without_a_zone_is_refused(content: Contents, made: datetime) -> None:
    with pytest.raises(BadInput, match="time zone"):
        run_card_pdf(content(), made=made.replace(tzinfo=None))


def test_the_file_is_tagged_named_and_carries_its_letters(
    content: Contents, made: datetime
) -> None:
    found = content()
    reader = pypdf.PdfReader(io.BytesIO(run_card_pdf(found, made=made)))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert reader.metadata is not None and reader.metadata.title == found.title
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()
    fonts: Any = reader.pages[0]["/Resources"]["/Font"]  # type: ignore[index]  # pypdf gives plain objects
    for font in fonts.values():
        descriptor = (
            font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        )
        assert {"/FontFile2", "/FontFile3"} & set(descriptor)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_is_black_and_white(content: Contents, made: datetime, paper: str) -> None:
    png = run_card_png(content(paper=paper), made=made, dots_per_inch=36)
    grey, (width, height) = _grey_and_shape(png)
    assert grey
    assert (width, height) == pytest.approx([size / 2 for size in SIZES_PT[paper]], abs=1)


def test_the_reader_of_pictures_sees_colour() -> None:
    """The check above can fail: a red page is not grey."""
    import typst

    png = typst.compile(
        b"#set page(width: 20pt, height: 20pt, fill: red)\n#box()", format="png", ppi=72.0
    )
    assert isinstance(png, bytes)
    assert not _grey_and_shape(png)[0]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_texts_are_text(content: Contents, made: datetime, name: str) -> None:
    usual = content()
    hostile = dataclasses.replace(
        usual,
        **dict.fromkeys(
            (
                "title",
                "mill_name",
                "line_name",
                "ball_name",
                "colour_name",
                "lot_name",
                "yarn_words",
            ),
            name,
        ),
        band_text=(name, name * 2),
        cautions=(dataclasses.replace(usual.cautions[0], title=name, text=name), *usual.cautions),
        groups=tuple(
            dataclasses.replace(
                group, rows=(dataclasses.replace(group.rows[0], text=name), *group.rows[1:])
            )
            for group in usual.groups
        ),
        winders=dataclasses.replace(
            usual.winders, rows=tuple((*row[:3], name, *row[4:]) for row in usual.winders.rows)
        ),
    )
    data = run_card_pdf(hostile, made=made)
    assert len(_pages(data)) == 1
    if name.isascii() and name.isprintable():
        (page,) = _pages(data)
        assert "".join(name.split()) in "".join(page.extract_text().replace("\u200b", "").split())
    if "fill: red" in name:
        assert _grey_and_shape(run_card_png(hostile, made=made, dots_per_inch=20))[0]


@settings(max_examples=12)
@given(name=st.text(min_size=1, max_size=30))
def test_any_name_can_be_printed(content: Contents, made: datetime, name: str) -> None:
    any_card = dataclasses.replace(content(), ball_name=name, lot_name=name, band_text=(name,))
    assert len(_pages(run_card_pdf(any_card, made=made))) == 1


def test_a_card_without_lot_or_band_has_no_empty_places_for_them(
    card: Callable[[str, str], Any], demo_mill: Mill, made: datetime
) -> None:
    bare = dataclasses.replace(card("Querl 100", ""), band_text=())
    found = card_content(bare, demo_mill.safety, demo_mill.line[0], fingerprint="0" * 8)
    (page,) = _pages(run_card_pdf(found, made=made))
    assert found.band_title not in page.extract_text().split()
    assert "· dye lot" not in page.extract_text()
