"""Bar codes as rectangles in millimetres, at true size.

The widths of bars come from a general library; how wide a module is, how high the bars stand and
how much white is left beside them is decided here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from clew.checks.band.gs1 import Element, element_string, in_brackets
from clew.faults import BadInput, Fault
from clew.mill.gs1_keys import is_key

SymbolKind = Literal["EAN-13", "EAN-8", "UPC-A", "ITF-14", "GS1-128"]

LONGEST_MM = 165.1
"""Longest GS1-128 symbol, white beside it included [mm].

Source: GS1 General Specifications, release 18, 5.4.4.3. READ.
"""

_ZINT_PX = 2.0
_BEARER_MODULES = 5.0
"""Bearer bars, at least two modules on a label: READ in GS1 New Zealand's ITF-14 page [modules]."""
_GUARD_MODULES = 5.0


@dataclass(frozen=True, slots=True)
class SymbolSize:
    """The sizes a symbol may have where it is read.

    Attributes
    ----------
    least_mm, usual_mm, most_mm : float
        Width of a module: least, as drawn, most [mm].
    height_per_module : float
        Height of the bars over the width of a module [-]; 0 where the height is fixed.
    height_mm : float
        Fixed height of the bars [mm]; 0 where it goes with the module.
    left_modules, right_modules : int
        White to be left on each side [modules].
    """

    least_mm: float
    usual_mm: float
    most_mm: float
    height_per_module: float
    height_mm: float
    left_modules: int
    right_modules: int


SIZES: dict[SymbolKind, SymbolSize] = {
    "EAN-13": SymbolSize(0.264, 0.330, 0.660, 22.85 / 0.330, 0.0, 11, 7),
    "UPC-A": SymbolSize(0.264, 0.330, 0.660, 22.85 / 0.330, 0.0, 9, 9),
    "EAN-8": SymbolSize(0.264, 0.330, 0.660, 18.23 / 0.330, 0.0, 7, 7),
    "ITF-14": SymbolSize(0.495, 0.495, 1.016, 0.0, 31.75, 10, 10),
    "GS1-128": SymbolSize(0.495, 0.495, 1.016, 0.0, 31.75, 10, 10),
}
"""Sizes on a ball at the till, and on cases and pallets in general distribution.

Source: GS1 Sweden, size guide, which gives the limits of the GS1 General Specifications. READ.
"""


@dataclass(frozen=True, slots=True)
class Bar:
    """A black rectangle, from the symbol's upper left corner, white beside it included.

    Attributes
    ----------
    x_mm, y_mm : float
        Its upper left corner [mm].
    width_mm, height_mm : float
        Its size [mm].
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol to be printed at true size.

    Attributes
    ----------
    kind : str
        Its symbology.
    shown : str
        What stands under it for the eye.
    module_mm : float
        Width of a module, its X-dimension [mm].
    width_mm, height_mm : float
        Its size, white at the sides included, words under it not [mm].
    bars : tuple of Bar
        What is black.
    """

    kind: SymbolKind
    shown: str
    module_mm: float
    width_mm: float
    height_mm: float
    bars: tuple[Bar, ...]


def retail_symbol(gtin: str, module_mm: float = 0.330) -> Symbol:
    """Draw the symbol of a ball: EAN-13, UPC-A or EAN-8 by the length of its number.

    Parameters
    ----------
    gtin : str
        13, 12 or 8 digits.
    module_mm : float
        Width of a module, 0.264 to 0.660 [mm].

    Returns
    -------
    Symbol
        Guard bars reach five modules below the others.

    Raises
    ------
    BadInput
        When the number or the module is none.
    """
    kinds: dict[int, tuple[SymbolKind, str]] = {
        13: ("EAN-13", "EANX_CHK"), 12: ("UPC-A", "UPCA_CHK"), 8: ("EAN-8", "EANX_CHK")
    }  # fmt: skip
    if len(gtin) not in kinds or not is_key(gtin, tuple(kinds)):
        raise BadInput(
            Fault("no GTIN of a ball", "8, 12 or 13 digits with their check digit",
                  value=repr(gtin[:40]))
        )  # fmt: skip
    kind, library_name = kinds[len(gtin)]
    return _drawn(kind, library_name, gtin, gtin, module_mm)


