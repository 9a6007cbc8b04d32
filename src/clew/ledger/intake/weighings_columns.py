"""Cells of a file of weighings read by the column: fast where all is well, by the cell where not.

A column is first read in one go. Only where that fails are its cells looked at one by one, which
finds the unit that was written, or the words for what is wrong.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from clew.checks.weighings import Codes, Column
from clew.faults import BadInput, Fault
from clew.ledger.intake.weighings_lines import DECIMAL_COMMA
from clew.quantities import FORCE, GAIN, LENGTH, MASS, TIME, Kind, read_quantity

CellFaults = list[tuple[int, Fault]]
TimeKind = Literal["", "zone", "local", "clock", "seconds"]

_REGAIN = replace(GAIN, name="regain", high=math.inf, example="9.5 %")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_NOT_A_NUMBER = re.compile(r"[+-]?(nan|inf|infinity|null|none|n/?a|-+)", re.IGNORECASE)
_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])(?::([0-5][0-9](?:\.[0-9]{1,6})?))?")
_START_LOCAL = datetime(1970, 1, 1)
_START = datetime(1970, 1, 1, tzinfo=UTC)
_LONGEST_NAME = 200
DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Numbers:
    """What a column of numbers may hold.

    Attributes
    ----------
    kind : Kind
        The quantity.
    per_inside : float
        The column's unit in the kind's inside unit.
    high : float
        Most that can be meant, in the column's unit.
    high_words : str
        The same in words.
    above_zero : bool
        Whether 0 is refused.
    """

    kind: Kind
    per_inside: float
    high: float
    high_words: str
    above_zero: bool = False


COLUMNS: dict[str, Numbers] = {
    "mass_g": Numbers(MASS, 1.0, 20_000.0, "20 kg", above_zero=True),
    "gross_g": Numbers(MASS, 1.0, 20_000.0, "20 kg", above_zero=True),
    "tare_g": Numbers(MASS, 1.0, 20_000.0, "20 kg"),
    "length_m": Numbers(LENGTH, 1.0, 100_000.0, "100 km", above_zero=True),
    "regain_frac": Numbers(_REGAIN, 1.0, 4.0, "400 %; a part of the dry mass: 0.095, or 9.5 %"),
    "since_dryer_min": Numbers(TIME, 60.0, 1_000_000.0, "1 000 000 min"),
    "tension_cn": Numbers(FORCE, 1.0, 100_000.0, "1000 N"),
}


def _shown(text: str) -> str:
    plain = text if text.isprintable() else text.encode("unicode_escape").decode()
    return repr(plain[:40]) + ("…" if len(plain) > 40 else "")


def _fault(what: str, expected: str, text: str) -> BadInput:
    return BadInput(Fault(what, expected, value=_shown(text)))


@dataclass(slots=True)
class NumberReader:
    """Reads one column of numbers.

    Attributes
    ----------
    name : str
        Its name.
    comma : bool
        Whether a decimal comma is read: in files parted by ";" or tabs.
    mark : str
        "," or "." as the column's first number with one wrote it; both in one column are refused,
        since 1.005 is then anybody's guess.
    with_unit : list of int
        Rows, counted from the start, whose cell said its unit.
    """

    name: str
    comma: bool
    mark: str = ""
    with_unit: list[int] = field(default_factory=list)

    def read(self, cells: Sequence[str], start: int) -> tuple[Column, CellFaults]:
        """Read some cells; NaN where one is empty or faulty."""
        joined = "".join(cells)
        mark = "," if "," in joined else "." if "." in joined else ""
        both = mark == "," and "." in joined
        strange = both or bool(mark and self.mark and mark != self.mark)
        # float() also reads 1_000 and the digits of other scripts, which nobody means.
        if strange or "_" in joined or not joined.isascii() or (mark == "," and not self.comma):
            return self._by_cell(cells, start)
        told = [cell.replace(",", ".") for cell in cells] if mark == "," else cells
        try:
            if "" in told:
                found = np.fromiter(
                    (float(cell) if cell else math.nan for cell in told), np.float64, len(told)
                )
                missing = sum(not cell for cell in told)
            else:
                found, missing = np.fromiter(map(float, told), np.float64, len(told)), 0
        except ValueError:
            return self._by_cell(cells, start)
        terms = COLUMNS[self.name]
        low = (found <= 0.0) if terms.above_zero else (found < 0.0)
        if np.count_nonzero(np.isnan(found)) > missing or bool(np.any(low | (found > terms.high))):
            return self._by_cell(cells, start)
        self.mark = self.mark or mark
        return found, []

    def _by_cell(self, cells: Sequence[str], start: int) -> tuple[Column, CellFaults]:
        found = np.full(len(cells), math.nan)
        faults: CellFaults = []
        for place, cell in enumerate(cells):
            text = cell.strip()
            if not text:
                continue
            try:
                found[place] = self.cell(text, start + place)
            except BadInput as bad:
                faults.append((place, bad.faults[0]))
        return found, faults

    def cell(self, text: str, row: int = -1) -> float:
        """Read one cell, a plain number or a quantity, in the column's unit.

        Raises
        ------
        BadInput
            When it is none, or cannot be meant.
        """
        terms = COLUMNS[self.name]
        example = f"a number such as 49.6, or {terms.kind.example}"
        plain = self._with_point(text, example)
        if _NUMBER.fullmatch(plain):
            value = float(plain)
        elif _NOT_A_NUMBER.fullmatch(plain):
            raise _fault("not a number", f"{example}; an empty cell where not measured", text)
        elif any(letter.isdigit() for letter in plain) and not plain[-1:].isdigit():
            kind = replace(terms.kind, low=-math.inf)
            value = read_quantity(plain, kind) / terms.per_inside
            self.with_unit.append(row)
        else:
            raise _fault("not a number", example, text)
        if value < 0.0:
            raise _fault("below zero", example, text)
        if value == 0.0 and terms.above_zero:
            raise _fault("nothing at all", f"more than 0; {example}", text)
        if value > terms.high:
            raise _fault("more than can be meant", f"at most {terms.high_words}", text)
        return value

    def _with_point(self, text: str, example: str) -> str:
        if "," not in text and "." not in text:
            return text
        if "," in text and not self.comma:
            raise _fault("a comma in a number", f"49.6 with a point; {DECIMAL_COMMA}", text)
        mark = "," if "," in text else "."
        if mark == "," and "." in text:
            raise _fault("a comma and a point in one number", f"{example}, no thousands", text)
        if self.mark and mark != self.mark:
            names = {",": "comma", ".": "point"}
            raise _fault(
                f"a {names[mark]} where other cells of the column write a {names[self.mark]}",
                "one mark in a column",
                text,
            )
        self.mark = mark
        return text.replace(",", ".")


class Names(dict[str, int]):
    """Codes of names, in the order in which they are first asked for."""

    def __missing__(self, cell: str) -> int:
        """Give a new name its code; -1 for an empty cell."""
        name = cell.strip()
        if not name:
            return -1
        if name != cell:
            return self[name]
        if len(name) > _LONGEST_NAME or not name.isprintable():
            raise _fault("a name that cannot be printed", "a short name on one line", name)
        self[name] = len(self)
        return self[name]

    def read(self, cells: Sequence[str]) -> tuple[Codes, CellFaults]:
        """Read some cells; -1 where one is empty or faulty."""
        try:
            return np.fromiter(map(self.__getitem__, cells), np.int32, len(cells)), []
        except BadInput:
            pass
        found = np.full(len(cells), -1, dtype=np.int32)
        faults: CellFaults = []
        for place, cell in enumerate(cells):
            try:
                found[place] = self[cell]
            except BadInput as bad:
                faults.append((place, bad.faults[0]))
        return found, faults


@dataclass(slots=True)
class TimeReader:
    """Reads the column `time`: one way of writing it in a file.

    Attributes
    ----------
    kind : str
        "zone" and "local" for dates with and without a zone, "clock" for times of day, "seconds"
        for plain numbers; empty before the first.
    line : int
        Line of the first.
    to_the_second : bool
        Whether every time of day says its seconds.
    """

    kind: TimeKind = ""
    line: int = 0
    to_the_second: bool = True

    def read(self, cells: Sequence[str], lines: Sequence[int]) -> tuple[Column, CellFaults]:
        """Read some cells into seconds; times of day as seconds after midnight."""
        fast = self._dates(cells) if self.kind == "local" else None
        if fast is not None:
            return fast, []
        found = np.full(len(cells), math.nan)
        faults: CellFaults = []
        for place, cell in enumerate(cells):
            text = cell.strip()
            if not text:
                continue
            try:
                kind, found[place] = self._cell(text)
                if not self.kind:
                    self.kind, self.line = kind, lines[place]
                if kind != self.kind:
                    found[place] = math.nan
                    raise _fault(
                        "a time of another kind",
                        f"one way of writing it in a file, as in line {self.line}",
                        text,
                    )
            except BadInput as bad:
                faults.append((place, bad.faults[0]))
        return found, faults

    def _dates(self, cells: Sequence[str]) -> Column | None:
        """Read dates all written 2026-11-25T10:15:30 in one go; None where one is not."""
        if not cells or any(len(cell) != 19 for cell in cells):
            return None
        letters = np.array(cells, dtype="U19").view(np.uint32).reshape(len(cells), 19)
        digits = np.delete(letters, (4, 7, 10, 13, 16), axis=1)
        marks = letters[:, (4, 7, 13, 16)]
        if (
            np.any(digits < 48)
            or np.any(digits > 57)
            or np.any(marks != np.array([45, 45, 58, 58], dtype=np.uint32))
            or not np.all(np.isin(letters[:, 10], (32, 84)))
        ):
            return None
        try:
            days: NDArray[np.datetime64] = np.array(cells, dtype="datetime64[s]")
        except ValueError:
            return None
        return days.astype(np.int64).astype(np.float64)

    def _cell(self, text: str) -> tuple[TimeKind, float]:
        if _NUMBER.fullmatch(text) and not text.startswith("-"):
            return "seconds", self._finite(float(text), text)
        clock = _CLOCK.fullmatch(text)
        if clock is not None:
            hours, minutes, seconds = clock.groups()
            self.to_the_second &= seconds is not None
            return "clock", 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds or 0.0)
        expected = "2026-11-25T10:15:30, 10:15:30 or seconds"
        # fromisoformat reads weeks and dates without marks too, which are easily mistaken.
        if len(text) >= 16 and text[4] == text[7] == "-" and text[10] in "T " and text[13] == ":":
            try:
                at = datetime.fromisoformat(text)
            except ValueError:
                raise _fault("no such time", expected, text) from None
            self.to_the_second &= len(text) > 16 and text[16] == ":"
            try:
                if at.tzinfo is None:
                    return "local", (at - _START_LOCAL).total_seconds()
                return "zone", (at - _START).total_seconds()
            except OverflowError:
                raise _fault("no such time", expected, text) from None
        raise _fault("no time", expected, text)

    @staticmethod
    def _finite(value: float, text: str) -> float:
        if not value < 1e12:
            raise _fault("more than can be meant", "fewer than 1e12 seconds", text)
        return value


def over_midnight(clock_s: Column) -> Column:
    """Count times of day on past midnight: each within 12 h of the one before it.

    Parameters
    ----------
    clock_s : array of float, shape (rows,)
        Seconds after midnight [s], NaN where there is none.

    Returns
    -------
    array of float, shape (rows,)
        Seconds from the midnight before the first [s].
    """
    there = ~np.isnan(clock_s)
    on: Column = clock_s.copy()
    if there.any():
        told = clock_s[there]
        days = -np.round(np.diff(told, prepend=told[0]) / DAY_S)
        on[there] = told + DAY_S * np.cumsum(days)
    return on
