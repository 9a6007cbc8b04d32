"""Field types of the mill file: quantities with units, names, whole numbers.

A field keeps its value in the inside unit and says so in its name (`declared_mass_g`); in the file
the key is the same name without the unit (`declared_mass = "200 g"`).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from clew import quantities as q
from clew.faults import BadInput
from clew.languages import say

_UNIT_SUFFIX = re.compile(
    r"_(g|kg|m|mm|tex|frac|c|s|m_per_s|per_km|per_m|kg_m3|cn|cn_per_tex|kpa|deg|dba)$"
)

KeyPath = tuple[str | int, ...]
"""Where a value stands: keys and places in lists, such as ("ball", 1, "tilt", 2, "turn")."""

UNLIMITED = 10_000_000
"""Largest whole number in a mill file: a limit against nonsense, not against large mills."""

MOST_ENTRIES = 10_000
"""Most entries of one section, such as orders; far more than a file for people holds."""

WRITTEN_INLINE = frozenset({"fibres", "tilt", "lab", "packing", "pallet", "lift"})
"""Small tables that stand on one line, ``lab = { lightness = 24.0, ... }``, not under a heading."""


WRITTEN_AS_LIST = frozenset(
    {"fibre_blend", "yarn", "ball", "line", "winder", "colour", "dye_lot", "order", "case"}
)
"""Sections that may stand several times, each under a heading in double brackets."""


def file_key(field_name: str) -> str:
    """Turn a field's name into its key in the file: the same without the unit.

    Parameters
    ----------
    field_name : str
        Name of a field, such as ``declared_mass_g``.

    Returns
    -------
    str
        The key, such as ``declared_mass``.
    """
    return _UNIT_SUFFIX.sub("", field_name)


@dataclass(frozen=True, slots=True)
class Clash:
    """Values that are well each on its own and do not go together.

    Attributes
    ----------
    path : KeyPath
        Where the one stands that is pointed at, from the section it was found in.
    what, expected : str
        What is wrong and what would be right.
    value : object
        What was found, where that is not simply what stands at the path.
    """

    path: KeyPath
    what: str
    expected: str
    value: object = None


class Section(BaseModel):
    """A part of the mill file: unknown keys are refused and nothing changes after reading."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        alias_generator=file_key,
        populate_by_name=True,
        allow_inf_nan=False,
        str_strip_whitespace=True,
    )

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:  # noqa: ARG003 - for sections that look
        """Find what does not go together among the values of a section.

        Parameters
        ----------
        have : Any
            The section, or as much of it as could be read; a value that could not be is None.

        Yields
        ------
        Clash
            One at a time.
        """
        yield from ()

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        for clash in self.clashes(self):
            raise fault(clash.what, clash.expected)
        return self


@dataclass(frozen=True, slots=True)
class Reads:
    """How a quantity is spoken of in a fault: in words with an example, and in what unit.

    Attributes
    ----------
    one : str
        What it is: ``a length``.
    example : str
        How a person may write it: ``330 m or 361 yd``.
    unit : str
        Unit in which its limits are said: ``mm``.
    per_unit : float
        How many of the field's own units that is [field units per unit].
    """

    one: str
    example: str
    unit: str
    per_unit: float = 1.0


def fault(what: str, expected: str) -> PydanticCustomError:
    """Make a fault of one field that keeps its parts, to be raised inside a validator.

    Parameters
    ----------
    what, expected : str
        What is wrong and what would be right.

    Returns
    -------
    PydanticCustomError
        The error; its context holds both parts.
    """
    return PydanticCustomError("clew", "{what}", {"what": what, "expected": expected})


def key_or_fault(read: Callable[[str], object], text: str) -> str:
    """Let a text stand that can be read as a key; a fault is said as one of the field."""
    try:
        read(text)
    except BadInput as bad:
        first = bad.faults[0]
        raise fault(first.what, first.expected) from None
    return text


