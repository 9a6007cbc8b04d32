"""The tables of the net-content rule sets: one file that a person can correct and confirm.

`net_content.toml` is shipped beside this module. A mill may keep a copy of its own beside
``mill.toml``; then that one is used, and every answer names it with a hash of its text.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from clew.faults import BadInput, Fault
from clew.mill.places import shown
from clew.mill.reading import MOST_FAULTS, mill_file, mill_text
from clew.mill.toml_text import read_text

FILE_NAME = "net_content.toml"
MARKS = ("READ", "READ-2", "MEMORY", "DERIVED", "COMPUTED", "OURS")
BUILT_IN = "built in"
_CONFIRMED = re.compile(r"^[^,]*\w[^,]*,\s*(\d{4}-\d{2}-\d{2})\s*,.*\w.*$")

_WORDS = ("title", "source", "edition", "date", "mark", "note", "confirmed_by")

Kind = Literal["lots", "bands", "values"]
_KINDS: dict[str, tuple[Kind, tuple[str, ...]]] = {
    "us_category_a_plans": ("lots", ("n", "factor", "accept")),
    "us_category_a_mass": ("bands", ("g",)),
    "us_category_a_length": ("bands", ("m",)),
    "us_thread": ("values", ("least_balls", "short_percent", "length_below_g")),
    "r87_mass": ("bands", ("g",)),
    "r87_length": ("bands", ("m",)),
    "r87_plans": ("lots", ("n", "factor", "accept")),
    "r87_small_lots": ("lots", ("n", "factor", "accept")),
    "tne": ("bands", ("g",)),
    "reference_double": ("lots", ("n", "accept", "reject", "n_second", "accept_second")),
    "reference_single": ("lots", ("n", "accept")),
    "reference_destructive": ("lots", ("n", "accept")),
    "reference_mean": ("lots", ("n", "factor")),
    "reference_mean_destructive": ("lots", ("n", "factor")),
    "uk_small_batch": ("values", ("defective_percent",)),
}
TABLE_KEYS = tuple(_KINDS)
"""Keys of the tables; every one must stand in the file."""


@dataclass(frozen=True, slots=True)
class LotRow:
    """What a plan asks of lots of a size.

    Attributes
    ----------
    lot_from, lot_to : int, int or None
        Smallest and largest lot; None where there is no largest.
    n : int or None
        Balls to draw; None means every ball of the lot.
    factor : float
        Sample correction factor [-].
    accept, reject : int
        Short balls at which the lot is still accepted, and at which it is rejected.
    n_second, accept_second : int
        Balls drawn in all after the second drawing of a double plan, and the short ones allowed
        among them; 0 where the plan is single.
    """

    lot_from: int
    lot_to: int | None
    n: int | None
    factor: float = 0.0
    accept: int = 0
    reject: int = 1
    n_second: int = 0
    accept_second: int = 0


@dataclass(frozen=True, slots=True)
class Band:
    """How short a ball of a declaration may be: ``over < declared <= to``.

    Attributes
    ----------
    over, to : float, float or None
        The band, in the table's unit [g or m]; None where it has no upper end.
    amount : float or None
        Shortage [g or m].
    percent : float or None
        Shortage as a percentage of the declaration [%]; one of the two is given.
    """

    over: float
    to: float | None
    amount: float | None
    percent: float | None


@dataclass(frozen=True, slots=True)
class Table:
    """One table with where it comes from.

    Attributes
    ----------
    key, title, source, edition, date, note : str
        What it is and where it stands.
    mark : str
        One of `MARKS`.
    confirmed_by : str
        Who compared it with the source, when, and with what; empty until somebody has.
    off : bool
        It is not used.
    lots, bands, values
        Its rows, or its named numbers; the two others are empty.
    """

    key: str
    title: str
    source: str
    edition: str
    date: str
    mark: str
    note: str
    confirmed_by: str
    off: bool
    lots: tuple[LotRow, ...] = ()
    bands: tuple[Band, ...] = ()
    values: Mapping[str, float] = field(default_factory=dict)

    @property
    def confirmed(self) -> bool:
        """Whether its figures were read in the source, or compared with it by a person."""
        return self.mark == "READ" or bool(self.confirmed_by)


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables of the rule sets.

    Attributes
    ----------
    by_key : mapping of str to Table
        The tables.
    file : str
        File of the mill they were read from, or "built in".
    sha256 : str
        Hash of the file's bytes, in hexadecimal.
    """

    by_key: Mapping[str, Table]
    file: str
    sha256: str

    def __getitem__(self, key: str) -> Table:
        """Give a table by its key."""
        return self.by_key[key]


def built_in_text() -> str:
    """Give the text of the shipped file."""
    from importlib import resources

    return resources.files("clew.mill").joinpath(FILE_NAME).read_text(encoding="utf-8")


