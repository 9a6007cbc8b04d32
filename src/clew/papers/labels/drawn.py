"""Symbols in the form a template draws: black rectangles and the words under them."""

from __future__ import annotations

from dataclasses import dataclass

from clew.papers.labels.symbols import Symbol


@dataclass(frozen=True, slots=True)
class DrawnSymbol:
    """A symbol for a template.

    Attributes
    ----------
    shown : str
        What stands under it.
    width, height : float
        Its size, white at the sides included [mm].
    bars : tuple of tuple of float
        x, y, width and height of each black rectangle [mm].
    """

    shown: str
    width: float
    height: float
    bars: tuple[tuple[float, float, float, float], ...]


def drawn(symbol: Symbol) -> DrawnSymbol:
    """Lay a symbol out for a template, to the thousandth of a millimetre."""
    return DrawnSymbol(
        symbol.shown,
        round(symbol.width_mm, 4),
        round(symbol.height_mm, 4),
        tuple(
            (
                round(bar.x_mm, 4),
                round(bar.y_mm, 4),
                round(bar.width_mm, 4),
                round(bar.height_mm, 4),
            )
            for bar in symbol.bars
        ),
    )
