"""Weighed and reeled balls as columns: what every check of this room reads.

A shift is some twenty thousand balls and a year some millions; so a table of columns, not a list
of balls. Factors (winder, lane, cone, dye lot, group) are whole-number codes with their names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Codes = NDArray[np.int32]

FACTORS = ("group", "lot", "cone", "lane", "winder", "ball")
"""Columns that name what a ball came from; ball is the ball's own name, no two alike."""

NUMBERS = (
    "mass_g",
    "gross_g",
    "tare_g",
    "length_m",
    "regain_frac",
    "since_dryer_min",
    "tension_cn",
    "time_s",
)
"""Columns of numbers, NaN where a ball was not measured for it. `time_s` counts from any start."""


@dataclass(frozen=True, slots=True)
class Factor:
    """One column of names.

    Attributes
    ----------
    codes : array of int32, shape (rows,)
        Place of each row's name in `names`; -1 where the cell is empty.
    names : tuple of str
        The names, in the order they first stand in the file.
    """

    codes: Codes
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Weighings:
    """Weighed balls, as columns.

    Attributes
    ----------
    rows : int
        How many balls.
    numbers : mapping of str to array of float, shape (rows,)
        Columns of `NUMBERS` that are there.
    factors : mapping of str to Factor
        Columns of `FACTORS` that are there.
    lines : array of int64, shape (rows,), or None
        Line of the file each row was read from, for faults.
    """

    rows: int
    numbers: Mapping[str, Column] = field(default_factory=dict)
    factors: Mapping[str, Factor] = field(default_factory=dict)
    lines: NDArray[np.int64] | None = None