def itf14(gtin14: str, module_mm: float = 0.495) -> Symbol:
    """Draw ITF-14, with bearer bars all round and their white inside.

    Raises
    ------
    BadInput
        When the number is no GTIN of 14 digits, or the module is none.
    """
    if not is_key(gtin14, (14,)):
        raise BadInput(
            Fault("no GTIN of a case", "14 digits with their check digit", value=repr(gtin14[:40]))
        )
    shown = f"{gtin14[0]} {gtin14[1:3]} {gtin14[3:8]} {gtin14[8:13]} {gtin14[13]}"
    return _drawn("ITF-14", "C25INTER", gtin14, shown, module_mm)


def gs1_128(elements: Sequence[Element], module_mm: float = 0.495) -> Symbol:
    """Draw GS1-128.

    Parameters
    ----------
    elements : sequence of Element
        What it says, in order.
    module_mm : float
        Width of a module, 0.495 to 1.016 [mm].

    Returns
    -------
    Symbol
        At most 165.1 mm long, white at the sides included.

    Raises
    ------
    BadInput
        When the elements are not of their form, or the symbol would be longer than that.
    """
    written = element_string(elements)
    if len(written) > 48:
        raise BadInput(
            Fault("more than one symbol holds", "48 characters", value=f"{len(written)} characters")
        )
    data = "".join(f"[{one.ai}]{one.data}" for one in elements)
    drawn = _drawn("GS1-128", "GS1_128", data, in_brackets(elements), module_mm)
    if drawn.width_mm > LONGEST_MM + 1e-9:
        raise BadInput(
            Fault("a symbol too long", f"at most {LONGEST_MM} mm", value=f"{drawn.width_mm:.1f} mm")
        )
    return drawn


def fits_one_gs1_128(elements: Sequence[Element], module_mm: float = 0.495) -> bool:
    """Say whether elements go into one symbol: 48 characters, 165.1 mm."""
    try:
        gs1_128(elements, module_mm)
    except BadInput:
        return False
    return True


def _drawn(kind: SymbolKind, library_name: str, data: str, shown: str, module_mm: float) -> Symbol:
    size = SIZES[kind]
    if not size.least_mm - 1e-9 <= module_mm <= size.most_mm + 1e-9:
        raise BadInput(
            Fault(
                f"no module of {kind}",
                f"{size.least_mm:g} to {size.most_mm:g} mm",
                value=f"{module_mm:g} mm",
            )
        )
    found = _bars_in_modules(library_name, data)
    height_mm = size.height_mm or size.height_per_module * module_mm
    border_mm = _BEARER_MODULES * module_mm if kind == "ITF-14" else 0.0
    guard_mm = _GUARD_MODULES * module_mm
    left_mm = border_mm + size.left_modules * module_mm
    bars = [
        Bar(
            left_mm + x * module_mm,
            border_mm,
            width * module_mm,
            height_mm + (guard_mm if guard else 0.0),
        )
        for x, width, guard in found
    ]
    modules = max(x + width for x, width, _ in found)
    width_mm = left_mm + (modules + size.right_modules) * module_mm + border_mm
    full_mm = max(bar.y_mm + bar.height_mm for bar in bars) + border_mm
    if border_mm:
        bars += [
            Bar(0.0, 0.0, width_mm, border_mm),
            Bar(0.0, full_mm - border_mm, width_mm, border_mm),
            Bar(0.0, border_mm, border_mm, height_mm),
            Bar(width_mm - border_mm, border_mm, border_mm, height_mm),
        ]
    return Symbol(kind, shown, module_mm, width_mm, full_mm, tuple(bars))


def _bars_in_modules(library_name: str, data: str) -> list[tuple[float, float, bool]]:
    """Ask the library for the bars: where, how wide [modules], and whether it is a guard."""
    import zint

    symbol: Any = zint.Symbol()
    symbol.symbology = getattr(zint.Symbology, library_name)
    try:
        symbol.encode(data)
        symbol.buffer_vector()
    except Exception as error:  # the library's own kinds of error are not named
        raise BadInput(
            Fault("no data of a symbol", "data of its form", value=re.sub(r"\s+", " ", str(error)))
        ) from None
    rows = [(one.x, one.width, one.height) for one in symbol.vector.rectangles]
    first = min(x for x, _, _ in rows)
    plain = min(height for _, _, height in rows)
    return [
        (round((x - first) / _ZINT_PX, 3), round(width / _ZINT_PX, 3), height > plain)
        for x, width, height in rows
    ]
