"""Inputs to try: what a reader may change on a page, read by the mill file's own rules.

A text is read exactly as the same key in the mill file would be, so that a page refuses what the
file refuses, in the same words; only a bare number is taken in the unit that its field shows, and
numbers are typed and shown with the reader's own decimal mark. Nothing typed is thrown away: a text
that cannot be read stays where it was typed, with its fault beside it.
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

from clew.faults import BadInput, Fault
from clew.languages import figure, first_lower, joined, say
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
from clew.web.asked.decimal_marks import with_any_point
from clew.web.asked.entry_faults import entry_fault, regain_fault
from clew.web.asked.limits import fault_for

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
        What was typed, or the mill file's value; a figure, so that it is shown with the reader's
        decimal mark, unless it could not be read.
    mill_text : str
        The mill file's value as text, a figure.
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

    @property
    def said(self) -> str:
        """What was typed, named inside a sentence: ``feed speed 310 m/min``."""
        return joined(" ", (first_lower(self.words), self.text))


@dataclass(frozen=True, slots=True)
class _Typed:
    """What was typed into a field.

    Attributes
    ----------
    text : str
        In the house's own writing, with a unit; empty where it is the mill file's own.
    shown : str
        As it was typed, with the unit that a bare number got.
    fault : Fault or None
        Why its number cannot be told.
    """

    text: str
    shown: str
    fault: Fault | None = None


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


def _typed(
    asked: Asked, typed: Mapping[str, str], units: UnitSystem, own: tuple[str, ...]
) -> _Typed:
    """What was typed into a field; a bare number gets the unit that the field shows."""
    raw, unit = typed.get(asked.key, "").strip(), _unit_of(asked, units)
    if raw.replace(",", ".") in own:
        return _Typed("", "")
    try:
        text = with_any_point(raw[: MOST_TYPED + 1])
    except BadInput as bad:
        return _Typed(raw, raw, replace(bad.faults[0], key=asked.key))
    text += raw[MOST_TYPED + 1 :]
    more = f" {unit}" if unit and _BARE.fullmatch(text) else ""
    return _Typed("" if text + more in own else text + more, raw + more)


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
    said: dict[str, _Typed] = {}
    for one in asked:
        mill_value = _mill_value(have, one, stands_for)
        found = said[one.key] = _typed(one, typed, units, _own_texts(one, mill_value))
        if not found.text:
            continue
        value, fault = 0.0, found.fault
        if fault is None:
            value, fault = _read(type(have), one, found, mill_text(one, mill_value, units))
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
            typed=said[one.key],
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
    return joined(": ", (part for part in (fault.what, fault.expected) if part))


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
    typed: _Typed,
    fault: Fault | None,
    units: UnitSystem,
) -> Entry:
    own = mill_text(one, mill_value, units)
    text = typed.shown[:MOST_TYPED] if fault is not None else figure(typed.text[:MOST_TYPED])
    return Entry(
        key=one.key,
        words=one.words,
        text=text if typed.text else own,
        mill_text=own,
        fault="" if fault is None else _said(fault),
        moved=bool(typed.text),
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


def _read(
    section: type[Section], one: Asked, typed: _Typed, own: str
) -> tuple[float, Fault | None]:
    """Read a text by the field's own rules; the example in a fault is the field's own value."""
    reader, said = _reader(section, one.field)
    text = typed.shown
    shown = repr(text) if len(text) <= MOST_TYPED else repr(text[:MOST_TYPED]) + "…"
    value: Any = typed.text
    if one.kind == "number":
        try:
            value = float(typed.text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            expected = say("a number such as {example}", example=own)
            return 0.0, Fault(say("not a number"), expected, key=one.key, value=shown)
    try:
        return float(reader.validate_python(value)), None
    except ValidationError as error:
        fault = entry_fault(error, said, Fault("", key=one.key, value=shown), own)
        return 0.0, regain_fault(fault, own) if one.kind is GAIN else fault
