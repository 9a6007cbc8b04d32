"""Files that other commands read too: events with times of day only, and weighings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.ingest.events_csv import MARKS, event_object, part, plain_name
from clew.ledger.ingest.events_jsonl import ENDINGS, read_object
from clew.ledger.ingest.readings import EVENT_ROWS, Reading, row_key
from clew.ledger.ingest.rows import FoundRow, raw_lines
from clew.quantities import LENGTH, read_quantity

TRACKER_COLUMNS = ("at", "lane", "event", "counts", "metres", "ball", "name", "id")
"""Columns of the file that ``clew line where`` reads."""
WEIGHED = ("mass_g", "gross_g", "length_m")
"""Columns of a file of weighings that say what was found."""
_NOTED = ("group", "cone", "regain_frac", "since_dryer_min", "tension_cn")
_SAME = ("lane", "counts", "metres", "ball", "name")
_DAY_S = 86_400.0
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d(?:\.\d{1,6})?))?", re.ASCII)
_WHOLE = re.compile(r"\d{1,9}", re.ASCII)


def clock_s(text: str) -> float | None:
    """Read a time of day, such as 05:52:07, into seconds after midnight; None where it is none."""
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        return None
    hours, minutes, seconds = found.groups()
    return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds or 0.0)


def on_day(day: date, after_s: float) -> str:
    """Write what the mill's clock shows some seconds after a day's midnight.

    Parameters
    ----------
    day : date
        The day.
    after_s : float
        Seconds as the clock counts them, also of days before and after [s].
    """
    micro = round(after_s * 1e6)
    days, rest = divmod(micro, 86_400_000_000)
    whole, part_us = divmod(rest, 1_000_000)
    clock = f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{day + timedelta(days=days)}T{clock}" + (f".{part_us:06d}" if part_us else "")


class _Clocks:
    """Times of day that run past midnight: each lies within 12 h of the one before."""

    def __init__(self, day: date | None) -> None:
        self.day = day
        self.beside_s: float | None = None

    def moment(self, text: str, key: str) -> str:
        """Give the moment that a cell means; a whole one stays as it is."""
        found_s = clock_s(text)
        if found_s is None:
            return text
        if self.day is None:
            raise BadInput(Fault("a time of day without its day", "--day 2026-11-25", key=key))
        if self.beside_s is not None:
            found_s += _DAY_S * round((self.beside_s - found_s) / _DAY_S)
        self.beside_s = found_s
        return on_day(self.day, found_s)


def _plain_cells(cells: Mapping[str, str], comma: bool) -> dict[str, Any]:
    return dict(cells) | ({"comma": True} if comma else {})


class TrackerRows:
    """Rows with the columns of `TRACKER_COLUMNS`.

    Parameters
    ----------
    day : date or None
        Day of the first time of day in the file.
    """

    columns = TRACKER_COLUMNS
    needs: tuple[str, ...] = ("event", "at")
    shape = staticmethod(_plain_cells)
    from_top = True

    def __init__(self, day: date | None) -> None:
        self.day = day
        self.clocks = _Clocks(day)

    def fresh(self) -> TrackerRows:
        """Begin a file."""
        return TrackerRows(self.day)

    def messages(self, row: FoundRow, sender: Sender) -> list[Message]:
        """Make the message of a row: event becomes kind, id becomes key."""
        cells, comma = _texts(row)
        unknown = sorted(set(cells) - set(TRACKER_COLUMNS))
        if unknown:
            raise BadInput(Fault("no such field", f"one of {', '.join(TRACKER_COLUMNS)}",
                                 key=unknown[0][:60]))  # fmt: skip
        kind = " ".join(re.sub(r"[\s_-]+", " ", cells.get("event", "")).casefold().split())
        kind = "retie" if kind == "re tie" else kind
        flat = {"kind": kind}
        flat |= {key: cells[key] for key in _SAME if key in cells}
        found = event_object(flat, comma)
        if isinstance(found.get("metres"), str):
            found["metres"] = _metres(found["metres"])
        if kind == "colour" and "name" in found:
            found["lot"] = found["name"]  # the tracker's file names what comes on, no more
        if "at" in cells:
            found["at"] = self.clocks.moment(cells["at"], "at")
        found["key"] = cells.get("id") or row_key(row.key_line, found)
        return [read_message(found, sender)]


class WeighingRows:
    """Rows of a file of weighings: each a weighing, a length check, or both.

    Parameters
    ----------
    day : date or None
        Day of the first time of day in the file, where it writes no dates.
    lanes : mapping of str to int
        Lane by winder's number, from the mill file.
    """

    shape = staticmethod(_plain_cells)
    needs: tuple[str, ...] = ("time",)
    from_top = True

    def __init__(self, day: date | None, lanes: Mapping[str, int]) -> None:
        from clew.ledger.intake.weighings_lines import FILE_COLUMNS

        self.columns: tuple[str, ...] = FILE_COLUMNS
        self.day, self.lanes = day, lanes
        self.clocks = _Clocks(day)

    def fresh(self) -> WeighingRows:
        """Begin a file."""
        return WeighingRows(self.day, self.lanes)

    def messages(self, row: FoundRow, sender: Sender) -> list[Message]:
        """Make the messages of a row."""
        cells, comma = _texts(row)
        faults: list[Fault] = []
        told = self._numbers(cells, comma, faults)
        unknown = sorted(set(cells) - set(self.columns))
        if unknown:
            faults.append(Fault("no such field", f"one of {', '.join(self.columns)}",
                                key=unknown[0][:60]))  # fmt: skip
        head: dict[str, Any] = {}
        try:
            head["at"] = self.clocks.moment(cells.get("time", ""), "time")
        except BadInput as bad:
            faults += bad.faults
        if clock_s(cells.get("time", "")) is None and not re.match(r"\d{4}-", head.get("at", "")):
            faults.append(Fault("no moment", "2026-11-25T10:15:30, or 10:15:30 and --day",
                                key="time", value=cells.get("time", "")[:60]))  # fmt: skip
        head["lane"] = self._lane(cells, faults)
        if faults:
            raise BadInput(faults)
        head |= {key: cells[name] for key, name in (("lot", "lot"), ("token", "ball"))
                 if name in cells}  # fmt: skip
        note = ", ".join(f"{name} {cells[name]}" for name in _NOTED if name in cells)
        if note:
            head["note"] = note
        key = row_key(row.key_line, cells)
        found = []
        gross, tare = told.get("gross_g"), told.get("tare_g")
        mass = told.get("mass_g")
        if mass is None and gross is not None:
            mass = round(gross - tare, 6) if tare is not None else gross
        if mass is not None:
            whole = "mass_g" not in told and tare is None
            found.append(head | {"kind": "weighing", "mass_g": mass, "key": f"{key} mass"}
                         | ({"gross": True} if whole else {}))  # fmt: skip
        if "length_m" in told:
            found.append(head | {"kind": "length check", "length_m": told["length_m"],
                                 "key": f"{key} length"})  # fmt: skip
        if not found:
            raise BadInput(Fault("neither mass nor length", "one of " + ", ".join(WEIGHED)))
        return [read_message(one, sender) for one in found]

    @staticmethod
    def _numbers(cells: Mapping[str, str], comma: bool, faults: list[Fault]) -> dict[str, float]:
        from clew.ledger.intake.weighings_columns import COLUMNS, NumberReader

        told = {}
        for name in COLUMNS:
            if name in cells:
                try:
                    told[name] = NumberReader(name, comma).cell(cells[name].strip())
                except BadInput as bad:
                    faults += [replace(one, key=name) for one in bad.faults]
        return told

    def _lane(self, cells: Mapping[str, str], faults: list[Fault]) -> int:
        lane, winder = cells.get("lane", "").strip(), cells.get("winder", "").strip()
        if _WHOLE.fullmatch(lane):
            return int(lane)
        if not lane and winder in self.lanes:
            return self.lanes[winder]
        names = ", ".join(self.lanes)
        key, value = ("lane", lane) if lane else ("winder", winder)
        expected = f"a lane, or a winder of the line: {names}"
        faults.append(Fault("no lane", expected, key=key, value=value[:60]))
        return 0


def _texts(row: FoundRow) -> tuple[dict[str, str], bool]:
    """Give a row's filled cells as texts, whichever kind of file they come from."""
    assert row.found is not None
    comma = row.found.get("comma") is True
    return {
        key: str(value)[:2_000]
        for key, value in row.found.items()
        if value is not None and str(value).strip() and not (key == "comma" and value is True)
    }, comma


