"""One table of the rule sets: its rows, and reading them with every fault noted."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Any, Literal

MARKS = ("READ", "READ-2", "MEMORY", "DERIVED", "COMPUTED", "OURS")
_CONFIRMED = re.compile(r"^[^,]*\w[^,]*,\s*(\d{4}-\d{2}-\d{2})\s*,.*\w.*$")
_WORDS = ("title", "source", "edition", "date", "mark", "note", "confirmed_by")

Kind = Literal["lots", "bands", "values"]


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


class TableReader:
    """Reads one table, noting every fault."""

    def __init__(self, key: str, raw: dict[str, Any], columns: tuple[str, ...], note: Any) -> None:
        self.key, self.raw, self.columns, self.note = key, raw, columns, note

    def table(self, kind: Kind) -> Table | None:
        """Read the table; None where it cannot be made at all."""
        words = {name: self._text(name) for name in _WORDS}
        if words["mark"] and words["mark"] not in MARKS:
            self.note(
                (self.key, "mark"), "no such mark", "one of " + ", ".join(MARKS), words["mark"]
            )
        self._check_confirmed(words["confirmed_by"])
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
            return replace(table, lots=tuple(self._lots()))
        if kind == "bands":
            if self.raw.get("unit") != self.columns[0]:
                self.note(
                    (self.key, "unit"),
                    "not this table's unit",
                    f'unit = "{self.columns[0]}"',
                    self.raw.get("unit"),
                )
            return replace(table, bands=tuple(self._bands()))
        return replace(table, values=MappingProxyType(self._values()))

    def _text(self, name: str) -> str:
        value = self.raw.get(name, "")
        if not isinstance(value, str):
            self.note((self.key, name), "not a text", f'{name} = "…"', value)
            return ""
        if not value.strip() and name not in ("note", "confirmed_by"):
            self.note((self.key, name), "empty or missing", f'{name} = "…"')
        return value.strip()

    def _check_confirmed(self, said: str) -> None:
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

    def _rows(self) -> Iterator[tuple[int, dict[str, Any]]]:
        rows = self.raw.get("rows")
        if not isinstance(rows, list) or not rows:
            self.note((self.key, "rows"), "no rows", "rows = [ { … }, … ]")
            return
        for place, row in enumerate(rows):
            if isinstance(row, dict):
                yield place, row
            else:
                self.note((self.key, "rows", place), "not a row", "{ … }", row)

    def _number(
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

    def _unknown(self, place: int, row: dict[str, Any], known: tuple[str, ...]) -> None:
        for name in row:
            if name not in known:
                self.note(
                    (self.key, "rows", place, name), "no such key", "one of " + ", ".join(known)
                )

    def _lots(self) -> Iterator[LotRow]:
        """Read rows by lot size; no gap, no overlap, the last one without an upper end or with."""
        expected_from: int | None = None
        listed = list(self._rows())
        for place, row in listed:
            self._unknown(place, row, ("from", "to", *self.columns))
            first = int(self._number(place, row, "from", whole=True))
            last = int(self._number(place, row, "to", whole=True)) if "to" in row else None
            self._follows(place, first, expected_from)
            if last is None and place != len(listed) - 1:
                self.note((self.key, "rows", place), "no upper end before the last row", "to = …")
            if last is not None and last < first:
                self.note(
                    (self.key, "rows", place, "to"), "below its from", f"{first} or more", last
                )
            expected_from = None if last is None else last + 1
            every = row.get("n") == "all"
            n = None if every else int(self._number(place, row, "n", whole=True, most=1e5))
            if n == 0 or (n is not None and n > first > 0):
                self.note(
                    (self.key, "rows", place, "n"), "not so many in the lot", f"1 to {first}", n
                )
            terms = {
                name: self._number(place, row, name, whole=name != "factor", most=1e5)
                for name in self.columns
                if name != "n"
            }
            accept = int(terms.get("accept", 0))
            reject = int(terms.get("reject", accept + 1))
            if reject <= accept:
                self.note(
                    (self.key, "rows", place, "reject"), "not above accept", f"{accept + 1}", reject
                )
            found = LotRow(
                first, last, n, terms.get("factor", 0.0), accept, reject,
                int(terms.get("n_second", 0)), int(terms.get("accept_second", 0)),
            )  # fmt: skip
            self._second(place, found)
            yield found

    def _second(self, place: int, row: LotRow) -> None:
        """See that a second drawing goes on where the first one leaves a lot open."""
        if "n_second" not in self.columns:
            return
        where = (self.key, "rows", place)
        if row.n is not None and not row.n < row.n_second <= max(row.lot_from, row.n + 1):
            said = f"{row.n + 1} to {row.lot_from}, both drawings together"
            self.note((*where, "n_second"), "not so many in two drawings", said, row.n_second)
        if row.accept_second < row.reject - 1:
            said = f"{row.reject - 1} or more"
            self.note((*where, "accept_second"), "below what was drawn again for", said,
                      row.accept_second)  # fmt: skip

    def _follows(self, place: int, first: int, expected: int | None) -> None:
        if expected is not None and first != expected:
            what = "a gap between rows" if first > expected else "rows that overlap"
            self.note((self.key, "rows", place, "from"), what, str(expected), first)

    def _bands(self) -> Iterator[Band]:
        """Read rows by declaration; each begins where the one before it ends."""
        before: float | None = 0.0
        listed = list(self._rows())
        for place, row in listed:
            self._unknown(place, row, ("over", "to", "amount", "percent"))
            over = self._number(place, row, "over")
            to = self._number(place, row, "to") if "to" in row else None
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
            amount = self._number(place, row, "amount") if "amount" in row else None
            percent = self._number(place, row, "percent", most=100) if "percent" in row else None
            yield Band(over, to, amount, percent)

    def _values(self) -> dict[str, float]:
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
