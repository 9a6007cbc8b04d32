"""A grid of settings: named axes, and the points they span in a fixed order."""

from __future__ import annotations

import dataclasses
import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Value = bool | int | float | str

Settings = TypeVar("Settings", bound="DataclassInstance")


@dataclass(frozen=True, slots=True)
class Axis:
    """One setting and the values it takes.

    Attributes
    ----------
    name : str
        Name of the setting, with its unit where it has one: ``feed_m_per_s``.
    values : tuple of bool, int, float or str
        Its values, each once, in the order in which they are tried.

    Raises
    ------
    BadInput
        When there is no value, one stands there twice, or one is not a number.
    """

    name: str
    values: tuple[Value, ...]

    def __post_init__(self) -> None:
        if not self.values:
            raise BadInput(Fault("has no value", "one value or more", key=self.name))
        for value in self.values:
            if isinstance(value, float) and math.isnan(value):
                raise BadInput(Fault("is not a number", "numbers", key=self.name, value="nan"))
            if self.values.count(value) > 1:
                raise BadInput(
                    Fault("has a value twice", "each value once", key=self.name, value=str(value))
                )


@dataclass(frozen=True, slots=True)
class Grid:
    """Every combination of the values of its axes; the last axis changes fastest.

    Attributes
    ----------
    axes : tuple of Axis
        The settings that are swept, the slowest first.

    Raises
    ------
    BadInput
        When there is no axis, or two have one name.
    """

    axes: tuple[Axis, ...]

    def __post_init__(self) -> None:
        if not self.axes:
            raise BadInput(Fault("there is nothing to sweep", "one axis or more"))
        names = [axis.name for axis in self.axes]
        for name in names:
            if names.count(name) > 1:
                raise BadInput(Fault("is swept twice", "each setting once", key=name))

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of values of each axis."""
        return tuple(len(axis.values) for axis in self.axes)

    def __len__(self) -> int:
        """Count the points."""
        return math.prod(self.shape)

    def points(self) -> tuple[dict[str, Value], ...]:
        """List the points, each as setting and value, the last axis changing fastest."""
        names = [axis.name for axis in self.axes]
        return tuple(
            dict(zip(names, values, strict=True))
            for values in itertools.product(*(axis.values for axis in self.axes))
        )

    def around(self, base: Settings) -> tuple[Settings, ...]:
        """Set each point on a record and keep all its other fields.

        Parameters
        ----------
        base : dataclass
            The record to start from, such as a line's layout.

        Returns
        -------
        tuple of dataclass
            One record a point, in the order of `points`.

        Raises
        ------
        BadInput
            When an axis is not a field of the record, or the record refuses a value.
        """
        fields = [field.name for field in dataclasses.fields(base) if field.init]
        faults = [
            Fault("is not a setting that can be swept", ", ".join(fields), key=axis.name)
            for axis in self.axes
            if axis.name not in fields
        ]
        if faults:
            raise BadInput(faults)
        return tuple(dataclasses.replace(base, **point) for point in self.points())
