"""Reading quantities as people write them: "200 g", "7.05 oz", "20 %", "30 Ne", "Nm 2.5"."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.quantities.count import SYSTEMS, count_system
from clew.quantities.kinds import FRACTION, GAIN, KINDS, Kind

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER_UNIT = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_UNIT_NUMBER = re.compile(rf"^\s*([A-Za-z]+)\s+({_NUMBER})\s*$")
_LONGEST = 60


def _shown(text: object) -> str:
    plain = text if isinstance(text, str) else repr(text)
    plain = plain.encode("unicode_escape").decode() if not plain.isprintable() else plain
    return repr(plain) if len(plain) <= _LONGEST else repr(plain[:_LONGEST]) + "…"


def a(word: str) -> str:
    """Put the right article before a word."""
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"


def _refuse(what: str, kind_name: str, example: str, text: object) -> BadInput:
    return BadInput(Fault(what, expected=f"{a(kind_name)} such as {example}", value=_shown(text)))


def _split(text: object, kind_name: str, example: str) -> tuple[float, str]:
    """Split a written quantity into its number and its unit, or say why it cannot be."""
    if isinstance(text, bool) or not isinstance(text, str):
        if isinstance(text, int | float) and not isinstance(text, bool):
            raise _refuse("a number without a unit", kind_name, example, text)
        raise _refuse("not a quantity", kind_name, example, text)
    plain = text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2212", "-")
    if re.search(r"\d,\d", plain):
        raise _refuse(
            "a comma in a number; write a point, and no mark between thousands",
            kind_name,
            example,
            text,
        )
    if re.match(r"^\s*[+-]?(nan|inf(inity)?)\b", plain, re.IGNORECASE):
        raise _refuse("not a number", kind_name, example, text)
    if not plain.isprintable():
        raise _refuse("not a quantity", kind_name, example, text)
    match = _NUMBER_UNIT.match(plain)
    if match is None or (not plain.isascii() and not re.match(r"^[\x00-\x7f°³‰]*$", plain)):
        raise _refuse("not a quantity", kind_name, example, text)
    number = float(match.group(1))
    if not math.isfinite(number):
        raise _refuse("too large a number", kind_name, example, text)
    if not match.group(2):
        raise _refuse("a number without a unit", kind_name, example, text)
    return number, match.group(2)


@lru_cache(maxsize=1)
def _kind_of_unit() -> dict[str, str]:
    """Which kinds a unit belongs to, to say "a length, not a mass"."""
    names: dict[str, list[str]] = {}
    for kind in KINDS:
        for unit in kind.units:
            names.setdefault(unit, []).append(kind.name)
    for system in SYSTEMS:
        names.setdefault(system.name, []).append("count")
    return {unit: " or ".join(dict.fromkeys(found)) for unit, found in names.items()}


def read_quantity(text: object, kind: Kind) -> float:
    """Read a quantity of one kind.

    Parameters
    ----------
    text : object
        What was written; a string with a number and a unit.
    kind : Kind
        What it must be.

    Returns
    -------
    float
        The value in the kind's inside unit.

    Raises
    ------
    BadInput
        When there is no unit, the unit is of another kind, or the value cannot be meant.
    """
    number, unit = _split(text, kind.name, kind.example)
    factor = kind.units.get(unit)
    if factor is None:
        other = _kind_of_unit().get(unit)
        what = (
            f"{unit} is {a(other)}, not {a(kind.name)}" if other else f"no such unit of {kind.name}"
        )
        raise _refuse(what, kind.name, kind.example, text)
    value = number * factor + kind.offsets.get(unit, 0.0)
    if not math.isfinite(value):
        raise _refuse("too large a number", kind.name, kind.example, text)
    if value < kind.low - 1e-9:
        what = (
            f"{a(kind.name)} cannot be negative"
            if kind.low == 0
            else f"{a(kind.name)} below {kind.low:g} {kind.inside}"
        )
        raise _refuse(what, kind.name, kind.example, text)
    if value > kind.high * (1 + 1e-12):
        limit = (
            "100 %"
            if kind is FRACTION
            else "150 %"
            if kind is GAIN
            else f"{kind.high:g} {kind.inside}"
        )
        raise _refuse(f"{a(kind.name)} above {limit}", kind.name, kind.example, text)
    return value


def read_count(text: object) -> float:
    """Read a count in any count system: "400 tex", "2.5 Nm" or "Nm 2.5".

    Parameters
    ----------
    text : object
        What was written.

    Returns
    -------
    float
        The count [tex].

    Raises
    ------
    BadInput
        When there is no unit, no such system, or the count is not more than 0.
    """
    example = "400 tex or 2.5 Nm"
    turned = _UNIT_NUMBER.match(text) if isinstance(text, str) else None
    if turned is not None:
        number, unit = float(turned.group(2)), turned.group(1)
    else:
        number, unit = _split(text, "count", example)
    try:
        system = count_system(unit)
    except BadInput:
        other = _kind_of_unit().get(unit)
        what = f"{unit} is {a(other)}, not a count" if other else "no such count system"
        raise _refuse(what, "count", example, text) from None
    if not 0.0 < number < math.inf:
        raise _refuse("a count is more than 0", "count", example, text)
    value = system.to_tex(number)
    if not 0.0 < value < math.inf:
        raise _refuse("a count out of reach", "count", example, text)
    return value
