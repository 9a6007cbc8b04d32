"""Rows of weighed balls brought down to cells: counts, means and spread for each mix of sources.

A model of variances needs nothing more of the rows than how many balls each mix of lot, cone, lane
and winder holds, their mean, and how far they stand from it. Ten million rows become some thousand
cells once; every later step works on the cells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.confounded import told_apart
from clew.checks.weighings import Column, Factor
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

LEAST_ROWS = 3
"""Fewer balls than these say nothing of two variances."""

_ROOM = 1 << 22
"""Places of a table of marks that is always affordable."""


@dataclass(frozen=True, slots=True)
class Design:
    """Cells of a set of balls.

    Attributes
    ----------
    rows, left_out : int
        Balls used, and balls without the value or without one of the sources.
    centre : float
        What was taken off every value before anything was summed [unit of the value].
    factors : tuple of str
        The sources kept, each of two levels or more.
    names : tuple of tuple of str
        Names of the levels of each.
    codes : array of int64, shape (factors, cells)
        Level of each cell.
    counts, means : array of float, shape (cells,)
        Balls of each cell, and their mean less `centre`.
    within_ss : float
        Sum of squares about the cells' own means [unit of the value, squared].
    cautions : tuple of str
        What could not be told apart, in words.
    dropped : tuple of str
        Sources asked for that are not among `factors`.
    """

    rows: int
    left_out: int
    centre: float
    factors: tuple[str, ...]
    names: tuple[tuple[str, ...], ...]
    codes: Whole
    counts: Floats
    means: Floats
    within_ss: float
    cautions: tuple[str, ...] = ()
    dropped: tuple[str, ...] = ()

    def levels(self, place: int) -> int:
        """Levels of a source, by its place in `factors`."""
        return len(self.names[place])

    @property
    def total_ss(self) -> float:
        """Sum of squares about the general mean [unit of the value, squared]."""
        return self.within_ss + float(self.counts @ self.means**2)


def design(value: Column, factors: Mapping[str, Factor], wanted: Sequence[str]) -> Design:
    """Bring rows down to cells of the sources asked for.

    Parameters
    ----------
    value : array of float, shape (rows,)
        Mass, length or a logarithm of either; NaN where a ball was not measured.
    factors : mapping of str to Factor
        The columns of names.
    wanted : sequence of str
        Sources to tell apart.

    Returns
    -------
    Design
        The cells, with every source that cannot be told apart dropped and named.

    Raises
    ------
    BadInput
        If a source is not there, or there are too few balls or no spread at all.

    Notes
    -----
    A value of the data is taken off first, then the mean, twice: thirteen leading digits that all
    values share cost no digit of what is left. Source: the two-pass sum of squares, DERIVED.
    """
    _check_wanted(factors, wanted)
    value = np.asarray(value, dtype=float)
    keep = np.isfinite(value)
    for name in wanted:
        keep &= np.asarray(factors[name].codes) >= 0
    rows = int(keep.sum())
    if rows < LEAST_ROWS:
        raise BadInput(
            Fault(
                say("too few balls to tell what varies"),
                expected=say(
                    "{least} or more with the value and every source named", least=LEAST_ROWS
                ),
                value=str(rows),
            )
        )
    whole = rows == len(value)
    y, centre = _centred(value if whole else value[keep])
    codes, names = [], []
    for name in wanted:
        here = np.asarray(factors[name].codes)
        code, used = _compact((here if whole else here[keep]).astype(np.int64))
        codes.append(code)
        names.append(tuple(factors[name].names[place] for place in used))
    codes, names, notes = _cones_of_lots(list(wanted), codes, names)
    cell, at = _cells(codes, rows)
    counts = np.bincount(cell).astype(float)
    means = np.bincount(cell, weights=y) / counts
    off = y - means[cell]
    again = np.bincount(cell, weights=off) / counts
    means += again
    within_ss = max(0.0, float(off @ off) - float(counts @ again**2))
    cell_codes = np.array([code[at] for code in codes]).reshape(len(codes), len(counts))
    kept, told = told_apart(list(wanted), cell_codes, [len(one) for one in names], counts)
    merged = Design(
        rows=rows,
        left_out=len(value) - rows,
        centre=centre,
        factors=tuple(wanted[place] for place in kept),
        names=tuple(names[place] for place in kept),
        codes=cell_codes[kept],
        counts=counts,
        means=means,
        within_ss=within_ss,
        cautions=(*notes, *told),
        dropped=tuple(name for place, name in enumerate(wanted) if place not in kept),
    )
    if merged.total_ss <= _no_spread(value, rows):
        raise BadInput(
            Fault(
                say("nothing varies: every ball has the same value"),
                expected=say("balls that differ, on a scale fine enough to show it"),
                value=f"{centre:g}",
            )
        )
    return merged


def _check_wanted(factors: Mapping[str, Factor], wanted: Sequence[str]) -> None:
    faults = [
        Fault(
            say("no such column of names"),
            expected=say("one of {names}", names=", ".join(factors))
            if factors
            else say("a column such as winder"),
            key=name,
        )
        for name in wanted
        if name not in factors
    ]
    faults += [
        Fault(say("a source named twice"), expected=say("each once"), key=name)
        for place, name in enumerate(wanted)
        if name in wanted[:place]
    ]
    if faults:
        raise BadInput(faults)


def _centred(value: Column) -> tuple[Column, float]:
    first = float(value[0])
    off = value - first
    mean = float(off.mean())
    off -= mean
    rest = float(off.mean())
    off -= rest
    return off, first + (mean + rest)


def _no_spread(value: Column, rows: int) -> float:
    """Sum of squares that rounding alone makes."""
    largest = float(np.nanmax(np.abs(value[np.isfinite(value)])))
    return rows * (2e-16 * largest) ** 2


def _compact(code: Whole) -> tuple[Whole, Whole]:
    """Number the codes that are there from 0; also which they are."""
    largest = int(code.max()) + 1
    if largest <= max(_ROOM, 4 * len(code)):
        there = np.zeros(largest, dtype=bool)
        there[code] = True
        used = np.flatnonzero(there)
        if len(used) == largest:
            return code, used
        place = np.cumsum(there) - 1
        return place[code], used
    used, inverse = np.unique(code, return_inverse=True)
    return inverse.astype(np.int64), used


def _decides(code: Whole, other: Whole) -> bool:
    """Whether a row's code already says its other code."""
    first = np.zeros(int(code.max()) + 1, dtype=np.int64)
    first[code] = other
    return bool(np.array_equal(first[code], other))