def _metres(text: str) -> Any:
    """Read a length with its unit; what is none stays as it is, and is refused with its words."""
    try:
        return read_quantity(text, LENGTH)
    except BadInput:
        return text


def reading_for(path: Path, *, day: date | None, lanes: Mapping[str, int]) -> Reading:
    """Tell by its heading, or its first object, what form of file it is.

    Parameters
    ----------
    path : Path
        The file.
    day : date or None
        Day of its first time of day.
    lanes : mapping of str to int
        Lane by winder's number.

    Returns
    -------
    Reading
        For `clew.ledger.ingest.files.take_file`.

    Raises
    ------
    BadInput
        When it cannot be read, or its times of day have no day.
    """
    try:
        with path.open("rb") as file:
            first = next((one.text for one in raw_lines(file, 0, 1) if one.text.strip()), b"")
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", "a file", str(path), value=str(error.strerror))
        ) from None
    names = _names(first, json_lines=path.suffix.casefold() in ENDINGS)
    if "kind" in names:
        return EVENT_ROWS
    if {"at", "event"} <= names:
        if day is None:
            raise BadInput(
                Fault("times of day without their day", "--day 2026-11-25", file=str(path))
            )
        return TrackerRows(day)
    if names & {plain_name(one) for one in WEIGHED}:
        if "time" not in names:
            raise BadInput(Fault("weighings without times", "a column time", file=str(path)))
        return WeighingRows(day, lanes)
    return EVENT_ROWS


def _names(first: bytes, *, json_lines: bool) -> set[str]:
    try:
        if json_lines:
            return {plain_name(key) for key in read_object(first)}
        text = first.decode()
        ways = [part(text, mark) or [] for mark in MARKS]
    except ValueError:
        return set()
    return {plain_name(cell) for cells in ways for cell in cells}
