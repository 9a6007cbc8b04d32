"""Reading quantities as people write them: "200 g", "7.05 oz", "20 %", "30 Ne", "Nm 2.5"."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.quantities.count import SYSTEMS, count_system
from clew.quantities.kinds import FRACTION, GAIN, KINDS, Kind, either

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER_UNIT = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_UNIT_NUMBER = re.compile(rf"^\s*([A-Za-z]+)\s+({_NUMBER})\s*$")
_LONGEST = 60
_A_COUNT = say("a count")
COUNT_EXAMPLE = either("400 tex", "2.5 Nm")
"""How a person may write a count."""


def _shown(text: object) -> str:
    plain = text if isinstance(text, str) else repr(text)
    plain = plain.encode("unicode_escape").decode() if not plain.isprintable() else plain
    return repr(plain) if len(plain) <= _LONGEST else repr(plain[:_LONGEST]) + "…"


def _refuse(what: str, one: str, example: str, text: object) -> BadInput:
    expected = say("{quantity} such as {example}", quantity=one, example=example)
    return BadInput(Fault(what, expected, value=_shown(text)))


def _split(text: object, one: str, example: str) -> tuple[float, str]:
    """Split a written quantity into its number and its unit, or say why it cannot be."""
    if isinstance(text, bool) or not isinstance(text, str):
        if isinstance(text, int | float) and not isinstance(text, bool):
            raise _refuse(say("a number without a unit"), one, example, text)
        raise _refuse(say("not a quantity"), one, example, text)
    plain = text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2212", "-")
    if re.search(r"\d,\d", plain):
        raise _refuse(
            say("a comma in a number; write a point, and no mark between thousands"),
            one,
            example,
            text,
        )
    if re.match(r"^\s*[+-]?(nan|inf(inity)?)\b", plain, re.IGNORECASE):
        raise _refuse(say("not a number"), one, example, text)
    if not plain.isprintable():
        raise _refuse(say("not a quantity"), one, example, text)
    match = _NUMBER_UNIT.match(plain)
    if match is None or (not plain.isascii() and not re.match(r"^[\x00-\x7f°³‰]*$", plain)):
        raise _refuse(say("not a quantity"), one, example, text)
    number = float(match.group(1))
    if not math.isfinite(number):
        raise _refuse(say("too large a number"), one, example, text)
    if not match.group(2):
        raise _refuse(say("a number without a unit"), one, example, text)
    return number, match.group(2)


@lru_cache(maxsize=1)
def _kind_of_unit() -> dict[str, str]:
    """Which kinds a unit belongs to, to say "a length, not a mass"."""
    found: dict[str, str] = {}
    for kind in KINDS:
        for unit in kind.units:
            found[unit] = _or(found.get(unit), kind.one, kind.name)
    for system in SYSTEMS:
        found[system.name] = _or(found.get(system.name), _A_COUNT, say("count"))
    return found


def _or(before: str | None, one: str, name: str) -> str:
    return one if before is None else say("{first} or {second}", first=before, second=name)


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
    number, unit = _split(text, kind.one, kind.example)
    factor = kind.units.get(unit)
    if factor is None:
        other = _kind_of_unit().get(unit)
        what = say("no such unit of {kind}", kind=kind.name)
        if other is not None:
            what = say(
                "{unit} is {other}, not {quantity}", unit=unit, other=other, quantity=kind.one
            )
        raise _refuse(what, kind.one, kind.example, text)
    value = number * factor + kind.offsets.get(unit, 0.0)
    if not math.isfinite(value):
        raise _refuse(say("too large a number"), kind.one, kind.example, text)
    if value < kind.low - 1e-12 * abs(kind.low):
        low = figure(f"{kind.low:g} {kind.inside}")
        what = say("{quantity} below {limit}", quantity=kind.one, limit=low)
        if kind.low == 0:
            what = say("{quantity} cannot be negative", quantity=kind.one)
        raise _refuse(what, kind.one, kind.example, text)
    if value > kind.high * (1 + 1e-12):
        high = (
            f"{100 * kind.high:g} %" if kind in (FRACTION, GAIN) else f"{kind.high:g} {kind.inside}"
        )
        what = say("{quantity} above {limit}", quantity=kind.one, limit=figure(high))
        raise _refuse(what, kind.one, kind.example, text)
    # What rounding leaves beyond an end lies on it; and -0 is 0.
    return min(max(kind.low, value), kind.high)


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
    turned = _UNIT_NUMBER.match(text) if isinstance(text, str) else None
    if turned is not None:
        number, unit = float(turned.group(2)), turned.group(1)
    else:
        number, unit = _split(text, _A_COUNT, COUNT_EXAMPLE)
    try:
        system = count_system(unit)
    except BadInput:
        other = _kind_of_unit().get(unit)
        what = say("no such count system")
        if other is not None:
            what = say(
                "{unit} is {other}, not {quantity}", unit=unit, other=other, quantity=_A_COUNT
            )
        raise _refuse(what, _A_COUNT, COUNT_EXAMPLE, text) from None
    if not 0.0 < number < math.inf:
        raise _refuse(say("a count is more than 0"), _A_COUNT, COUNT_EXAMPLE, text)
    value = system.to_tex(number)
    if not 0.0 < value < math.inf:
        raise _refuse(say("a count out of reach"), _A_COUNT, COUNT_EXAMPLE, text)
    return value
