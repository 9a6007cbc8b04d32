"""Whether a band's text and symbol go on it at the sizes the law asks for."""

from __future__ import annotations

import math
import re

from clew.checks.band.text import BandText
from clew.languages import first_upper, say

LEAST_TYPE_PT = 6.0
"""Smallest type on a band [pt]. Our choice: a small letter of 1 mm and less is not read."""
MARGIN_MM = 3.0
GUTTER_MM = 4.0
_WITH_UNIT = re.compile(r"[(]?[0-9.,]+ (?:g|kg|oz|lb|m|yd|mm|cm|in)\b[)]?")
_PIECE = re.compile(r".{1,12}")
_PT_MM = 25.4 / 72.0
_LINE = 1.25
_SLIM, _WIDE = frozenset("fijlrtI.,;:'|!()[]- "), frozenset("mwMW@%℮")
_LETTER, _SLIM_LETTER, _CAPITAL, _WIDE_LETTER = 0.52, 0.34, 0.70, 0.95
"""Width of a letter over the type's size [1]. DERIVED from the letters the papers use, bold."""
_NAME_PT, _CLASS_PT = 12.0, 7.5
"""Types of the ball's name and of its class, as a band is laid out [pt]. Source: our layout."""
_FIGURE = 0.63
"""Height of a figure over the type's size [1]. DERIVED from the same."""
_SYMBOLS_MM: dict[int, tuple[float, float]] = {
    13: (37.29, 28.5), 12: (37.29, 28.5), 8: (26.73, 24.0)
}  # fmt: skip
"""Width and height with the words under it, nominal size [mm]. Source: GS1 size limits. READ."""


def figures_pt(height_mm: float) -> float:
    """Give the type whose figures are so high [pt]."""
    return max(height_mm / _FIGURE / _PT_MM, LEAST_TYPE_PT)


def symbol_mm(band: BandText) -> tuple[float, float]:
    """Give the room the ball's symbol takes, words under it included [mm]."""
    return _SYMBOLS_MM.get(len(band.gtin), (0.0, 0.0))


def columns_mm(band: BandText) -> tuple[float, float, float]:
    """Part a band into three columns: name and quantity, content and care, symbol and lot [mm].

    Source: our own layout.
    """
    inner = band.width_mm - 2 * MARGIN_MM - 2 * GUTTER_MM
    last = max(symbol_mm(band)[0], 0.26 * inner)
    left = max(inner - last, 0.0)
    return 0.42 * left, 0.58 * left, last


def _long(text: str, type_pt: float) -> float:
    """How long a text is on one line [mm]."""
    widths = (
        _WIDE_LETTER if one in _WIDE
        else _SLIM_LETTER if one in _SLIM
        else _CAPITAL if one.isupper()
        else _LETTER
        for one in text
    )  # fmt: skip
    return sum(widths) * type_pt * _PT_MM


def _lines(text: str, type_pt: float, width_mm: float) -> int:
    """Count the lines a text takes where it breaks between words only."""
    lines, used_mm = 1, 0.0
    for word in text.split():
        here_mm = _long(word, type_pt)
        if used_mm and used_mm + _long(" ", type_pt) + here_mm > width_mm:
            lines, used_mm = lines + 1, here_mm
        else:
            used_mm += here_mm + (_long(" ", type_pt) if used_mm else 0.0)
    return lines


def _unbroken(line: str) -> list[str]:
    """Parts of a line that are not broken: words to 24 letters, and a number with its unit."""
    words = _WITH_UNIT.sub(lambda found: found[0].replace(" ", "\u00a0"), line).split(" ")
    return [part for one in words for part in (_PIECE.findall(one) if len(one) > 24 else [one])]


def room_words(band: BandText) -> str:
    """Say what does not go on a band; empty where all does.

    Parameters
    ----------
    band : BandText
        Its text.

    Returns
    -------
    str
        A sentence.

    Notes
    -----
    An estimate from letter widths, at the smallest type; within a line of the edge, look at the
    sheet. Source: DERIVED.
    """
    first, second, third = columns_mm(band)
    inner_mm = band.height_mm - 2 * MARGIN_MM
    if band.gtin and band.width_mm < symbol_mm(band)[0] + 2 * MARGIN_MM + 2 * GUTTER_MM:
        return say(
            "The band is {width:g} mm long; the symbol alone needs more.", width=band.width_mm
        )
    large = figures_pt(band.figure_mm)

    def tall(lines: tuple[str, ...], type_pt: float, width_mm: float) -> float:
        return sum(_lines(one, type_pt, width_mm) for one in lines) * type_pt * _LINE * _PT_MM

    small = LEAST_TYPE_PT
    name_mm = tall((band.ball_name,), _NAME_PT, first) + tall((band.class_words,), _CLASS_PT, first)
    free_mm = 2 * band.figure_mm  # free of other print above and below
    front = name_mm + free_mm + tall(band.quantity_lines, 1.1 * large, first)
    middle_lines = (
        *band.fibre_lines, *band.other_lines, *(one for one in (band.gauge, band.needles) if one),
        *band.care,
    )  # fmt: skip
    middle = tall(middle_lines, small, second)
    last_lines = tuple(
        one for one in (band.colour_name, band.lot_name, band.maker, band.origin) if one
    )
    last = tall(last_lines, small, third) + symbol_mm(band)[1]
    for lines, type_pt, width_mm in (
        ((band.ball_name,), _NAME_PT, first), (band.quantity_lines, 1.1 * large, first),
        ((band.class_words,), _CLASS_PT, first), (middle_lines, small, second),
        (last_lines, small, third),
    ):  # fmt: skip
        words = [word for line in lines for word in _unbroken(line)]
        for word in words:
            if _long(word, type_pt) > width_mm:
                return say(
                    "A word does not go into its column of {width:.0f} mm: {word}. A longer band "
                    "gives wider columns.",
                    width=width_mm,
                    word=word,
                )
    for what, needed in (
        (
            say("mass and length with figures of {height:.2g} mm", height=band.figure_mm),
            front,
        ),
        (say("fibre content, gauge and care"), middle),
        (say("symbol, dye lot and maker"), last),
    ):
        if needed > inner_mm:
            return say(
                "{what} need a band about {needed} mm high; it is {height:g} mm.",
                what=first_upper(what),
                needed=math.ceil(needed + 2 * MARGIN_MM),
                height=band.height_mm,
            )
    return ""