def _reader(read: Callable[[Any], float]) -> BeforeValidator:
    def validate(value: Any) -> float:
        try:
            return read(value)
        except BadInput as bad:
            first = bad.faults[0]
            raise fault(first.what, first.expected) from None

    return BeforeValidator(validate)


def _of(kind: q.Kind, *, above_zero: bool = False) -> BeforeValidator:
    def read(value: Any) -> float:
        number = q.read_quantity(value, kind)
        if above_zero and number <= 0.0:
            raise fault(
                say("{quantity} of 0", quantity=kind.one),
                say(
                    "{quantity} above 0, such as {example}", quantity=kind.one, example=kind.example
                ),
            )
        return number

    return _reader(read)


def _plain_text(value: str) -> str:
    if not value:
        raise fault(say("an empty text"), say("some words"))
    if not value.isprintable():
        raise fault(
            say("a text with characters that cannot be printed"), say("plain text on one line")
        )
    return value


def _date(value: Any) -> Any:
    if type(value) is datetime.date:
        return value
    what = say("not a date")
    if isinstance(value, datetime.datetime):
        what = say("a date with a time of day")
    raise fault(what, say("a date such as 2026-12-04, without quotation marks"))


def _said(kind: q.Kind, unit: str = "", per_unit: float = 1.0) -> Reads:
    return Reads(kind.one, kind.example, unit or kind.inside, per_unit)


_PERCENT = ("%", 0.01)

MassG = Annotated[float, _of(q.MASS, above_zero=True), _said(q.MASS)]
LengthM = Annotated[float, _of(q.LENGTH, above_zero=True), _said(q.LENGTH)]
LengthMm = Annotated[
    float,
    BeforeValidator(lambda metres: metres * 1000.0),
    _of(q.LENGTH, above_zero=True),
    Reads(q.LENGTH.one, q.either("30 mm", "1.2 in"), "mm"),
]
CountTex = Annotated[float, _reader(q.read_count), Reads(say("a count"), q.COUNT_EXAMPLE, "tex")]
Frac = Annotated[float, _of(q.FRACTION), _said(q.FRACTION, *_PERCENT)]
Spread = Annotated[Frac, Field(le=0.2)]
"""A coefficient of variation; beyond a fifth it is a slip of the pen."""
RegainFrac = Annotated[float, _of(q.GAIN), _said(q.GAIN, *_PERCENT)]
TemperatureC = Annotated[float, _of(q.TEMPERATURE), _said(q.TEMPERATURE)]
TimeS = Annotated[float, _of(q.TIME), _said(q.TIME)]
SpeedMPerS = Annotated[float, _of(q.SPEED, above_zero=True), _said(q.SPEED)]
DensityKgM3 = Annotated[float, _of(q.DENSITY, above_zero=True), _said(q.DENSITY)]
ForceCn = Annotated[float, _of(q.FORCE), _said(q.FORCE)]
TenacityCnPerTex = Annotated[float, _of(q.TENACITY, above_zero=True), _said(q.TENACITY)]
PressureKpa = Annotated[float, _of(q.PRESSURE), _said(q.PRESSURE)]
AngleDeg = Annotated[float, _of(q.ANGLE), _said(q.ANGLE)]
RatePerKm = Annotated[float, _of(q.PER_LENGTH), _said(q.PER_LENGTH)]
NoiseDba = Annotated[float, _of(q.NOISE), _said(q.NOISE)]

Name = Annotated[str, Field(strict=True, max_length=80), AfterValidator(_plain_text)]
Line = Annotated[str, Field(strict=True, max_length=200), AfterValidator(_plain_text)]
Whole = Annotated[int, Field(strict=True, ge=0, le=UNLIMITED)]
Several = Annotated[int, Field(strict=True, ge=1, le=UNLIMITED)]
Number = Annotated[float, Field(strict=True)]
Money = Annotated[float, Field(strict=True, ge=0, le=1e9)]
Flag = Annotated[bool, Field(strict=True)]
Date = Annotated[datetime.date, BeforeValidator(_date)]
