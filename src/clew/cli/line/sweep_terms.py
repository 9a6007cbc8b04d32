"""What is swept over a line: axes as they are written, and a layout for each point."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from clew.cli.line.layout_terms import NUMBERS, QUANTITIES, STEAMED, placed, with_tried
from clew.faults import BadInput, Fault
from clew.quantities import Kind, read_quantity
from clew.quantities.show import show

if TYPE_CHECKING:
    from clew.campaign.grid import Grid
    from clew.line.layout import Layout

OVER = "--over"
MOST_AXES = 3
MOST_POINTS = 10_000
SPARED = ("hands", "feed", "buffer", "lanes", "cones", "wind")
"""What a mill would sooner have less of, where the output is as good; most wanted first."""
_MOST_FAULTS = 8
_EXAMPLES = '"300 m..1200 m/10", "1..4" or "300 m, 600 m"'
_RANGE = re.compile(r"\s*(.+?)\s*\.\.\s*(.*?)\s*(?:/\s*(\d{1,6}))?\s*", re.DOTALL)
_NUMBER = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*")


@dataclass(frozen=True, slots=True)
class SweptAxis:
    """One setting that is swept.

    Attributes
    ----------
    name : str
        The option that tries it, without its dashes.
    key : str
        Its field in a layout, with its unit.
    values : tuple of int or float
        Its values, in that unit; wind and buffer of strand after steam.
    kind : Kind or None
        Kind of its quantity; None for a whole number.
    unit : str
        Unit that it was written in.
    """

    name: str
    key: str
    values: tuple[int | float, ...]
    kind: Kind | None = None
    unit: str = ""

    @property
    def after_steam(self) -> bool:
        """Whether it is of strand after steam."""
        return self.key in STEAMED

    def shown(self, value: int | float) -> str:
        """Write one of its values [its unit], with the unit it came in."""
        if self.kind is None:
            return str(value)
        return show(value, self.kind, unit=self.unit, digits=6)


def axes_of(texts: Iterable[str], given: Mapping[str, Any]) -> tuple[SweptAxis, ...]:
    """Read the axes of a sweep.

    Parameters
    ----------
    texts : iterable of str
        Each a name, ``=`` and its values: ``hands=1..4``, ``buffer=300 m..1200 m/10``.
    given : mapping
        Values fixed by options, by field of the layout; None where the mill's stands.

    Returns
    -------
    tuple of SweptAxis
        The axes as written, the slowest first.

    Raises
    ------
    BadInput
        When one cannot be read, is there twice or is fixed too, or there are too many points.
    """
    axes: list[SweptAxis] = []
    faults: list[Fault] = []
    for text in texts:
        try:
            axis = _axis(text)
            if given.get(axis.key) is not None:
                raise BadInput(
                    Fault(f"swept, and fixed by --{axis.name}", "one of the two", key=_key(axis))
                )
            axes.append(axis)
        except BadInput as bad:
            faults += bad.faults
    if faults:
        raise BadInput(faults)
    points = len(grid_of(axes))
    if len(axes) > MOST_AXES:
        raise BadInput(Fault(f"{len(axes)} axes", f"at most {MOST_AXES}", key=OVER))
    if points > MOST_POINTS:
        raise BadInput(
            Fault("too many points", f"at most {MOST_POINTS}", key=OVER, value=str(points))
        )
    return tuple(axes)


def grid_of(axes: Sequence[SweptAxis]) -> Grid:
    """Span the grid of the axes; raises `BadInput` where one, or a value of one, is twice there."""
    from clew.campaign.grid import Axis, Grid

    try:
        return Grid(tuple(Axis(axis.name, axis.values) for axis in axes))
    except BadInput as bad:
        raise BadInput(
            [replace(one, key=f"{OVER} {one.key}".strip()) for one in bad.faults]
        ) from None


def layouts_over(layout: Layout, axes: Sequence[SweptAxis]) -> tuple[Layout, ...]:
    """Set every point of a grid on a line.

    Parameters
    ----------
    layout : Layout
        The line.
    axes : sequence of SweptAxis
        What is swept.

    Returns
    -------
    tuple of Layout
        One a point, the last axis changing fastest.

    Raises
    ------
    BadInput
        When no shift can be walked at some points, with the axis and the value that make it so.
    """
    found: list[Layout] = []
    faults: dict[tuple[str, str], Fault] = {}
    for values in itertools.product(*(axis.values for axis in axes)):
        tried = {axis.key: value for axis, value in zip(axes, values, strict=True)}
        try:
            found.append(with_tried(layout, tried))
        except BadInput as bad:
            for fault in bad.faults:
                one = _at(fault, axes, values)
                faults.setdefault((one.key, one.value), one)
    if faults:
        shown = list(faults.values())
        if len(shown) > _MOST_FAULTS:
            more = len(shown) - _MOST_FAULTS + 1
            shown = [*shown[: _MOST_FAULTS - 1], Fault(f"{more} more that cannot be", key=OVER)]
        raise BadInput(shown)
    return tuple(found)


def at_words(axes: Sequence[SweptAxis], values: Sequence[int | float]) -> str:
    """Name a point: ``hands 3, buffer 1200 m``."""
    return ", ".join(
        f"{axis.name} {axis.shown(value)}" for axis, value in zip(axes, values, strict=True)
    )


def spared(axes: Sequence[SweptAxis], values: Sequence[int | float]) -> tuple[int | float, ...]:
    """Give what a point takes of `SPARED`: the less, the sooner it is preferred, in that order."""
    names = [axis.name for axis in axes]
    return tuple(values[names.index(name)] for name in SPARED if name in names)


def _at(fault: Fault, axes: Sequence[SweptAxis], values: Sequence[int | float]) -> Fault:
    """Say a layout's fault of the axis that it is about, or else of the whole point."""
    option = placed(fault).key
    for axis, value in zip(axes, values, strict=True):
        if option == f"--{axis.name}":
            return replace(fault, key=_key(axis), value=axis.shown(value))
    return replace(fault, key=OVER, value=at_words(axes, values))


