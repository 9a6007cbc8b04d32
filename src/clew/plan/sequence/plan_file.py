"""The plan as a CSV file, and reading it back as the present plan."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.plan.csv_rows import heading_faults, rows_of
from clew.plan.sequence.from_mill import PresentRun

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.sequence.timed_run import TimedRun

COLUMNS = ("line", "place", "run", "order", "ball", "lot", "start", "end")
MUST = ("line", "place", "run", "start")
MOST_RUNS = 10_000
MOST_FAULTS = 200
_LONGEST_NAME = 120


def plan_csv(timed: Sequence[TimedRun]) -> str:
    """Write a plan as CSV, a row a run.

    Parameters
    ----------
    timed : sequence of TimedRun
        The runs, by line and in time.

    Returns
    -------
    str
        Times by the mill's clock to the minute, each with its offset from UTC.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    places: dict[str, int] = {}
    for one in timed:
        place = places[one.line_name] = places.get(one.line_name, 0) + 1
        run = one.run
        writer.writerow(
            (
                one.line_name,
                place,
                run.name,
                run.order_number,
                run.ball_name,
                run.lot_name,
                one.start.isoformat(timespec="minutes"),
                one.end.isoformat(timespec="minutes"),
            )
        )
    return out.getvalue()


def present_from_csv(text: str, mill: Mill, *, file: str = "") -> tuple[PresentRun, ...]:
    """Read the present plan off the text of a CSV file.

    Parameters
    ----------
    text : str
        A heading, then a row a run, parted by commas or semicolons: ``line``, ``place``, ``run``
        and ``start``; the other columns of `plan_csv` may stand there.
    mill : Mill
        The mill whose lines they name, and whose clock a time without an offset is by.
    file : str
        The file's name, for the faults.

    Returns
    -------
    tuple of PresentRun
        In the order of the file.

    Raises
    ------
    BadInput
        Every fault at once, with file, line and column.
    """
    rows = list(rows_of(text.removeprefix("\ufeff"), file))
    if not rows:
        raise BadInput(
            Fault(
                say("an empty file"),
                say("a heading with {columns}", columns=joined(", ", MUST)),
                file=file,
            )
        )
    (head_line, first), *others = rows
    head = [cell.strip().casefold() for cell in first]
    wrong_head = heading_faults(head, MUST, COLUMNS, file, head_line)
    if wrong_head:
        raise BadInput(wrong_head[:MOST_FAULTS])
    if not others:
        raise BadInput(Fault(say("no runs"), say("a row under the heading"), file, head_line))
    if len(others) > MOST_RUNS:
        raise BadInput(Fault(say("too many runs"), say("at most {most}", most=MOST_RUNS), file))
    faults: list[Fault] = []
    found: list[PresentRun] = []
    runs: dict[str, int] = {}
    places: dict[tuple[str, int], int] = {}
    for line, row in others:
        if len(row) > len(head):
            faults.append(
                Fault(
                    say("more cells than columns"),
                    say("{n} cells", n=len(head)),
                    file,
                    line,
                    value=str(len(row)),
                )
            )
            continue
        cells = dict.fromkeys(COLUMNS, "")
        cells |= {name: cell.strip() for name, cell in zip(head, row, strict=False)}
        wrong, one = _read(cells, mill, file, line)
        if cells["run"]:
            if cells["run"].casefold() in runs:
                what = say(
                    "a run that stands twice, first in line {line}",
                    line=runs[cells["run"].casefold()],
                )
                wrong.append(_fault(what, say("each run once"), file, line, "run", cells["run"]))
            runs.setdefault(cells["run"].casefold(), line)
        if one is not None:
            at = (one.line_name, one.place)
            if at in places:
                what = say(
                    "a place of {line_name} taken twice, first in line {line}",
                    line_name=one.line_name,
                    line=places[at],
                )
                wrong.append(
                    _fault(what, say("each place once"), file, line, "place", cells["place"])
                )
            places.setdefault(at, line)
            found.append(one)
        faults += wrong
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return tuple(found)


def _read(
    cells: dict[str, str], mill: Mill, file: str, line: int
) -> tuple[list[Fault], PresentRun | None]:
    wrong = []
    line_name = ""
    if cells["line"]:
        try:
            line_name = mill.find_line(cells["line"]).name
        except BadInput as bad:
            expected = bad.faults[0].expected
            wrong.append(_fault(say("no such line"), expected, file, line, "line", cells["line"]))
    else:
        wrong.append(_fault(say("an empty cell"), say("a line"), file, line, "line", ""))
    name = cells["run"]
    if not name or len(name) > _LONGEST_NAME or not name.isprintable():
        expected = say("a run's name, at most {most} plain characters", most=_LONGEST_NAME)
        wrong.append(_fault(say("no run"), expected, file, line, "run", name))
    place = int(cells["place"]) if re.fullmatch(r"[0-9]{1,6}", cells["place"]) else 0
    if place < 1:
        expected = say("a whole number from 1")
        wrong.append(_fault(say("no place"), expected, file, line, "place", cells["place"]))
    start = _moment(cells["start"], mill)
    if start is None:
        expected = say("such as 2026-11-30T06:00")
        wrong.append(_fault(say("no moment"), expected, file, line, "start", cells["start"]))
    if cells["end"]:
        end = _moment(cells["end"], mill)
        if end is None or (start is not None and end.timestamp() < start.timestamp()):
            expected = say("a moment such as 2026-11-30T14:00, not before the start")
            wrong.append(_fault(say("no end"), expected, file, line, "end", cells["end"]))
    if wrong or start is None:
        return wrong, None
    return wrong, PresentRun(name, line_name, place, start)


def _moment(text: str, mill: Mill) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
        if not 2000 <= moment.year <= 2199:
            return None
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(mill.mill.time_zone))


def _fault(what: str, expected: str, file: str, line: int, key: str, value: str) -> Fault:
    return Fault(what, expected, file, line, key=key, value=repr(value[:40]))
