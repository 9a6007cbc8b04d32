"""Words of the rooms that carry grams, metres or millimetres, put into the reader's units.

A room says a limit in one system; whoever reads in the other gets the same limit rounded to the
side on which it still holds.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace

from clew.faults import Fault
from clew.languages import told_again
from clew.papers import floor_numbers as floor
from clew.quantities import DENSITY, FORCE, LENGTH, MASS, Kind, UnitSystem, in_unit, number

_KINDS: dict[str, tuple[Kind, str]] = {
    "g": (MASS, "oz"), "m": (LENGTH, "yd"), "mm": (LENGTH, "in"), "cN": (FORCE, "gf"),
    "kg/m3": (DENSITY, "lb/ft3"),
}  # fmt: skip
_QUANTITY = r"(\d+(?:\.\d+)?) (kg/m3|mm|cN|g|m)\b"
_LEAST = re.compile(rf"(at least |more than ){_QUANTITY}|{_QUANTITY}( or more)")
_MOST = re.compile(rf"(at most |less than ){_QUANTITY}|{_QUANTITY}( or less)")
_SIZE = re.compile(r"(\d+(?:\.\d+)?) mm\b")


def fault_for(fault: Fault, units: UnitSystem) -> Fault:
    """Say what was expected in the reader's units.

    Parameters
    ----------
    fault : Fault
        What is wrong; what was typed is left as it was typed.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    Fault
        The same with its limit in those units.
    """
    if units == "metric":
        return fault
    there: dict[str, str] = {}
    english = _LEAST.sub(lambda found: _limit(found, there, up=True), fault.expected)
    english = _MOST.sub(lambda found: _limit(found, there, up=False), english)
    return replace(
        fault, expected=said_as(fault.expected, english, lambda part: there.get(part, part))
    )


def said_as(words: str, english: str, change: Callable[[str], str]) -> str:
    """Change the pieces of a text so that it can still be said in every language.

    Parameters
    ----------
    words : str
        The text.
    english : str
        What must come out of it in English.
    change : callable
        Changes a piece: a number with its unit, standing by itself.

    Returns
    -------
    str
        The text of changed pieces; where what must change is no piece of its own, the English.
    """
    told = told_again(words, change)
    return told if told == english else english


def _limit(found: re.Match[str], there: dict[str, str], *, up: bool) -> str:
    before, value, unit, value2, unit2, after = found.groups(default="")
    kind, other = _KINDS[unit or unit2]
    inside = float(value or value2) * kind.units[unit or unit2]
    limit = in_unit(inside, kind, other)
    scale = 10.0 ** (3 - math.floor(math.log10(limit))) if limit > 0.0 else 1.0
    kept = (math.ceil(limit * scale - 1e-6) if up else math.floor(limit * scale + 1e-6)) / scale
    there[f"{value or value2} {unit or unit2}"] = limit_text = f"{number(kept, 4)} {other}"
    return f"{before}{limit_text}{after}"


def sizes_for(words: str, units: UnitSystem) -> str:
    """Write a room's sizes [mm] inside a sentence in the reader's units."""
    if units == "metric":
        return words

    def sized(part: str) -> str:
        return _SIZE.sub(
            lambda found: f"{floor.size_figure(float(found[1]), units)} {floor.size_unit(units)}",
            part,
        )

    return said_as(words, sized(words), sized)
