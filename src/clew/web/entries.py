"""Inputs to try: what a reader may change on a page, read by the mill file's own rules.

A text is read exactly as the same key in the mill file would be, so that a page refuses what the
file refuses, in the same words; only a bare number is taken in the unit that its field shows.
Nothing typed is thrown away: a text that cannot be read stays where it was typed, with its fault
beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import SimpleNamespace
from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError

from clew.faults import Fault
from clew.mill.fields import Reads, Section
from clew.quantities import (
    GAIN,
    Kind,
    UnitSystem,
    convert_count,
    in_unit,
    number,
    show,
    show_count,
)
from clew.web.limits import fault_for

MOST_TYPED = 60
"""Longest text that is looked at; a quantity needs a dozen characters."""
_BARE = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class Asked:
    """One input of a page.

    Attributes
    ----------
    key : str
        Its name in the address, which is its key in the mill file.
    field : str
        Field of the section that it stands for.
    words : str
        Label.
    kind : Kind, "count" or "number"
        What it is.
    reach : float
        How far its slider goes to either side of the mill file's value, as a share of it.
    """

    key: str
    field: str
    words: str
    kind: Kind | str
    reach: float = 0.2


@dataclass(frozen=True, slots=True)
class Slider:
    """Ends, step and place of a slider, in the unit it writes into the text field."""

    low: str
    high: str
    step: str
    place: str
    unit: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One input as the page shows it.

    Attributes
    ----------
    key, words : str
        Name and label.
    text : str
        What was typed, or the mill file's value.
    mill_text : str
        The mill file's value as text.
    fault : str
        What is wrong with the text; empty when nothing is.
    moved : bool
        Whether it stands for another value than the mill file's.
    slider : Slider
        Its slider.
    """

    key: str
    words: str
    text: str
    mill_text: str
    fault: str
    moved: bool
    slider: Slider


def mill_text(asked: Asked, value: float, units: UnitSystem) -> str:
    """Write a value of the mill file as a reader would type it."""
    if isinstance(asked.kind, Kind):
        return show(value, asked.kind, units)
    if asked.kind == "count":
        return show_count(value, _count_unit(units))
    return number(value, 6)


def _count_unit(units: UnitSystem) -> str:
    return "tex" if units == "metric" else "yd/lb"


def _unit_of(asked: Asked, units: UnitSystem) -> str:
    """Unit that a field shows and its slider writes; empty for a plain number."""
    if isinstance(asked.kind, Kind):
        return asked.kind.metric if units == "metric" else asked.kind.yard
    return _count_unit(units) if asked.kind == "count" else ""


def _typed(asked: Asked, typed: Mapping[str, str], units: UnitSystem) -> str:
    """What was typed into a field; a bare number gets the unit that the field shows."""
    text, unit = typed.get(asked.key, "").strip(), _unit_of(asked, units)
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def read_entries(
    asked: Sequence[Asked],
    have: Section,
    typed: Mapping[str, str],
    units: UnitSystem,
    *,
    stands_for: Mapping[str, float] | None = None,
) -> tuple[Section, tuple[Entry, ...], tuple[Fault, ...]]:
    """Read what was typed into one section of the mill.

    Parameters
    ----------
    asked : sequence of Asked
        The inputs that belong to the section.
    have : Section
        The section as the mill file has it.
    typed : mapping of str to str
        Texts by key; missing or empty means the mill file's value, a bare number is in the unit
        that the field shows.
    units : {"metric", "yard"}
        The reader's system of units.
    stands_for : mapping of str to float, optional
        By field: the value that holds where the file leaves the field out.

    Returns
    -------
    Section
        The section with what could be read in place.
    tuple of Entry
        One for each input.
    tuple of Fault
        What is wrong, none when nothing is.
    """
    changed: dict[str, Any] = {}
    wrong: dict[str, Fault] = {}
    for one in asked:
        text = _typed(one, typed, units)
        mill_value = _mill_value(have, one, stands_for)
        if not text or text in _own_texts(one, mill_value):
            continue
        value, fault = _read(type(have), one, text, mill_text(one, mill_value, units))
        if fault is not None:
            wrong[one.key] = fault
        else:
            changed[one.field] = value
    wanted = have.model_copy(update=changed)
    if not wrong:
        fields = {name: getattr(wanted, name) for name in type(wanted).model_fields}
        for clash in type(have).clashes(SimpleNamespace(**fields)):
            key = str(clash.path[0])
            if len(changed) == 1 and key not in {one.key for one in asked}:
                # what it clashes with is no input here: it stands beside the one that was moved
                key = next(one.key for one in asked if one.field in changed)
            wrong[key] = Fault(clash.what, clash.expected, key=key, value=repr(typed.get(key, "")))
    wrong = {key: fault_for(fault, units) for key, fault in wrong.items()}
    entries = tuple(
        _entry(
            one,
            _mill_value(have, one, stands_for),
            changed.get(one.field),
            typed=_typed(one, typed, units),
            fault=wrong.get(one.key),
            units=units,
        )
        for one in asked
    )
    return wanted, entries, tuple(wrong.values())


