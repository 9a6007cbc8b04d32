"""Reading files of readings and tares: plain numbers under a heading that carries the unit."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import MOST_FAULTS, read_rows

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class StudyFile:
    """Columns of a study: names, readings, and the unit of the readings."""

    parts: tuple[str, ...]
    hands: tuple[str, ...]
    trials: tuple[str, ...]
    values: tuple[float, ...]
    unit: str


def plain_number(cell: str, *, low: float = -math.inf) -> float | Fault:
    """Read a number that stands without a unit.

    Parameters
    ----------
    cell : str
        What was written.
    low : float
        The least it may be [any].

    Returns
    -------
    float or Fault
        The number, or what is wrong with it.
    """
    text = cell.replace("\u2212", "-")
    if re.search(r"\d,\d", text):
        return Fault("a comma in a number", "a point", value=repr(cell))
    if not _NUMBER.fullmatch(text):
        return Fault("not a number", "a number without a unit", value=repr(cell[:40]))
    number = float(text)
    if not math.isfinite(number):
        return Fault("too large a number", value=repr(cell[:40]))
    if number < low:
        return Fault("too small a number", f"{low:g} or more", value=repr(cell[:40]))
    return number


def _numbers(
    path: Path, rows: Sequence[tuple[int, Mapping[str, str]]], column: str, low: float = -math.inf
) -> tuple[float, ...]:
    faults: list[Fault] = []
    found: list[float] = []
    for line, cells in rows:
        read = (
            plain_number(cells[column], low=low)
            if cells[column]
            else Fault("an empty cell", "a number")
        )
        if isinstance(read, Fault):
            faults.append(
                Fault(read.what, read.expected, str(path), line, key=column, value=read.value)
            )
        else:
            found.append(read)
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return tuple(found)


def read_study(path: Path) -> StudyFile:
    """Read a study: part, hand, trial and value_g or value_m.

    Parameters
    ----------
    path : Path
        The file; a trial left out is numbered in the order of the rows.

    Returns
    -------
    StudyFile
        Its columns.

    Raises
    ------
    BadInput
        Every fault of the file at once, with line and column.
    """
    columns = {"part": True, "hand": True, "trial": False, "value_g": False, "value_m": False}
    rows = read_rows(path, columns)
    there = [name for name in ("value_g", "value_m") if any(cells[name] for _, cells in rows)]
    if len(there) != 1:
        raise BadInput(
            Fault(
                "both value_g and value_m" if there else "no readings",
                "one column of readings, value_g or value_m",
                file=str(path),
            )
        )
    values = _numbers(path, rows, there[0])
    seen: dict[tuple[str, str], int] = {}
    trials = []
    for _, cells in rows:
        cell = cells["part"], cells["hand"]
        seen[cell] = seen.get(cell, 0) + 1
        trials.append(cells["trial"] or f"reading {seen[cell]}")
    return StudyFile(
        tuple(cells["part"] for _, cells in rows),
        tuple(cells["hand"] for _, cells in rows),
        tuple(trials),
        values,
        there[0].removeprefix("value_"),
    )


def read_tares(path: Path) -> tuple[tuple[float, ...], tuple[float, ...] | None]:
    """Read tares, and the package errors beside them where they are there.

    Parameters
    ----------
    path : Path
        A file with tare_g and, if it likes, error_g.

    Returns
    -------
    tuple of float
        Tares in the order they were weighed [g].
    tuple of float or None
        Package errors [g].

    Raises
    ------
    BadInput
        Every fault of the file at once, with line and column.
    """
    rows = read_rows(path, {"tare_g": True, "error_g": False})
    tares = _numbers(path, rows, "tare_g", low=0.0)
    if not any(cells["error_g"] for _, cells in rows):
        return tares, None
    return tares, _numbers(path, rows, "error_g")


def read_standards(path: Path) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Read what a scale showed for check weights.

    Parameters
    ----------
    path : Path
        A file with standard_g and shown_g.

    Returns
    -------
    tuple of float
        Readings [g].
    tuple of float
        Corrections, standard less reading [g].

    Raises
    ------
    BadInput
        Every fault of the file at once, with line and column.
    """
    rows = read_rows(path, {"standard_g": True, "shown_g": True})
    standards = _numbers(path, rows, "standard_g", low=0.0)
    shown = _numbers(path, rows, "shown_g")
    return shown, tuple(right - read for right, read in zip(standards, shown, strict=True))
