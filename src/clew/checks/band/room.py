"""Whether a band's text and symbol go on it at the sizes the law asks for."""

from __future__ import annotations

import math

from clew.checks.band.text import BandText

LEAST_TYPE_PT = 6.0
"""Smallest type on a band [pt]. Our choice: a small letter of 1 mm and less is not read."""
MARGIN_MM = 3.0
GUTTER_MM = 4.0
_PT_MM = 25.4 / 72.0
_LINE = 1.25
_LETTER = 0.47
"""Mean width of a letter over the type's size [1]. DERIVED from the letters the papers use."""
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


def _lines(text: str, type_pt: float, width_mm: float) -> int:
    return max(1, math.ceil(len(text) * _LETTER * type_pt * _PT_MM / max(width_mm, 1.0)))


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
    An estimate from mean letter widths, at the smallest type; within a line of the edge, look at
    the sheet. Source: DERIVED.
    """
    first, second, third = columns_mm(band)
    inner_mm = band.height_mm - 2 * MARGIN_MM
    if band.gtin and band.width_mm < symbol_mm(band)[0] + 2 * MARGIN_MM + 2 * GUTTER_MM:
        return f"The band is {band.width_mm:g} mm long; the symbol alone needs more."
    large = figures_pt(band.figure_mm)

    def tall(lines: tuple[str, ...], type_pt: float, width_mm: float) -> float:
        return sum(_lines(one, type_pt, width_mm) for one in lines) * type_pt * _LINE * _PT_MM

    small = LEAST_TYPE_PT
    name_mm = tall((band.ball_name,), 12.0, first) + tall((band.class_words,), small, first)
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
    for what, needed in (
        (f"mass and length with figures of {band.figure_mm:.2g} mm", front),
        ("fibre content, gauge and care", middle),
        ("symbol, dye lot and maker", last),
    ):
        if needed > inner_mm:
            return (
                f"{what[0].upper()}{what[1:]} need a band about "
                f"{math.ceil(needed + 2 * MARGIN_MM)} mm high; it is {band.height_mm:g} mm."
            )
    return ""