def _key(axis: SweptAxis) -> str:
    return f"{OVER} {axis.name}"


def _axis(text: str) -> SweptAxis:
    name, _, written = text.partition("=")
    name = name.strip()
    option = f"--{name}"
    if option not in QUANTITIES and option not in NUMBERS:
        names = ", ".join(one.removeprefix("--") for one in (*QUANTITIES, *NUMBERS))
        raise BadInput(Fault("no such setting to sweep", f"one of {names}", key=OVER, value=text))
    try:
        if option in NUMBERS:
            key, least, most, _ = NUMBERS[option]
            return SweptAxis(name, key, _whole_values(written, least, most))
        key, kind, _ = QUANTITIES[option]
        values = _quantity_values(written, kind)
        first = _NUMBER.sub("", re.split(r"\.\.|,", written)[0], count=1).strip()
        return SweptAxis(name, key, values, kind, first if first in kind.units else kind.metric)
    except BadInput as bad:
        raise BadInput([replace(one, key=f"{OVER} {name}") for one in bad.faults]) from None


def _whole_values(written: str, least: int, most: int) -> tuple[int, ...]:
    def whole(text: str) -> int:
        if re.fullmatch(r"\s*\d{1,6}\s*", text) and least <= int(text) <= most:
            return int(text)
        raise BadInput(
            Fault("not such a number", f"a whole number from {least} to {most}", value=text.strip())
        )

    ends = _RANGE.fullmatch(written)
    if ends is None:
        return tuple(whole(one) for one in written.split(","))
    low, high = whole(ends[1]), whole(ends[2])
    _check_range(low, high, written)
    steps = high - low if ends[3] is None else _count(ends[3], written) - 1
    if steps and (high - low) % steps:
        raise BadInput(
            Fault("such steps are not whole", f"{low}..{high} or a list", value=written.strip())
        )
    return tuple(range(low, high + 1, (high - low) // steps)) if steps else (low,)


def _quantity_values(written: str, kind: Kind) -> tuple[float, ...]:
    ends = _RANGE.fullmatch(written)
    if ends is None:
        return tuple(read_quantity(one, kind) for one in written.split(","))
    low, high = read_quantity(ends[1], kind), read_quantity(ends[2], kind)
    _check_range(low, high, written)
    if ends[3] is None:
        raise BadInput(
            Fault("a range without a number of values", _EXAMPLES, value=written.strip())
        )
    count = _count(ends[3], written)
    between = (low + (high - low) * (step / (count - 1)) for step in range(1, count - 1))
    return (low, *between, high)


def _check_range(low: float, high: float, written: str) -> None:
    if not (math.isfinite(low) and low < high):
        raise BadInput(
            Fault("a range that does not rise", "the smaller end first", value=written.strip())
        )


def _count(text: str, written: str) -> int:
    count = int(text)
    if not 2 <= count <= MOST_POINTS:
        raise BadInput(
            Fault(f"{count} values", f"2 to {MOST_POINTS} in a range", value=written.strip())
        )
    return count
