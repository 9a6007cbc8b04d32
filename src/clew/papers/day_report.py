"""The report of a day on one page: planned, made, given away, corrected, decided, sent, traced."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from clew.languages import day as day_of
from clew.languages import figure, joined, say
from clew.ledger.events.moments import local_of
from clew.ledger.reports.day_figures import DayFigures, RunFigures
from clew.mill.model import Mill
from clew.papers.day_told import DayTold
from clew.papers.day_words import (
    DONE,
    back_words,
    caught_words,
    clock,
    given_words,
    headline,
    knots_words,
    ledger_words,
    lots_words,
    made_words,
    planned_words,
    sent_words,
    winders_words,
)
from clew.papers.paper_data import Paper, Row
from clew.papers.shift_report import ANCHOR_WORDS, Grid


@dataclass(frozen=True, slots=True)
class DayReportContent:
    """The texts of a day's report.

    Attributes
    ----------
    title, mill, headline : str
        What it is, whose, and the day in a sentence.
    paper : {"A4", "Letter"}
        Its size.
    rows : tuple of Row
        What there is to say, each under its own word.
    grid : Grid
        The runs.
    papers : Grid
        What was written, and where it lies.
    anchor, anchor_words : str
        Where the line's chain stood, and what that is good for.
    footer : str
        What stands under every page.
    """

    template: ClassVar[str] = "day_report"

    title: str
    mill: str
    headline: str
    paper: Paper
    rows: tuple[Row, ...]
    grid: Grid
    papers: Grid
    anchor: str
    anchor_words: str
    footer: str


def day_report_content(mill: Mill, found: DayFigures, told: DayTold) -> DayReportContent:
    """Arrange the report of a day, words first.

    Parameters
    ----------
    mill : Mill
        The mill.
    found : DayFigures
        The day as the ledger has it.
    told : DayTold
        What else there is to tell.

    Returns
    -------
    DayReportContent
        All of its texts.
    """
    zone = mill.mill.time_zone
    day = day_of(local_of(found.runs[0].from_us, zone)) if found.runs else say("no run")
    rows = [
        Row(say("Planned"), planned_words(found, told)),
        Row(say("Made"), made_words(found)),
        Row(say("Given away"), given_words(mill, found)),
        Row(say("Knots"), knots_words(found)),
        Row(say("Winders"), winders_words(found, zone)),
        Row(say("Caught"), caught_words(found, zone)),
        Row(say("Lots"), lots_words(found, told)),
        Row(say("Sent"), sent_words(found)),
        Row(say("Came back"), back_words(found, told)),
        Row(say("Ledger"), ledger_words(told)),
    ]
    return DayReportContent(
        say("One day on {line}: {day}", line=found.line, day=day),
        mill.mill.name,
        headline(found),
        mill.mill.paper,
        tuple(rows),
        _runs(found, zone),
        _papers(told),
        told.anchor,
        ANCHOR_WORDS if told.anchor else "",
        joined(" · ", (mill.mill.name, found.line, day)),
    )


def _runs(found: DayFigures, zone: str) -> Grid:
    columns = (
        say("Run"),
        say("Ball"),
        say("Dye lot"),
        say("From"),
        say("To"),
        say("Asked"),
        say("Banded"),
        say("Pulled"),
        say("Mean"),
        say("Above"),
        say("Cases"),
        say("Lot is"),
    )
    return Grid(
        say("Runs"), columns, tuple(_run_row(one, zone) for one in found.runs), say("None.")
    )


def _run_row(one: RunFigures, zone: str) -> tuple[str, ...]:
    return (
        one.run,
        one.ball,
        one.lot,
        clock(one.from_us, zone),
        clock(one.upto_us, zone),
        str(one.planned_balls),
        str(one.banded),
        str(one.second_quality),
        figure(f"{one.mean_g:.2f} g"),
        figure(f"{one.given_g / 1000.0:.2f} kg"),
        str(len(one.cases)),
        DONE.get(one.decision, "–"),
    )


def _papers(told: DayTold) -> Grid:
    """List the papers; many of one kind in one folder take one line."""
    places: dict[str, list[str]] = {}
    for words, place in told.papers:
        places.setdefault(words, []).append(place)
    rows = tuple(
        (
            words,
            found[0] if len(found) == 1 else say("{n}, from {found}", n=len(found), found=found[0]),
        )
        for words, found in places.items()
    )
    return Grid(
        say("Papers"),
        (say("Paper"), say("Where in the mill's folder")),
        rows,
        say("None was written."),
    )
