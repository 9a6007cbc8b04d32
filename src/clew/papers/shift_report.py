"""The report of a shift as a PDF: what was made, what stood and why, what to hand over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from clew.languages import figure, first_upper, joined, say
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.moments import local_of
from clew.ledger.ingest.by_hand import CHECK_WORDS, flag_words, said_again
from clew.ledger.reports.of_ledger import AnchoredReport
from clew.ledger.reports.shift_report import LaneOfShift, ShiftReport
from clew.mill.model import Mill
from clew.papers.floor_numbers import mass
from clew.papers.paper_data import told_moment
from clew.quantities import UnitSystem


@dataclass(frozen=True, slots=True)
class Grid:
    """A table: its heading, its columns, its rows, and what stands where there are none."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    none: str = ""


@dataclass(frozen=True, slots=True)
class ShiftReportContent:
    """The texts of a shift report.

    Attributes
    ----------
    title, mill, headline : str
        What it is, whose, and the shift in a sentence.
    paper : str
        A4 or Letter.
    grids : tuple of Grid
        Tables, in their order.
    notes : tuple of (str, str)
        Handover notes: from whom, and what.
    anchor : str
        Where the line's chain stood; empty where nothing was recorded.
    anchor_words : str
        What it is good for.
    signatures : tuple of str
        Who signs.
    footer : str
        What stands under every page.
    """

    template: ClassVar[str] = "shift_report"

    title: str
    mill: str
    headline: str
    paper: str
    grids: tuple[Grid, ...]
    notes: tuple[tuple[str, str], ...]
    anchor: str
    anchor_words: str
    signatures: tuple[str, ...]
    footer: str


ANCHOR_WORDS = say(
    "Keep this paper. Whoever changes, removes or adds a record up to that row "
    "later cannot keep the hash: clew ledger verify --anchor, with the line "
    "above, shows it."
)


def headline(report: ShiftReport) -> str:
    """Say a shift in a sentence."""
    if not report.events:
        return say("Nothing was recorded in this shift.")
    trial = (
        say(" ({of_trials} in a trial run, not for sale)", of_trials=report.of_trials)
        if report.of_trials
        else ""
    )
    words = say(
        "{doffed} balls taken off{trial}, {pulled} pulled out of first quality",
        doffed=report.doffed,
        trial=trial,
        pulled=report.pulled,
    )
    stood = sum(one.lasted_s for one in report.stands if one.lane == 0)
    words += (
        say("; the line was stopped for {minutes}", minutes=_minutes(stood))
        if stood
        else say("; the line was not stopped")
    )
    lanes = sum(one.lane != 0 for one in report.stands)
    return words + (
        say(", lanes {lanes} times.", lanes=lanes)
        if lanes > 1
        else say(", one lane once.")
        if lanes
        else "."
    )


def shift_report_content(
    anchored: AnchoredReport, mill: Mill, units: UnitSystem
) -> ShiftReportContent:
    """Arrange a shift's report.

    Parameters
    ----------
    anchored : AnchoredReport
        The report and its anchor.
    mill : Mill
        The mill.
    units : {"metric", "yard"}
        Units of masses.

    Returns
    -------
    ShiftReportContent
        Every text of it.
    """
    report = anchored.report
    winders = {one.lane: one.number for one in mill.find_line(report.line).winder}
    zone = mill.mill.time_zone
    anchor = ""
    if anchored.head_seq:
        anchor = anchor_at(report.line, anchored.head_seq, anchored.head_hash).text()
    so_far = report.upto_us < report.shift.upto_us
    grids = [
        _runs(report, zone),
        _lanes(report, winders),
        _weighed(report, winders, units),
        _stands(report, winders, zone),
        Grid(
            say("Pulled balls"),
            (say("Why"), say("Balls")),
            tuple((said_again(why), str(count)) for why, count in report.pulled_why),
            say("None was told."),
        ),
        Grid(
            say("Cases closed"),
            (say("Case"), say("Balls")),
            tuple((case, str(balls)) for case, balls in report.cases),
            say("None."),
        ),
        _checks(report, zone),
        Grid(
            say("What was odd about what was recorded"),
            (say("What"), say("Records")),
            (
                *((flag_words(what), str(count)) for what, count in report.odd),
                *(((say("corrected later"), str(report.corrected)),) if report.corrected else ()),
            ),
            say("Nothing."),
        ),
    ]
    return ShiftReportContent(
        title=say(
            "Shift report: {line}, {name}", line=report.line, name=told_moment(report.shift.name)
        ),
        mill=mill.mill.name,
        headline=headline(report)
        + (say(" So far, up to {clock}.", clock=_clock(report.upto_us, zone)) if so_far else ""),
        paper=mill.mill.paper,
        grids=tuple(grids),
        notes=tuple(
            (
                _clock(one.at_us, zone)
                + ", "
                + (one.author or say("nobody said who"))
                + (say(" to {to}", to=one.to) if one.to else ""),
                one.note,
            )
            for one in report.handovers
        ),
        anchor=anchor,
        anchor_words=ANCHOR_WORDS,
        signatures=(say("Lead who hands over"), say("Lead who takes over")),
        footer=say(
            "{name} · {line} · shift of {name2}",
            name=mill.mill.name,
            line=report.line,
            name2=told_moment(report.shift.name),
        ),
    )