def _cones_of_lots(
    wanted: list[str], codes: list[Whole], names: list[tuple[str, ...]]
) -> tuple[list[Whole], list[tuple[str, ...]], tuple[str, ...]]:
    """Tell cones of one name in two dye lots apart: a cone belongs to one dyeing."""
    if not {"cone", "lot"} <= set(wanted):
        return codes, names, ()
    cone, lot = wanted.index("cone"), wanted.index("lot")
    if _decides(codes[cone], codes[lot]):
        return codes, names, ()
    lots = len(names[lot])
    joined, used = _compact(codes[cone] * lots + codes[lot])
    codes[cone] = joined
    names[cone] = tuple(
        f"{names[cone][place // lots]} of {names[lot][place % lots]}" for place in used.tolist()
    )
    return (
        codes,
        names,
        (say("cone names are used again in another lot: each lot's are its own cones"),),
    )


def _cells(codes: list[Whole], rows: int) -> tuple[Whole, Whole]:
    """Cell of every row, and a row of every cell."""
    cell = np.zeros(rows, dtype=np.int64)
    for code in sorted(codes, key=lambda one: -int(one.max())):
        if not _decides(cell, code):
            cell, _ = _compact(cell * (int(code.max()) + 1) + code)
    at = np.zeros(int(cell.max()) + 1, dtype=np.int64)
    at[cell] = np.arange(rows)
    return cell, at
