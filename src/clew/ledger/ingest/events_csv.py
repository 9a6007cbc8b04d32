"""Events in a CSV file, as RFC 4180 has it: heading, quoted cells, line ends inside quotes.

A row that is not well formed spoils its own first line and nothing else: reading goes on with the
line after, so that one quote left open does not swallow the rest of a file.
"""

from __future__ import annotations

import difflib
import re
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from typing import IO, Any

from clew.faults import BadInput, Fault
from clew.ledger.events.kinds import KINDS
from clew.ledger.events.reading import HEAD, NAMES
from clew.ledger.ingest.rows import LONGEST_ROW, FoundRow, RawLine, raw_lines

MARKS = (",", ";", "\t")
"""What may part columns."""
MOST_LINES = 200
"""Lines that one row may run over."""
QUARANTINE = ("quarantine_line", "quarantine_reason")
"""Columns of a quarantine file that say why a row is there; a mended one is taken with them."""

_ALL_FIELDS = {field.name: field.type for of in KINDS.values() for field in of.fields}
_BY_WINDER = {field.name for of in KINDS.values() for field in of.fields if field.type == "numbers"}
EVENT_COLUMNS: tuple[str, ...] = (*HEAD, *NAMES, *_ALL_FIELDS)
"""Columns that may stand in a file of events, beside those such as ``counts 1``."""

_NUMBER = re.compile(r"[+-]?(\d{1,20}(\.\d{0,20})?|\.\d{1,20})(e[+-]?\d{1,3})?", re.ASCII | re.I)
_WHOLE = re.compile(r"[+-]?\d{1,18}", re.ASCII)
_YES = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}
_NOT_CLOSED = "a quote that is not closed; expected the whole cell in quotes, quotes in it doubled"
_MIDDLE = "a quote in the middle of a cell; expected the whole cell in quotes, quotes in it doubled"
_NO_TEXT = "not UTF-8 text"
TOO_LONG = f"a row of more than {LONGEST_ROW} bytes"

Shape = Callable[[Mapping[str, str], bool], Mapping[str, Any]]
"""Makes values of a row's filled cells; the second says whether a decimal comma is read."""


def part(text: str, mark: str) -> list[str] | None:
    """Part a row into its cells.

    Parameters
    ----------
    text : str
        The row, without its line end.
    mark : str
        What parts columns.

    Returns
    -------
    list of str or None
        The cells, quotes taken off; None where a quote is still open at the end.

    Raises
    ------
    ValueError
        For a quote where there may be none.

    Notes
    -----
    Source: RFC 4180, section 2, rules 4 to 7.
    """
    if '"' not in text:
        return text.split(mark)
    cells: list[str] = []
    place = 0
    while True:
        if text.startswith('"', place):
            pieces: list[str] = []
            place += 1
            while True:
                close = text.find('"', place)
                if close < 0:
                    return None
                pieces.append(text[place:close])
                place = close + 1
                if not text.startswith('"', place):
                    break
                pieces.append('"')
                place += 1
            cells.append("".join(pieces))
            if place == len(text):
                return cells
            if text[place] != mark:
                raise ValueError(_MIDDLE)
            place += 1
        else:
            end = text.find(mark, place)
            cell = text[place:] if end < 0 else text[place:end]
            if '"' in cell:
                raise ValueError(_MIDDLE)
            cells.append(cell)
            if end < 0:
                return cells
            place = end + 1


def plain_name(name: str) -> str:
    """Write a column's name the one way it is compared: small letters, one space for a gap."""
    return " ".join(name.replace("_", " ").casefold().split())


