"""A knot map: where along one strand its joins lie, checked so that a plan can be cut from it."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

NM_PER_M = 1_000_000_000
"""Positions are held in whole nanometres, so that sums and comparisons are exact."""
LONGEST_M = 1.0e9
MOST_FAULTS = 200
_KIND = re.compile(r"^[^\W\d_][\w-]{0,39}$")


@dataclass(frozen=True, slots=True)
class KnotMap:
    """The joins of one strand.

    Attributes
    ----------
    positions_nm : array of int, shape (n,)
        Where each join begins, from the head of the strand [nm], ascending, no two alike.
    kinds : tuple of str, length n
        What made each join, such as ``tie`` or ``re-tie``.
    strand_nm : int
        Length of the strand [nm].
    notes : tuple of str
        What was put right while reading.
    """

    positions_nm: NDArray[np.int64]
    kinds: tuple[str, ...]
    strand_nm: int
    notes: tuple[str, ...] = ()

    @property
    def positions_m(self) -> NDArray[np.float64]:
        """Where each join begins [m], ascending."""
        return self.positions_nm / NM_PER_M

    @property
    def strand_m(self) -> float:
        """Length of the strand [m]."""
        return self.strand_nm / NM_PER_M


def whole_nm(length_m: float, key: str, *, positive: bool) -> int:
    """Turn a length into whole nanometres, or say why it cannot be one.

    Parameters
    ----------
    length_m : float
        The length [m].
    key : str
        What it is called in a fault.
    positive : bool
        Whether nothing is too short.

    Returns
    -------
    int
        The length [nm].

    Raises
    ------
    BadInput
        Not a number, negative, nothing where something is needed, or over 1 000 000 km.
    """
    expected = "a length above zero" if positive else "a length, zero or more"
    if not math.isfinite(length_m) or length_m < 0:
        raise BadInput(Fault("no such length", expected, key=key, value=f"{length_m:g} m"))
    if length_m > LONGEST_M:
        raise BadInput(Fault("too long", "at most 1 000 000 km", key=key, value=f"{length_m:g} m"))
    found = round(length_m * NM_PER_M)
    if positive and found == 0:
        raise BadInput(Fault("no such length", expected, key=key, value=f"{length_m:g} m"))
    return found


def knot_map(
    positions_m: Sequence[float] | NDArray[np.float64],
    strand_length_m: float,
    kinds: Sequence[str] | None = None,
    *,
    lines: Sequence[int] | None = None,
) -> KnotMap:
    """Check positions and kinds of joins and set them in order along the strand.

    Parameters
    ----------
    positions_m : sequence of float, length n
        Where each join begins, from the head of the strand [m]; in any order.
    strand_length_m : float
        Length of the strand [m].
    kinds : sequence of str or None, length n
        What made each join, one word each; ``join`` when left out.
    lines : sequence of int or None, length n
        Where each stood in its file; faults then name that line.

    Returns
    -------
    KnotMap
        The joins in order, with a note if they were not.

    Raises
    ------
    BadInput
        Every fault at once: not a number, before the head, beyond the end, the same place twice,
        a kind that is not a word.

    Notes
    -----
    A join exactly at the strand's end is kept; it touches nothing. Positions are rounded to the
    nanometre; every length that is written with up to nine decimals of a metre is exact.
    """
    strand_nm = whole_nm(strand_length_m, "strand length", positive=True)
    words = tuple(kinds) if kinds is not None else ("join",) * len(positions_m)
    places = list(lines) if lines is not None else None
    if len(words) != len(positions_m) or (places is not None and len(places) != len(words)):
        raise BadInput(Fault("kinds and positions differ in number", "a kind for each position"))
    given = np.asarray(positions_m, dtype=np.float64).reshape(-1)
    faults: list[Fault] = []

    def add(what: str, expected: str, key: str, row: int, value: str) -> None:
        line = places[row] if places is not None else None
        name = key if places is not None else f"{key} {row + 1}"
        faults.append(Fault(what, expected, line=line, key=name, value=value))

    inside = f"0 m to the strand's end at {strand_length_m:g} m"
    for row in np.flatnonzero(~((given >= 0) & (given <= LONGEST_M))).tolist():
        what = "before the strand's head" if given[row] < 0 else "beyond the strand"
        add(
            what if math.isfinite(given[row]) else "not a number",
            inside,
            "position",
            row,
            f"{given[row]:g} m",
        )
    if not faults:
        whole = np.rint(given * NM_PER_M).astype(np.int64)
        for row in np.flatnonzero(whole > strand_nm).tolist():
            add("beyond the strand", inside, "position", row, f"{given[row]:.12g} m")
        order = np.argsort(whole, kind="stable")
        for later in (np.flatnonzero(np.diff(whole[order]) == 0) + 1).tolist():
            row, before = int(order[later]), int(order[later - 1])
            other = f"line {places[before]}" if places is not None else f"position {before + 1}"
            add(
                f"the same place as {other}",
                "each join once",
                "position",
                row,
                f"{given[row]:.12g} m",
            )
    for row, word in enumerate(words):
        if not _KIND.match(word):
            add("not a word", "a kind of join such as tie", "kind", row, repr(word[:40]))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    turned = int(np.count_nonzero(np.diff(whole) < 0))
    notes = (
        ("The joins were not in order along the strand; they were sorted by position.",)
        if turned
        else ()
    )
    return KnotMap(whole[order], tuple(words[int(i)] for i in order), strand_nm, notes)
