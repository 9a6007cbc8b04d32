"""Printing quantities in either system of units, with the digits a person can use."""

from __future__ import annotations

import math
from typing import Literal

from clew.languages import figure
from clew.quantities.count import count_system
from clew.quantities.kinds import FRACTION, GAIN, Kind

UnitSystem = Literal["metric", "yard"]


def number(value: float, digits: int = 4) -> str:
    """Write a number with so many significant digits, without an exponent where it can be.

    Parameters
    ----------
    value : float
        The number [any].
    digits : int
        Significant digits; digits before the point are never dropped.

    Returns
    -------
    str
        The number as text; no thousands marks.
    """
    if value == 0.0:
        return "0"
    if not math.isfinite(value):
        return str(value)
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{value:.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return figure("0" if text in {"-0", ""} else text)


def in_unit(value: float, kind: Kind, unit: str) -> float:
    """Turn a value in the kind's inside unit into another of its units."""
    return (value - kind.offsets.get(unit, 0.0)) / kind.units[unit]


def show(
    value: float, kind: Kind, system: UnitSystem = "metric", *, digits: int = 4, unit: str = ""
) -> str:
    """Print a quantity with its unit.

    Parameters
    ----------
    value : float
        Value [the kind's inside unit].
    kind : Kind
        What it is.
    system : {"metric", "yard"}
        Which system of units to print in.
    digits : int
        Significant digits.
    unit : str
        A unit of the kind, to print in that one whatever the system.

    Returns
    -------
    str
        For example ``200 g`` or ``7.055 oz``; it reads back by `read_quantity`.
    """
    chosen = unit or (kind.metric if system == "metric" else kind.yard)
    text = number(in_unit(value, kind, chosen), digits)
    if kind in (FRACTION, GAIN):
        return figure(f"{text} %" if chosen == "%" else f"{text} {chosen}")
    return figure(f"{text}{chosen}" if chosen == "°" else f"{text} {chosen}")


def show_count(count_tex: float, unit: str = "tex", *, digits: int = 4) -> str:
    """Print a count [tex] in a count system, such as ``500 tex`` or ``2 Nm``."""
    system = count_system(unit)
    return figure(f"{number(system.from_tex(count_tex), digits)} {system.name}")