def event_object(cells: Mapping[str, str], comma: bool) -> dict[str, Any]:
    """Make a flat message of a row's filled cells.

    Parameters
    ----------
    cells : mapping of str to str
        Cells by key; ``counts 1`` and the like for numbers by winder.
    comma : bool
        Whether numbers may have a decimal comma.

    Returns
    -------
    dict
        What `clew.ledger.events.reading.read_message` reads. A cell that is not what its field
        asks for stays a text, so that it is refused with what stood there.
    """
    of = KINDS.get(plain_name(cells.get("kind", "")))
    made: dict[str, Any] = {}
    for key, cell in cells.items():
        name, _, winder = key.partition(" ")
        if winder:
            made.setdefault(name, {})[winder] = _number(cell, comma)
            continue
        field = of.field(key) if of is not None else None
        kind_of = field.type if field is not None else _ALL_FIELDS.get(key, "text")
        if key in ("lane", "ball"):
            kind_of = "whole"
        elif field is None and (key in HEAD or key in NAMES):
            kind_of = "text"
        made[key] = _value(cell, kind_of, comma)
    return made


def _value(cell: str, kind_of: str, comma: bool) -> Any:
    if kind_of in ("number", "whole"):
        return _number(cell, comma)
    if kind_of == "yes":
        return _YES.get(cell.strip().casefold(), cell)
    if kind_of == "texts":
        return [one.strip() for one in cell.split("|") if one.strip()]
    return cell


def _number(cell: str, comma: bool) -> Any:
    text = cell.strip()
    if _WHOLE.fullmatch(text):
        return int(text)
    if comma and "." not in text:
        text = text.replace(",", ".", 1)
    return float(text) if _NUMBER.fullmatch(text) else cell


