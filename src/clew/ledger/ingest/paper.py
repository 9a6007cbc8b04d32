"""What stood on a numbered paper sheet while the tablet was dead, typed in later.

A sheet is called ``T-251125-1``: its day, and its number on that day. The number says the line's
place in the mill file (hundreds), the shift (tens) and which of that shift's sheets it is, so that
no list of sheets is needed; a row typed in twice changes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.ingest.events_csv import EVENT_COLUMNS, event_object, plain_name
from clew.ledger.ingest.from_line_files import clock_s, on_day
from clew.ledger.ingest.rows import FoundRow

FROM_PAPER = "from paper"
"""Flag of an event that was typed in from a sheet."""
SPREAD = "spread over its hour"
"""Flag of an event of which the sheet has only a tally: its minute is made up."""
TALLIED = ("tie", "retie", "doff", "pulled")
"""Kinds of which a sheet may have a tally."""
MOST_SHEETS = 9
"""Sheets of one line and shift."""
_OF_SHEET = ("line", "source", "key", "author")
_MOST_TALLY = 500
_HOUR_S = 3_600.0
_DAY_S = 86_400.0
_CODE = re.compile(r"T-(\d{2})(\d{2})(\d{2})-(\d{1,4})", re.ASCII | re.IGNORECASE)
_WHOLE = re.compile(r"\d{1,9}", re.ASCII)
_ROW = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,30}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Which sheet it is.

    Attributes
    ----------
    day : date
        Day on which its shift began.
    number : int
        Its number on that day.
    """

    day: date
    number: int

    @property
    def code(self) -> str:
        """What is printed on it."""
        return f"T-{self.day:%y%m%d}-{self.number}"

    @property
    def line_place(self) -> int:
        """Place of its line in the mill file, from 0."""
        return self.number // 100

    @property
    def shift_place(self) -> int:
        """Place of its shift among the mill's, from 0."""
        return self.number % 100 // 10


def sheet_of(day: date, line_place: int, shift_place: int, number: int) -> Sheet:
    """Number a sheet.

    Parameters
    ----------
    day : date
        Day on which the shift began.
    line_place, shift_place : int
        Places of line and shift, from 0.
    number : int
        Which of that shift's sheets, 1 to 9.
    """
    if not 1 <= number <= MOST_SHEETS:
        raise BadInput(Fault("too many sheets", f"1 to {MOST_SHEETS}", value=str(number)))
    return Sheet(day, 100 * line_place + 10 * shift_place + number)


def read_sheet(text: str) -> Sheet:
    """Read a sheet's code.

    Raises
    ------
    BadInput
        When it is none.
    """
    found = _CODE.fullmatch(text.strip())
    try:
        if found is None:
            raise ValueError
        year, month, day, number = (int(one) for one in found.groups())
        return Sheet(date(2000 + year, month, day), number)
    except ValueError:
        raise BadInput(
            Fault("no number of a sheet", "such as T-251125-1", key="--sheet", value=text[:40])
        ) from None


class PaperRows:
    """Rows that were typed in from one sheet.

    Parameters
    ----------
    sheet : Sheet
        Which.
    shift_starts : sequence of str
        When the mill's shifts begin; a time before its shift's start is one of the next day.
    """

    columns = ("row", "count", "who", *(one for one in EVENT_COLUMNS if one not in _OF_SHEET))
    needs: tuple[str, ...] = ("row", "kind", "at")
    shape = staticmethod(event_object)
    from_top = False

    def __init__(self, sheet: Sheet, shift_starts: Sequence[str]) -> None:
        self.sheet = sheet
        starts = [clock_s(one) or 0.0 for one in shift_starts]
        place = sheet.shift_place
        self.start_s = starts[place] if place < len(starts) else 0.0

    def fresh(self) -> PaperRows:
        """Begin a file."""
        return self

    def messages(self, row: FoundRow, sender: Sender) -> list[Message]:
        """Make the messages of a typed row: one, or as many as its tally says.

        Raises
        ------
        BadInput
            Everything that is wrong with it.
        """
        found = dict(row.found or {})
        name, who = str(found.pop("row", "")).strip(), str(found.pop("who", "")).strip()
        faults = []
        if not _ROW.fullmatch(name):
            faults.append(
                Fault("no row of the sheet", "such as 7, or B3 tie 1", key="row", value=name[:40])
            )
        said = found.pop("count", None)
        count = self._count(said, str(found.get("kind", "")), faults)
        clock = clock_s(str(found.get("at", "")))
        if count and clock is None:
            faults.append(Fault("a tally without its hour", "such as 07:00", key="at"))
        if faults:
            raise BadInput(faults)
        moments = [] if clock is None else self._moments(clock, count)
        made = []
        for place, at in enumerate(moments or [found.get("at")], start=1):
            key = f"{self.sheet.code}/{' '.join(name.split())}" + (f".{place}" if count else "")
            of_sheet = replace(sender, source=f"paper/{self.sheet.code}", key=key)
            message = read_message(found | {"at": at}, of_sheet)
            made.append(_noted(message, self.sheet.code, name, who, spread=bool(count)))
        return made

    def _count(self, said: Any, kind: str, faults: list[Fault]) -> int:
        if said is None:
            return 0
        text = str(said).strip()
        if plain_name(kind) not in TALLIED:
            faults.append(
                Fault("a tally of this kind", f"one of {', '.join(TALLIED)}", key="count")
            )
        elif not (_WHOLE.fullmatch(text) and 1 <= int(text) <= _MOST_TALLY):
            faults.append(Fault("no tally", f"1 to {_MOST_TALLY}", key="count", value=text[:40]))
        else:
            return int(text)
        return 0

    def _moments(self, clock: float, count: int) -> list[str]:
        start = clock + (_DAY_S if clock < self.start_s else 0.0)
        if not count:
            return [on_day(self.sheet.day, start)]
        return [
            on_day(self.sheet.day, start + round((place + 0.5) * _HOUR_S / count))
            for place in range(count)
        ]


def _noted(message: Message, code: str, row: str, who: str, *, spread: bool) -> Message:
    """Say on an event that it was typed in from paper, and who wrote it there."""
    written = f"sheet {code}, row {row}" + (f", written by {who[:80]}" if who else "")
    said = message.body.get("note")
    note = f"{said} ({written})" if said else written
    flags = (*message.flags, FROM_PAPER, *((SPREAD,) if spread else ()))
    return replace(message, body={**message.body, "note": note}, flags=flags)
