"""Reading what a line reported: a CSV file that people and machines write, or JSON lines."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import LARGEST_BYTES, MOST_FAULTS, placed, read_rows
from clew.line.tracker.events import KINDS, NEEDS_VALUE, TIES, WHOLE_LINE, Event, Kind
from clew.quantities import LENGTH, read_quantity

if TYPE_CHECKING:
    from clew.ball.counter import Counter

COLUMNS = {
    "at": True, "lane": False, "event": True, "counts": False, "metres": False, "ball": False,
    "name": False, "id": False,
}  # fmt: skip
"""Columns, and whether each row must fill them."""
IN_METRES: tuple[Kind, ...] = ("feed", *TIES, "waste", "content")
IN_COUNTS: tuple[Kind, ...] = ("turns", "doff", "seen", "dry", "full")
DAY_S = 86_400.0
_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])(?::([0-5][0-9](?:\.[0-9]{1,6})?))?")
_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,9})?")
_WHOLE = re.compile(r"[0-9]{1,9}")

Row = tuple[int, dict[str, str]]


def read_clock(text: str) -> float:
    """Read a time of day such as ``05:52`` or ``05:52:07.5`` into seconds after midnight.

    Raises
    ------
    BadInput
        When it is none.
    """
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        raise BadInput(Fault("no time of day", "such as 05:52:07", value=repr(text)))
    hours, minutes, seconds = found.groups()
    return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds or 0.0)


def near(clock_s: float, beside_s: float) -> float:
    """Put a time of day [s] on the day that brings it within 12 h of another time [s]."""
    return clock_s + DAY_S * round((beside_s - clock_s) / DAY_S)


def show_clock(at_s: float) -> str:
    """Write seconds on the events' clock as a time of day."""
    whole = round(at_s) % 86_400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def read_events(path: Path, counters: Mapping[int, Counter]) -> list[Event]:
    """Read the events of a line.

    Parameters
    ----------
    path : Path
        A CSV file with the columns of `COLUMNS`, or one JSON object a line with the same keys
        where its name ends in ``.jsonl``.
    counters : mapping of int to Counter
        Each lane's counter: a file says what counters show, events hold flyer turns.

    Returns
    -------
    list of Event
        In the order of the file; seconds count from the midnight before its first row. A time of
        day is taken to be within 12 h of that of the row before.

    Raises
    ------
    BadInput
        Every faulty cell at once, with file, line and column.
    """
    rows = _json_rows(path) if path.suffix.casefold() == ".jsonl" else read_rows(path, COLUMNS)
    faults: list[Fault] = []
    events: list[Event] = []
    beside_s: float | None = None
    for line, cells in rows:
        if len(faults) >= MOST_FAULTS:
            break
        reading = _Row(path, line, cells, faults)
        event = reading.event(counters, beside_s)
        if event is not None:
            events.append(event)
            beside_s = event.at_s
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return events


class _Row:
    """One row while it is read: what is wrong goes to the faults, with its place."""

    def __init__(self, path: Path, line: int, cells: dict[str, str], faults: list[Fault]) -> None:
        self.path, self.line, self.cells, self.faults = path, line, cells, faults

    def wrong(self, column: str, what: str, expected: str) -> None:
        value = repr(self.cells[column]) if self.cells[column] else ""
        self.faults.append(placed(Fault(what, expected, value=value), self.path, self.line, column))

    def event(self, counters: Mapping[int, Counter], beside_s: float | None) -> Event | None:
        before = len(self.faults)
        kind = self.kind()
        at_s = self.at_s(beside_s)
        lane = self.lane(kind, counters)
        value = None
        if kind is not None and lane is not None:
            value = self.value(kind, counters.get(lane))
        ball = self.ball()
        if len(self.faults) > before or kind is None or at_s is None or lane is None:
            return None
        return Event(at_s, kind, lane, value, ball, self.cells["name"], self.cells["id"])

    def kind(self) -> Kind | None:
        wanted = re.sub(r"[\s_-]+", " ", self.cells["event"]).casefold()
        for kind in KINDS:
            if wanted in (kind, kind.replace("retie", "re tie")):
                return kind
        self.wrong("event", "no such event", f"one of {', '.join(KINDS)}")
        return None

    def at_s(self, beside_s: float | None) -> float | None:
        try:
            clock_s = read_clock(self.cells["at"])
        except BadInput as bad:
            self.faults.append(placed(bad.faults[0], self.path, self.line, "at"))
            return None
        return clock_s if beside_s is None else near(clock_s, beside_s)

    def lane(self, kind: Kind | None, counters: Mapping[int, Counter]) -> int | None:
        text = self.cells["lane"]
        if not text and kind in WHOLE_LINE:
            return 0
        if _WHOLE.fullmatch(text) and int(text) in counters:
            return int(text)
        self.wrong("lane", "no lane of the line", f"1 to {max(counters)}")
        return None

    def value(self, kind: Kind, counter: Counter | None) -> float | None:
        column = "metres" if kind in IN_METRES else "counts" if kind in IN_COUNTS else ""
        for other in ("metres", "counts"):
            if other != column and self.cells[other]:
                self.wrong(other, f'"{kind}" has no {other}', "an empty cell")
        if not column or not self.cells[column]:
            if kind in NEEDS_VALUE:
                self.wrong(column, f'"{kind}" without {column}', f"its {column}")
            return None
        text = self.cells[column]
        if _NUMBER.fullmatch(text):
            number = float(text)
            if column == "counts" and counter is not None:
                return counter.turns_of_counts(number)
            return number
        if column == "metres":
            try:
                return read_quantity(text, LENGTH)
            except BadInput as bad:
                self.faults.append(placed(bad.faults[0], self.path, self.line, column))
                return None
        self.wrong(column, "no counts", "a number of 0 or more")
        return None

    def ball(self) -> int | None:
        text = self.cells["ball"]
        if not text:
            return None
        if _WHOLE.fullmatch(text):
            return int(text)
        self.wrong("ball", "no number of a ball", "a whole number")
        return None


def _json_rows(path: Path) -> list[Row]:
    """Read JSON lines into the cells a CSV file would have."""
    file = str(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(
                Fault("too large a file", f"at most {LARGEST_BYTES // 1_000_000} MB", file)
            )
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(Fault("not UTF-8 text", "JSON lines in UTF-8", file)) from None
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", "JSON lines", file, value=str(error.strerror))
        ) from None
    rows: list[Row] = []
    faults: list[Fault] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            found: Any = json.loads(line)
        except (ValueError, RecursionError):
            found = None
        if not isinstance(found, dict):
            faults.append(Fault("no JSON object", 'such as {"at": "05:52", ...}', file, number))
            continue
        faults += [
            Fault("an unknown key", f"one of {', '.join(COLUMNS)}", file, number, "", str(key))
            for key in found
            if key not in COLUMNS
        ]
        cells = {
            name: "" if found.get(name) is None else str(found[name]).strip() for name in COLUMNS
        }
        rows.append((number, cells))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    if not rows:
        raise BadInput(Fault("an empty file", "one event a line", file))
    return rows
