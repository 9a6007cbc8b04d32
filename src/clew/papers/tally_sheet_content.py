"""The words of a tally sheet: what hands write down while the tablet is dead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from clew import __version__
from clew.languages import day as day_of
from clew.languages import say, whole_weekday
from clew.ledger.ingest.paper import Sheet
from clew.papers.paper_data import Paper

LANES_ON_SIDE = 6
"""Lanes side by side that a gloved hand still finds the boxes of."""
LOG_ROWS = 12
"""Numbered rows for cones, stops and all else."""
TAKES = "clew ledger take"

MARKS = (
    (say("tied"), say("minute")),
    (say("break"), say("minute")),
    (say("doff"), say("strokes")),
    (say("pulled"), say("minute")),
)
"""What a box is for, and what is written into it."""


@dataclass(frozen=True, slots=True)
class TallyContent:
    """Everything that stands on a tally sheet, in reading order.

    Attributes
    ----------
    paper : {"A4", "Letter"}
        Sheet to print on, lying.
    title : str
        Title of the document.
    mill_name, line_name, day, shift : str
        Whose it is, and for when.
    codes : tuple of str
        Numbers of the sheets, one after another.
    lanes : tuple of tuple of str
        Lanes, side by side on one side of paper.
    hours : tuple of (str, str)
        Letter of each hour, and when it begins.
    marks : tuple of (str, str)
        What a box is for, and what is written into it.
    who : str
        Head of the places for the hands' names.
    how : tuple of str
        How the boxes are filled.
    log_title : str
        What stands over the numbered rows.
    log_columns : tuple of str
        Their heads.
    log_ticks : tuple of str
        What is ticked in each row.
    log_rows : int
        How many there are.
    checks : tuple of str
        Looks over the line, each with a place.
    after_title : str
        What stands over what is done with the sheet.
    after : tuple of str
        What is done with it.
    footer : str
        What it was made by.
    """

    template: ClassVar[str] = "tally_sheet"

    paper: Paper
    title: str
    mill_name: str
    line_name: str
    day: str
    shift: str
    codes: tuple[str, ...]
    lanes: tuple[tuple[str, ...], ...]
    hours: tuple[tuple[str, str], ...]
    marks: tuple[tuple[str, str], ...]
    who: str
    how: tuple[str, ...]
    log_title: str
    log_columns: tuple[str, ...]
    log_ticks: tuple[str, ...]
    log_rows: int
    checks: tuple[str, ...]
    after_title: str
    after: tuple[str, ...]
    footer: str


def tally_content(
    mill_name: str,
    line_name: str,
    lanes: Sequence[int],
    sheets: Sequence[Sheet],
    shift_starts: Sequence[str],
    *,
    paper: Paper = "A4",
) -> TallyContent:
    """Arrange tally sheets of one line and shift.

    Parameters
    ----------
    mill_name, line_name : str
        Whose they are.
    lanes : sequence of int
        The line's lanes.
    sheets : sequence of Sheet
        Their numbers, at least one; all of one day and shift.
    shift_starts : sequence of str
        When the mill's shifts begin.
    paper : {"A4", "Letter"}
        Sheet to print on.
    """
    day: date = sheets[0].day
    place = sheets[0].shift_place % len(shift_starts)
    start, end = shift_starts[place], shift_starts[(place + 1) % len(shift_starts)]
    shown = [str(lane) for lane in lanes]
    sides = -(-len(shown) // LANES_ON_SIDE)
    wide = -(-len(shown) // sides)
    return TallyContent(
        paper=paper,
        title=say(
            "Tally sheet – {line_name} – {day} – {start}",
            line_name=line_name,
            day=day_of(day),
            start=start,
        ),
        mill_name=mill_name,
        line_name=line_name,
        day=whole_weekday(day),
        shift=say("{start} to {end}", start=start, end=end),
        codes=tuple(one.code for one in sheets),
        lanes=tuple(tuple(shown[at : at + wide]) for at in range(0, len(shown), wide)),
        hours=_hours(start, end),
        marks=MARKS,
        who=say("Who"),
        how=(
            say(
                "Tie, break, pulled: write the minute, one under the other. Doff: one "
                "stroke a ball."
            ),
            say("Nothing happened: leave the box empty. A wrong mark: strike it out, do not rub."),
        ),
        log_title=say("Cones, stops and all else: one row each"),
        log_columns=(
            say("Row"),
            say("Time"),
            say("Lane"),
            say("What: ring one"),
            say("Cone"),
            say("Dye lot"),
            say("Reason, or what was seen"),
            say("Who"),
        ),
        log_ticks=(say("cone on"), say("cone off"), say("stop"), say("go on"), say("other")),
        log_rows=LOG_ROWS,
        checks=(say("Start-up looked over"), say("Shut-down looked over")),
        after_title=say("After"),
        after=(
            say("Give the sheet to the lead at the end of the shift, filled or not."),
            say(
                "The lead types it in and takes it: {takes} FILE.csv --sheet with the "
                "number above --by NAME. A row typed twice counts once.",
                takes=TAKES,
            ),
            say(
                "Write the lead's name and the time here, and keep the sheet with the run's papers."
            ),
        ),
        footer=say("Clew {version__}", version__=__version__),
    )


def _hours(start: str, end: str) -> tuple[tuple[str, str], ...]:
    """Part a shift into hours, each with its letter; a shift may run past midnight."""
    first, last = (60 * int(one[:2]) + int(one[3:]) for one in (start, end))
    minutes = (last - first) % 1440 or 1440
    return tuple(
        (chr(ord("A") + place), f"{(first // 60 + place) % 24:02d}:{first % 60:02d}")
        for place in range(-(-minutes // 60))
    )
