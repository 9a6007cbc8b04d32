"""Weighed and reeled balls as columns: what every check of this room reads.

A shift is some twenty thousand balls and a year some millions; so a table of columns, not a list
of balls. Factors (winder, lane, cone, dye lot, group) are whole-number codes with their names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

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


def taken(weighings: Weighings, rows: NDArray[np.intp]) -> Weighings:
    """Take rows of a table, in the order given.

    Parameters
    ----------
    weighings : Weighings
        The table.
    rows : array of int
        Their places.

    Returns
    -------
    Weighings
        The rows; names that none of them has stay in `Factor.names`.
    """
    return Weighings(
        len(rows),
        {name: column[rows] for name, column in weighings.numbers.items()},
        {name: Factor(one.codes[rows], one.names) for name, one in weighings.factors.items()},
        None if weighings.lines is None else weighings.lines[rows],
    )


def drawn(weighings: Weighings, seed: int) -> Weighings:
    """Put the balls of a longer file into random order: the first ones are then a sample of them.

    Parameters
    ----------
    weighings : Weighings
        Balls of one lot.
    seed : int
        Seed of the order.

    Returns
    -------
    Weighings
        The same balls.
    """
    order = np.random.default_rng(seed).permutation(weighings.rows)
    return taken(weighings, order.astype(np.intp))


def without(weighings: Weighings, rows: NDArray[np.int64]) -> Weighings:
    """Leave rows out, and the names that only they had; names in the order they then stand.

    Parameters
    ----------
    weighings : Weighings
        The table.
    rows : array of int
        Places of the rows left out.

    Returns
    -------
    Weighings
        The others.
    """
    keep = np.ones(weighings.rows, dtype=bool)
    keep[rows] = False
    factors = {}
    for name, factor in weighings.factors.items():
        codes = factor.codes[keep]
        found, first = np.unique(codes, return_index=True)
        used = found[np.argsort(first)]
        used = used[used >= 0]
        new = np.full(len(factor.names) + 1, -1, dtype=np.int32)
        new[used] = np.arange(len(used), dtype=np.int32)
        factors[name] = Factor(new[codes], tuple(factor.names[code] for code in used))
    numbers = {name: values[keep] for name, values in weighings.numbers.items()}
    lines = None if weighings.lines is None else weighings.lines[keep]
    return Weighings(int(np.count_nonzero(keep)), numbers, factors, lines)


def of_lot(weighings: Weighings, name: str) -> Weighings:
    """Keep the balls of one dye lot.

    Parameters
    ----------
    weighings : Weighings
        Balls of one lot or several.
    name : str
        The dye lot.

    Returns
    -------
    Weighings
        Its balls.

    Raises
    ------
    BadInput
        When there are none; the fault names the lots there are.
    """
    lots = weighings.factors.get("lot")
    if lots is None or name not in lots.names:
        there = "one of " + ", ".join(lots.names[:10]) if lots else "a column lot"
        raise BadInput(Fault("no balls of this lot", there, key="lot", value=name))
    return without(weighings, np.flatnonzero(lots.codes != lots.names.index(name)))