def read_tables(folder: Path | str | None = None) -> Tables:
    """Read the tables: the mill's own copy where it keeps one, else those built in.

    Parameters
    ----------
    folder : Path or str, optional
        The mill's folder, or its mill.toml.

    Returns
    -------
    Tables
        The tables.

    Raises
    ------
    BadInput
        With everything that is wrong with the mill's copy, each with its line.
    """
    own = _own_file(folder)
    return tables_from_text(tables_text(folder), BUILT_IN if own is None else str(own))


def tables_text(folder: Path | str | None = None) -> str:
    """Give the text of the tables in use, to be written out and corrected."""
    own = _own_file(folder)
    return built_in_text() if own is None else mill_text(own)


def _own_file(folder: Path | str | None) -> Path | None:
    if folder is None:
        return None
    if not Path(folder).exists():
        raise BadInput(Fault("no such file or folder", "the folder of a mill", str(folder)))
    own = mill_file(folder).parent / FILE_NAME
    return own if own.is_file() else None


def tables_from_text(text: str, file: str = FILE_NAME) -> Tables:
    """Read the tables from the text of a file; `BadInput` holds everything that is wrong."""
    read = read_text(text, file)
    faults = list(read.faults)

    def note(path: tuple[str | int, ...], what: str, expected: str, value: Any = None) -> None:
        said = "" if value is None else shown(value)
        section, key = (str(path[0]), ".".join(map(str, path[1:]))) if len(path) > 1 else ("", "")
        if not section:
            key = str(path[0])
        if len(path) > 2 and path[1] == "rows":
            key = f"row {int(path[2]) + 1}" + (f" {path[3]}" if len(path) > 3 else "")
        faults.append(Fault(what, expected, file, read.lines.line_of(path), section, key, said))

    if not read.faults and read.raw.get("version") != 1:
        note(("version",), "not a version known here", "version = 1", read.raw.get("version"))
    for key in read.raw:
        if key not in _KINDS and key != "version":
            note((key,), "no such table", "one of " + ", ".join(_KINDS))
    found: dict[str, Table] = {}
    for key, (kind, columns) in _KINDS.items():
        raw = read.raw.get(key)
        if not isinstance(raw, dict):
            if not read.faults:
                note((key,), "a table that is missing", f"[{key}]")
            continue
        before = len(faults)
        table = _Reader(key, raw, columns, note).table(kind)
        if table is not None and len(faults) == before:
            found[key] = table
    if faults:
        raise BadInput(sorted(faults, key=lambda fault: fault.line or 0)[:MOST_FAULTS])
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    return Tables(MappingProxyType(found), file, sha256)