class CsvFile:
    """A CSV file whose heading has been read.

    Parameters
    ----------
    file : binary file
        Open for reading.
    name : str
        Its name, for faults.
    columns : sequence of str
        Keys that may stand in the heading; those of events where none are named.
    shape : callable
        Makes values of a row's cells.
    needs : sequence of str
        Columns that must be there.

    Raises
    ------
    BadInput
        When there is no heading, a column in it that no event has, or one missing.
    """

    def __init__(
        self,
        file: IO[bytes],
        name: str,
        columns: tuple[str, ...] = EVENT_COLUMNS,
        shape: Shape = event_object,
        needs: tuple[str, ...] = (),
    ) -> None:
        self.file, self.name, self.shape = file, name, shape
        first = next((one for one in raw_lines(file, 0, 1) if one.text.strip()), None)
        if first is None:
            raise BadInput(Fault("an empty file", "a heading and a row an event", file=name))
        self.heading = first.text
        self.start, self.first_line = first.end, first.number + 1
        self.mark, self.names = self._heading(first, columns, needs)

    def _heading(
        self, line: RawLine, columns: tuple[str, ...], needs: tuple[str, ...]
    ) -> tuple[str, tuple[str, ...]]:
        try:
            if line.too_long:
                raise ValueError(TOO_LONG)
            text = line.text.decode()
            tried = {mark: part(text, mark) for mark in MARKS if mark in text or mark == ","}
        except ValueError as error:
            why = _NO_TEXT if isinstance(error, UnicodeDecodeError) else str(error)
            raise BadInput(Fault(why, "a heading", file=self.name, line=line.number)) from None
        known = {plain_name(one): one for one in (*columns, *QUARANTINE)}
        ways = {
            mark: [_key(cell, known) for cell in cells]
            for mark, cells in tried.items()
            if cells is not None
        }
        if not ways:
            raise BadInput(Fault(_NOT_CLOSED, "a heading", file=self.name, line=line.number))
        mark = max(ways, key=lambda one: sum(key is not None for key in ways[one]))
        cells = tried[mark] or []
        faults = []
        seen: set[str] = set()
        for cell, key in zip(cells, ways[mark], strict=True):
            shown = " ".join(cell.split())[:60]
            if key is None:
                near = difflib.get_close_matches(plain_name(cell), known, 1)
                words = f"{known[near[0]]}?" if near else "one of " + ", ".join(columns)
                what = "a column without a name" if not shown else "no column of events"
                faults.append(Fault(what, words, self.name, line.number, key=shown))
            elif key in seen:
                faults.append(
                    Fault("a column that is there twice", "it once", self.name, line.number,
                          key=shown)
                )  # fmt: skip
            seen.add(key or "")
        faults += [
            Fault("a column is missing", "it in the heading", self.name, line.number, key=name)
            for name in needs
            if name not in seen and not faults
        ]
        if faults:
            raise BadInput(faults[:20])
        return mark, tuple(key or "" for key in ways[mark])

    def rows(self, start: int, line: int, *, growing: bool) -> Iterator[FoundRow]:
        """Give the rows from a place in the file on.

        Parameters
        ----------
        start : int
            Where the first begins [bytes].
        line : int
            Number of the line there.
        growing : bool
            Whether a last line without its end is left for later.

        Yields
        ------
        FoundRow
            Each with its values, or with why it cannot be read; empty rows are passed over.
        """
        source = raw_lines(self.file, start, line)
        waiting: deque[RawLine] = deque()
        while True:
            first = waiting.popleft() if waiting else next(source, None)
            if first is None or (growing and not first.ended):
                return
            if not first.text.strip(b" \t,;"):
                continue
            row, used, open_end = self._row(first, waiting, source)
            if open_end and growing:
                return
            for _ in range(used):
                waiting.popleft()
            if row is not None:
                yield row

    def _row(
        self, first: RawLine, waiting: deque[RawLine], source: Iterator[RawLine]
    ) -> tuple[FoundRow | None, int, bool]:
        """Read one row; say how many waiting lines it took, and whether the file ended in it."""
        if first.too_long:
            return _bad(first, TOO_LONG), 0, False
        texts, size, last, used = [first.text], len(first.text), first, 0
        cells: list[str] | None = None
        why = ""
        while cells is None and not why:
            if not used or b'"' in last.text:  # a line without a quote closes no cell
                try:
                    cells = part("\n".join(one.decode() for one in texts), self.mark)
                except ValueError as error:
                    why = _NO_TEXT if isinstance(error, UnicodeDecodeError) else str(error)
            if cells is not None or why:
                break
            more = waiting[used] if used < len(waiting) else next(source, None)
            if more is None:
                return _bad(first, _NOT_CLOSED), 0, True
            if used == len(waiting):
                waiting.append(more)
            size += len(more.text)
            if used + 1 >= MOST_LINES or size > LONGEST_ROW or more.too_long:
                return _bad(first, _NOT_CLOSED), 0, False
            texts.append(more.text)
            last, used = more, used + 1
        open_end = used > 0 and not last.ended
        if cells is not None and len(cells) != len(self.names):
            why = f"{len(cells)} cells; expected {len(self.names)}, as many as the heading has"
        if cells is None or why:
            return _bad(first, why), 0, open_end
        filled = {
            key: cell
            for key, cell in zip(self.names, cells, strict=True)
            if cell.strip() and key not in QUARANTINE
        }
        if not filled:
            return None, used, open_end
        found = self.shape(filled, self.mark == ";")
        said = dict(zip(self.names, cells, strict=True)).get(QUARANTINE[0], "")
        row = FoundRow(
            first.number, first.start, last.end, last.ended, found, "", b"\n".join(texts),
            line_of_key(said, first.number),
        )  # fmt: skip
        return row, used, open_end


def line_of_key(said: object, line: int) -> int:
    """Give the line that a row's key is made with: what a quarantine file says, or its own."""
    text = str(said).strip()
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 12 else line


def _key(cell: str, known: Mapping[str, str]) -> str | None:
    """Find what a heading's cell means: a key, or a field and a winder."""
    name = plain_name(cell)
    if name in known:
        return known[name]
    head, _, winder = name.rpartition(" ")
    base = known.get(head, "")
    if base in _BY_WINDER and winder.isascii() and winder.isdecimal() and len(winder) <= 4:
        return f"{base} {int(winder)}"
    return None


def _bad(line: RawLine, why: str) -> FoundRow:
    return FoundRow(line.number, line.start, line.end, line.ended, None, why, line.text)