def _clock(at_us: int, zone: str) -> str:
    return f"{local_of(at_us, zone):%H:%M}"


def _minutes(seconds: float) -> str:
    return figure(f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h")


def _runs(report: ShiftReport, zone: str) -> Grid:
    rows = tuple(
        (
            one.run,
            say("{ball}, trial", ball=one.ball_name) if one.trial else one.ball_name,
            one.lot,
            _clock(one.from_us, zone),
            say("goes on") if one.goes_on else _clock(one.upto_us, zone),
            str(one.changes),
        )
        for one in report.runs
    )
    columns = (
        say("Run"),
        say("Ball"),
        say("Dye lot"),
        say("From"),
        say("To"),
        say("Settings changed"),
    )
    return Grid(say("Runs"), columns, rows, say("No run was in progress."))


def _lanes(report: ShiftReport, winders: Mapping[int, int]) -> Grid:
    columns = (
        say("Winder"),
        say("Taken off"),
        say("Pulled"),
        say("Ties"),
        say("Breaks, feed / winder / not told"),
        say("Stood"),
    )
    return Grid(
        say("Winders"),
        columns,
        tuple(_lane_row(one, winders) for one in report.lanes),
    )


def _weighed(report: ShiftReport, winders: Mapping[int, int], units: UnitSystem) -> Grid:
    """Show what was weighed, ball by ball, then winder by winder."""
    rows = [(one.ball_name, lane.lane, one) for lane in report.lanes for one in lane.weighed]
    return Grid(
        say("Weighed balls"),
        (say("Ball"), say("Winder"), say("Weighed"), say("Mean"), say("sd")),
        tuple(
            (
                ball or "–",
                str(winders.get(lane, lane)),
                str(one.weighed),
                mass(one.mean_g, units),
                "–" if one.sd_g is None else mass(one.sd_g, units),
            )
            for ball, lane, one in sorted(rows, key=lambda row: row[:2])
        ),
        say("None was told."),
    )


def _lane_row(one: LaneOfShift, winders: Mapping[int, int]) -> tuple[str, ...]:
    return (
        str(winders.get(one.lane, one.lane)),
        str(one.doffed),
        str(one.pulled),
        str(one.ties),
        f"{one.breaks_feed} / {one.breaks_winder} / {one.breaks_elsewhere}",
        _minutes(one.stood_s) if one.stood_s else "–",
    )


def _stands(report: ShiftReport, winders: Mapping[int, int], zone: str) -> Grid:
    rows = tuple(
        (
            say("the line")
            if one.lane == 0
            else say("winder {get}", get=winders.get(one.lane, one.lane)),
            _clock(one.from_us, zone),
            say("still stands") if one.goes_on else _clock(one.upto_us, zone),
            _minutes(one.lasted_s),
            said_again(one.why),
        )
        for one in report.stands
    )
    return Grid(
        say("Stops"),
        (say("What"), say("From"), say("To"), say("Stood"), say("Why")),
        rows,
        say("None was told."),
    )


def _checks(report: ShiftReport, zone: str) -> Grid:
    rows = tuple(
        (
            first_upper(CHECK_WORDS.get(one.what, one.what)),
            _clock(one.at_us, zone),
            one.author or "–",
            joined("; ", map(said_again, one.not_done)) or say("all in order"),
        )
        for one in report.checks
    )
    return Grid(
        say("Looks over the line"),
        (say("Which"), say("When"), say("Who"), say("Not in order")),
        rows,
        say("None was told."),
    )