def with_faults(entries: tuple[Entry, ...], faults: Sequence[Fault]) -> tuple[Entry, ...]:
    """Put faults that were found later beside the inputs they belong to."""
    said = {fault.key: _said(fault) for fault in faults}
    return tuple(
        replace(one, fault=one.fault or said[one.key]) if one.key in said else one
        for one in entries
    )


def _said(fault: Fault) -> str:
    return ": ".join(part for part in (fault.what, fault.expected) if part)


def _mill_value(have: Section, one: Asked, stands_for: Mapping[str, float] | None) -> float:
    value = getattr(have, one.field)
    return float((stands_for or {})[one.field] if value is None else value)


def _own_texts(one: Asked, value: float) -> tuple[str, ...]:
    return mill_text(one, value, "metric"), mill_text(one, value, "yard")


def _entry(
    one: Asked,
    mill_value: float,
    value: float | None,
    *,
    typed: str,
    fault: Fault | None,
    units: UnitSystem,
) -> Entry:
    own = mill_text(one, mill_value, units)
    text = "" if typed in _own_texts(one, mill_value) else typed
    return Entry(
        key=one.key,
        words=one.words,
        text=text[:MOST_TYPED] or own,
        mill_text=own,
        fault="" if fault is None else _said(fault),
        moved=bool(text),
        slider=_slider(one, mill_value, mill_value if value is None else value, units),
    )


def _slider(one: Asked, mill_value: float, value: float, units: UnitSystem) -> Slider:
    unit = _unit_of(one, units)
    if isinstance(one.kind, Kind):
        middle, place = in_unit(mill_value, one.kind, unit), in_unit(value, one.kind, unit)
    elif one.kind == "count":
        middle, place = (convert_count(v, "tex", unit) for v in (mill_value, value))
    else:
        middle, place = mill_value, value
    half = abs(middle) * one.reach or 1.0
    step = 10.0 ** math.floor(math.log10(half / 20.0))
    places = max(0, -round(math.log10(step)))
    low = max(0.0, math.floor((middle - half) / step) * step)
    high = math.ceil((middle + half) / step) * step
    ends = [f"{end:.{places}f}" for end in (low, high, step)]
    return Slider(ends[0], ends[1], ends[2], f"{min(max(place, low), high):.{places}f}", unit)


@lru_cache(maxsize=64)
def _reader(section: type[Section], field: str) -> tuple[TypeAdapter[Any], Reads | None]:
    info = section.model_fields[field]
    said = next((mark for mark in info.metadata if isinstance(mark, Reads)), None)
    whole: Any = info.annotation
    if info.metadata:
        whole = Annotated.__class_getitem__((info.annotation, *info.metadata))  # type: ignore[attr-defined]  # made at run time
    return TypeAdapter(whole), said


def _read(section: type[Section], one: Asked, text: str, own: str) -> tuple[float, Fault | None]:
    """Read a text by the field's own rules; the example in a fault is the field's own value."""
    reader, said = _reader(section, one.field)
    shown = repr(text) if len(text) <= MOST_TYPED else repr(text[:MOST_TYPED]) + "…"
    value: Any = text
    if one.kind == "number":
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            return 0.0, Fault("not a number", f"a number such as {own}", key=one.key, value=shown)
    try:
        return float(reader.validate_python(value)), None
    except ValidationError as error:
        fault = _fault_of(error, one, said, shown)
        if said is not None:
            expected = fault.expected.replace(f"such as {said.example}", f"such as {own}")
            fault = replace(fault, expected=expected)
        return 0.0, _as_regain(fault) if one.kind is GAIN else fault


def _as_regain(fault: Fault) -> Fault:
    """Call what is added to a dry mass by its name: all that pages ask of that kind is a regain."""
    what, expected = (
        words.replace("an addition", "a regain").replace("addition", "regain")
        for words in (fault.what, fault.expected)
    )
    return replace(fault, what=what, expected=expected)


def _fault_of(error: ValidationError, one: Asked, said: Reads | None, shown: str) -> Fault:
    found = error.errors()[0]
    parts = found.get("ctx", {})
    if found["type"] == "clew":
        return Fault(str(parts["what"]), str(parts["expected"]), key=one.key, value=shown)
    limits = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    for name, words in limits.items():
        if name in parts:
            per_unit, unit = (said.per_unit, said.unit) if said else (1.0, "")
            limit = f"{words} {parts[name] / per_unit:g} {unit}".strip()
            return Fault("out of reach", limit, key=one.key, value=shown)
    return Fault(str(found["msg"]), key=one.key, value=shown)
