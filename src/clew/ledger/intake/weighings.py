"""Reading weighings: a CSV file or JSON lines, every bad row by its line, millions of rows.

What is held grows with the columns that are kept and with nothing else: eight bytes a number and
four a name, the name itself once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from clew.checks.weighings import FACTORS, NUMBERS, Codes, Column, Factor, Weighings, without
from clew.faults import BadInput, Fault
from clew.ledger.intake.weighings_columns import (
    Names,
    NumberReader,
    TimeKind,
    TimeReader,
    over_midnight,
)
from clew.ledger.intake.weighings_lines import Block, blocks, is_json, raw_lines
from clew.ledger.intake.weighings_whole import WholeFault, whole_faults

MOST_FAULTS = 200
"""So many faults are named; the rest are counted."""
_STOP_AFTER = 10_000
_TOGETHER = ("mass_g", "gross_g", "tare_g")
_TELLS_APART = frozenset({"ball", "time", "winder", "lane"})
"""Columns that are read even where nobody keeps them: a ball weighed twice shows in them."""

BadRow = tuple[int, str, Fault]
Parts = list[NDArray[np.float64] | NDArray[np.int32] | int]


@dataclass(slots=True)
class Scan:
    """A file as it was read.

    Attributes
    ----------
    table : Weighings
        The good rows.
    bad : list of (int, str, Fault)
        Line, the row as it stood, and what is wrong with it, in the order of the file; a row with
        two faults stands twice.
    rows : int
        Rows that are not empty, good and bad.
    time_kind : str
        How the file writes its times, as `TimeReader` names it.
    time_to_the_second : bool
        Whether they tell seconds.
    """

    table: Weighings
    bad: list[BadRow]
    rows: int
    time_kind: TimeKind
    time_to_the_second: bool


def read_weighings(
    path: Path, *, need: Sequence[str] = (), only: Sequence[str] | None = None
) -> Weighings:
    """Read weighings, all of them good.

    Parameters
    ----------
    path : Path
        A CSV file parted by commas, semicolons or tabs, or JSON lines where its name ends in
        ``.jsonl`` or ``.ndjson``; columns as in `clew.checks.weighings`, with ``time`` in place of
        ``time_s``.
    need : sequence of str
        Columns that must be there with a value; ``mass_g`` is content with ``gross_g``.
    only : sequence of str or None
        Columns to keep; of the others only those are read that tell balls apart. None for all.
        ``mass_g`` keeps ``gross_g`` and ``tare_g`` too.

    Returns
    -------
    Weighings
        Every row that is not empty, with its line.

    Raises
    ------
    BadInput
        Every fault, at most 200 and a line for the rest.
    """
    reading = _Reading(path, only, keep_bad=False)
    reading.run()
    scan = reading.finish(need)
    faults = [fault for _, _, fault in scan.bad]
    if faults or reading.unnamed:
        more = len(faults) - MOST_FAULTS + reading.unnamed
        faults = faults[:MOST_FAULTS]
        if more > 0:
            stopped = " or more; reading stopped" if reading.stopped else ""
            faults.append(Fault(f"and {more} more{stopped}", file=str(path)))
        raise BadInput(faults)
    return scan.table


def scan_file(path: Path) -> Scan:
    """Read the good rows of a file of weighings, name the bad ones, and tell how it writes times.

    Parameters
    ----------
    path : Path
        As for `read_weighings`.

    Returns
    -------
    Scan
        The good rows; of each bad one its line, how it stood and what is wrong with it.

    Raises
    ------
    BadInput
        When the file as a whole cannot be used: no heading, no rows, not text.
    """
    reading = _Reading(path, None, keep_bad=True)
    reading.run()
    return reading.finish(())


@dataclass(slots=True)
class _Reading:
    """A file while it is read: parts of columns, and what is wrong so far."""

    path: Path
    only: Sequence[str] | None
    keep_bad: bool
    numbers: dict[str, NumberReader] = field(default_factory=dict)
    names: dict[str, Names] = field(default_factory=dict)
    time: TimeReader = field(default_factory=TimeReader)
    parts: dict[str, Parts] = field(default_factory=dict)
    lines: list[NDArray[np.int64]] = field(default_factory=list)
    bad: list[BadRow] = field(default_factory=list)
    bad_lines: set[int] = field(default_factory=set)
    rows: int = 0
    lost: int = 0
    unnamed: int = 0
    stopped: bool = False
    columns: dict[str, None] = field(default_factory=dict)

    def run(self) -> None:
        mark, source = blocks(self.path)
        for block in source:
            self._take(block, comma=mark in (";", "\t"))
            if not self.keep_bad and self.unnamed + len(self.bad) > _STOP_AFTER:
                self.stopped = True
                return

    def _kept(self, name: str) -> bool:
        if self.only is None:
            return True
        wanted = {"time" if one == "time_s" else one for one in self.only}
        if wanted & {"mass_g", "gross_g"} and name in _TOGETHER:
            return True
        return name in wanted

    def _take(self, block: Block, *, comma: bool) -> None:
        found: list[BadRow] = [(line, block.bad_raw[line], fault) for line, fault in block.faults]
        self.lost += len(found)
        count = len(block.lines)
        spoiled: set[int] = set()
        for name, cells in block.cells.items():
            self.columns.setdefault(name)
            kept = self._kept(name)
            if not (kept or name in _TELLS_APART) or not count:
                continue
            values, faults = self._column(name, cells, block.lines, comma)
            if not kept:
                faults = []  # nobody asked for the column: a cell of it that cannot be read is none
            parts = self.parts.setdefault(name, [self.rows] if self.rows else [])
            parts.append(values)
            for place, fault in faults:
                line = block.lines[place]
                spoiled.add(line)
                placed = replace(fault, file=str(self.path), line=line, key=name)
                found.append((line, block.raw[place], placed))
        for name, parts in self.parts.items():
            if name not in block.cells and count:
                parts.append(count)
        self.lines.append(np.array(block.lines, dtype=np.int64))
        self.rows += count
        self.bad_lines |= spoiled
        self._keep(sorted(found, key=lambda one: one[0]))

    def _keep(self, found: list[BadRow]) -> None:
        """Keep bad rows; for one who wants good files only, no more than will be named."""
        room = len(found) if self.keep_bad else max(0, MOST_FAULTS - len(self.bad))
        self.bad += found[:room]
        self.unnamed += len(found) - len(found[:room])

    def _column(
        self, name: str, cells: Sequence[str], lines: Sequence[int], comma: bool
    ) -> tuple[Column | Codes, list[tuple[int, Fault]]]:
        if name == "time":
            return self.time.read(cells, lines)
        if name in FACTORS:
            return self.names.setdefault(name, Names()).read(cells)
        reader = self.numbers.setdefault(name, NumberReader(name, comma))
        return reader.read(cells, self.rows)

    def finish(self, need: Sequence[str]) -> Scan:
        """Join the parts, look at the whole, and leave the bad rows out."""
        file = str(self.path)
        if not self.rows and not self.lost:
            raise BadInput(
                Fault("no rows", "a row a ball", file)
                if is_json(self.path)
                else Fault("no rows", "a row a ball under the heading", file)
            )
        lines = np.concatenate(self.lines) if self.lines else np.zeros(0, dtype=np.int64)
        self.lines.clear()
        numbers: dict[str, Column] = {}
        factors: dict[str, Factor] = {}
        for name in ("time", *FACTORS, *NUMBERS):
            if name not in self.parts:
                continue
            parts = self.parts.pop(name)
            if name in FACTORS:
                factors[name] = Factor(_codes(parts), tuple(self.names.pop(name)))
            elif name != "time":
                numbers[name] = _column(parts)
            else:
                at_s = _column(parts)
                numbers["time_s"] = over_midnight(at_s) if self.time.kind == "clock" else at_s
        table = Weighings(self.rows, numbers, factors, lines)
        missing = self._missing(table, need)
        if missing:
            raise BadInput(missing)
        if self.bad_lines:
            table = without(table, np.flatnonzero(np.isin(lines, sorted(self.bad_lines))))
        with_unit = self._with_unit(lines, table)
        whole = whole_faults(table, with_unit, time_to_the_second=self.time.to_the_second)
        if whole:
            table = self._refuse(table, whole)
        table = self._asked(table)
        return Scan(table, self.bad, self.rows + self.lost, self.time.kind, self.time.to_the_second)

    def _asked(self, table: Weighings) -> Weighings:
        """Leave out the columns that were read only to tell balls apart."""
        if self.only is None:
            return table
        numbers = {
            name: column
            for name, column in table.numbers.items()
            if self._kept("time" if name == "time_s" else name)
        }
        factors = {name: one for name, one in table.factors.items() if self._kept(name)}
        return replace(table, numbers=numbers, factors=factors)

    def _with_unit(self, lines: NDArray[np.int64], table: Weighings) -> dict[str, Sequence[int]]:
        """Find where rows whose cell said its unit came to stand after bad rows were left out."""
        found: dict[str, Sequence[int]] = {}
        for name, reader in self.numbers.items():
            if reader.with_unit and table.lines is not None:
                said = lines[np.array(reader.with_unit, dtype=np.int64)]
                found[name] = np.flatnonzero(np.isin(table.lines, said)).tolist()
        return found

    def _refuse(self, table: Weighings, whole: list[WholeFault]) -> Weighings:
        assert table.lines is not None
        spoiled: set[int] = set()
        wanted: list[tuple[int, Fault]] = []
        for one in whole:
            fault = replace(one.fault, file=str(self.path))
            spoiled.update(one.rows.tolist())
            # One fault of many rows is one line for a reader, but each row's own in a file of them.
            rows = one.rows if self.keep_bad else one.rows[:1]
            wanted += [(int(table.lines[row]), fault) for row in rows]
        raw = raw_lines(self.path, {line for line, _ in wanted}) if self.keep_bad else {}
        self._keep([(line, raw.get(line, ""), replace(fault, line=line)) for line, fault in wanted])
        self.bad.sort(key=lambda one: one[0])
        return without(table, np.array(sorted(spoiled), dtype=np.int64))

    def _missing(self, table: Weighings, need: Sequence[str]) -> list[Fault]:
        file = str(self.path)
        faults = []
        for wanted in need:
            name = "time_s" if wanted == "time" else wanted
            ways = ("mass_g", "gross_g") if name == "mass_g" else (name,)
            shown = "time" if name == "time_s" else name
            in_file = [way for way in (*ways, shown) if way in self.columns]
            held = [way for way in ways if way in table.numbers or way in table.factors]
            either = "; gross_g will do" if name == "mass_g" else ""
            head = ", ".join(self.columns)
            if not in_file and (self.columns or not self.bad):
                faults.append(
                    Fault(
                        "a column is missing",
                        f"it in the heading{either}",
                        file,
                        key=shown,
                        value=head,
                    )
                )
            elif not self.bad and all(_empty(table, way) for way in held):
                faults.append(Fault("a column without a value", "some filled in", file, key=shown))
        return faults


def _empty(table: Weighings, name: str) -> bool:
    if name in table.factors:
        return not bool(np.any(table.factors[name].codes >= 0))
    return bool(np.all(np.isnan(table.numbers[name])))


def _column(parts: Parts) -> Column:
    """Join parts; a number among them stands for so many empty cells."""
    return np.concatenate(
        [
            np.full(one, math.nan) if isinstance(one, int) else one.astype(np.float64, copy=False)
            for one in parts
        ]
    )


def _codes(parts: Parts) -> Codes:
    return np.concatenate(
        [
            np.full(one, -1, dtype=np.int32)
            if isinstance(one, int)
            else one.astype(np.int32, copy=False)
            for one in parts
        ]
    )