class _Reader:
    """Reads one table, noting every fault."""

    def __init__(self, key: str, raw: dict[str, Any], columns: tuple[str, ...], note: Any) -> None:
        self.key, self.raw, self.columns, self.note = key, raw, columns, note

    def table(self, kind: Kind) -> Table | None:
        words = {name: self.text(name) for name in _WORDS}
        if words["mark"] and words["mark"] not in MARKS:
            self.note(
                (self.key, "mark"), "no such mark", "one of " + ", ".join(MARKS), words["mark"]
            )
        self.check_confirmed(words["confirmed_by"])
        off = self.raw.get("off", False)
        if not isinstance(off, bool):
            self.note((self.key, "off"), "neither true nor false", "off = false", off)
            return None
        body = {"lots": "rows", "bands": "rows", "values": "values"}[kind]
        known = {*words, "off", body} | ({"unit"} if kind == "bands" else set())
        for name in self.raw:
            if name not in known:
                self.note((self.key, name), "no such key", "one of " + ", ".join(sorted(known)))
        title, source, edition, dated, mark, note, confirmed_by = words.values()
        table = Table(self.key, title, source, edition, dated, mark, note, confirmed_by, off)
        if kind == "lots":
            return replace(table, lots=tuple(self.lots()))
        if kind == "bands":
            if self.raw.get("unit") != self.columns[0]:
                self.note(
                    (self.key, "unit"),
                    "not this table's unit",
                    f'unit = "{self.columns[0]}"',
                    self.raw.get("unit"),
                )
            return replace(table, bands=tuple(self.bands()))
        return replace(table, values=MappingProxyType(self.values()))

    def text(self, name: str) -> str:
        value = self.raw.get(name, "")
        if not isinstance(value, str):
            self.note((self.key, name), "not a text", f'{name} = "…"', value)
            return ""
        if not value.strip() and name not in ("note", "confirmed_by"):
            self.note((self.key, name), "empty or missing", f'{name} = "…"')
        return value.strip()

    def check_confirmed(self, said: str) -> None:
        if not said:
            return
        match = _CONFIRMED.match(said)
        try:
            good = match is not None and bool(date.fromisoformat(match[1]))
        except ValueError:
            good = False
        if not good:
            self.note(
                (self.key, "confirmed_by"),
                "does not say who, when and against what",
                '"name, date as 2026-03-31, what it was compared with"',
                said,
            )

    def rows(self) -> Iterator[tuple[int, dict[str, Any]]]:
        rows = self.raw.get("rows")
        if not isinstance(rows, list) or not rows:
            self.note((self.key, "rows"), "no rows", "rows = [ { … }, … ]")
            return
        for place, row in enumerate(rows):
            if isinstance(row, dict):
                yield place, row
            else:
                self.note((self.key, "rows", place), "not a row", "{ … }", row)

    def number(
        self, place: int, row: dict[str, Any], name: str, *, whole: bool = False, most: float = 1e7
    ) -> float:
        value = row.get(name)
        sort = int if whole else (int, float)
        if isinstance(value, sort) and not isinstance(value, bool) and 0 <= value <= most:
            return value
        what = "missing" if value is None else "not a number that can stand here"
        said = "a whole number" if whole else "a number"
        self.note((self.key, "rows", place, name), what, f"{said}, 0 to {most:g}", value)
        return 0

    def unknown(self, place: int, row: dict[str, Any], known: tuple[str, ...]) -> None:
        for name in row:
            if name not in known:
                self.note(
                    (self.key, "rows", place, name), "no such key", "one of " + ", ".join(known)
                )

    def lots(self) -> Iterator[LotRow]:
        """Read rows by lot size; no gap, no overlap, the last one without an upper end or with."""
        expected_from: int | None = None
        listed = list(self.rows())
        for place, row in listed:
            self.unknown(place, row, ("from", "to", *self.columns))
            first = int(self.number(place, row, "from", whole=True))
            last = int(self.number(place, row, "to", whole=True)) if "to" in row else None
            self.follows(place, first, expected_from)
            if last is None and place != len(listed) - 1:
                self.note((self.key, "rows", place), "no upper end before the last row", "to = …")
            if last is not None and last < first:
                self.note(
                    (self.key, "rows", place, "to"), "below its from", f"{first} or more", last
                )
            expected_from = None if last is None else last + 1
            every = row.get("n") == "all"
            n = None if every else int(self.number(place, row, "n", whole=True, most=1e5))
            if n == 0 or (n is not None and n > first > 0):
                self.note(
                    (self.key, "rows", place, "n"), "not so many in the lot", f"1 to {first}", n
                )
            terms = {
                name: self.number(place, row, name, whole=name != "factor", most=1e5)
                for name in self.columns
                if name != "n"
            }
            accept = int(terms.get("accept", 0))
            reject = int(terms.get("reject", accept + 1))
            if reject <= accept:
                self.note(
                    (self.key, "rows", place, "reject"), "not above accept", f"{accept + 1}", reject
                )
            yield LotRow(
                first, last, n, terms.get("factor", 0.0), accept, reject,
                int(terms.get("n_second", 0)), int(terms.get("accept_second", 0)),
            )  # fmt: skip

    def follows(self, place: int, first: int, expected: int | None) -> None:
        if expected is not None and first != expected:
            what = "a gap between rows" if first > expected else "rows that overlap"
            self.note((self.key, "rows", place, "from"), what, str(expected), first)

    def bands(self) -> Iterator[Band]:
        """Read rows by declaration; each begins where the one before it ends."""
        before: float | None = 0.0
        listed = list(self.rows())
        for place, row in listed:
            self.unknown(place, row, ("over", "to", "amount", "percent"))
            over = self.number(place, row, "over")
            to = self.number(place, row, "to") if "to" in row else None
            if before is not None and over != before:
                what = "a gap between rows" if over > before else "rows that overlap"
                self.note((self.key, "rows", place, "over"), what, f"{before:g}", over)
            if to is None and place != len(listed) - 1:
                self.note((self.key, "rows", place), "no upper end before the last row", "to = …")
            if to is not None and to <= over:
                self.note((self.key, "rows", place, "to"), "not above its over", f"{over:g} <", to)
            before = to
            if ("amount" in row) == ("percent" in row):
                self.note((self.key, "rows", place), "one of amount and percent", "amount = …")
                continue
            amount = self.number(place, row, "amount") if "amount" in row else None
            percent = self.number(place, row, "percent", most=100) if "percent" in row else None
            yield Band(over, to, amount, percent)

    def values(self) -> dict[str, float]:
        raw = self.raw.get("values")
        given = raw if isinstance(raw, dict) else {}
        found: dict[str, float] = {}
        for name in self.columns:
            value = given.get(name)
            if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 < value < 1e6:
                found[name] = float(value)
            else:
                self.note(
                    (self.key, "values"), f"{name}: missing or no number", f"{name} = …", value
                )
        for name in given:
            if name not in self.columns:
                self.note((self.key, "values", name), "no such key", ", ".join(self.columns))
        return found
