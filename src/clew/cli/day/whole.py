"""A day from its mark to its report: begun, played on where it was stopped, never played twice."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clew.cli.day.asked import MARK, DayAsked, DayClock, read_mark, write_mark
from clew.cli.output import write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.cli.day.made import DayMade
    from clew.cli.day.progress import Tell
    from clew.ledger.store.ledger import Ledger
    from clew.mill.model import Mill

REPORT, SHIFT_REPORT = "day-report.pdf", "papers/shift-report.pdf"


def asked_of(folder: Path, mark: dict[str, Any]) -> DayAsked:
    """Say which day a folder's mark is of."""
    start = datetime.fromisoformat(mark["start"])
    return DayAsked(folder, int(mark["seed"]), start, float(mark["hours"]))


def play_day(asked: DayAsked, tell: Tell) -> dict[str, Any]:
    """Play a day, or play it on, and write its report.

    Parameters
    ----------
    asked : DayAsked
        Which day, where. The folder holds a mill.
    tell : callable
        Told how much is done [1], and what is done now.

    Returns
    -------
    dict
        What came of it, as ``day.json`` holds it.

    Raises
    ------
    BadInput
        When the mill has not what is played.
    CannotKeep
        When the ledger cannot write; what was kept before stays.
    """
    from clew.cli.day.playing import DayPlay
    from clew.cli.options import checked_mill
    from clew.ledger.store.opening import open_ledger, url_of

    mill = checked_mill(asked.folder)
    clock = DayClock(asked.start)
    ledger = open_ledger(url_of(asked.folder, mill.ledger.database), clock=clock)
    try:
        if read_mark(asked.folder) is None:
            write_mark(asked, None)
        day = DayPlay(asked, ledger, clock, tell).play()
        tell(0.96, "report: counted off the ledger, and verified")
        found = _reported(day, ledger, mill)
    finally:
        ledger.close()
    write_mark(asked, found)
    tell(1.0, "done")
    return found


def see_it_can_be_played(mill: Mill, asked: DayAsked) -> None:
    """See that a day can be played in a folder, before anything is written there.

    Raises
    ------
    BadInput
        When the mill is another one, no shift begins then, there are no orders, or the ledger holds
        records of something else already.
    """
    from zoneinfo import ZoneInfo

    from clew.cli.day.planned import IN_LINE, ORDERS
    from clew.cli.plan.sequence import lines_said

    lines_said([IN_LINE], mill)
    faults = []
    if not (asked.folder / ORDERS).is_file():
        faults.append(
            Fault("no list of orders to play", "as clew mill init writes it",
                  file=str(asked.folder / ORDERS))
        )  # fmt: skip
    begins = f"{asked.start.astimezone(ZoneInfo(mill.mill.time_zone)):%H:%M}"
    if begins not in mill.mill.shift_starts:
        faults.append(
            Fault("no shift begins then", f"one of {', '.join(mill.mill.shift_starts)}",
                  key="--start", value=begins)
        )  # fmt: skip
    rows = 0 if read_mark(asked.folder) else records_there(mill, asked.folder)
    if rows:
        faults.append(
            Fault(f"its ledger holds {rows} records of something else, and no day is played "
                  "over them", "another folder with --mill", file=str(asked.folder))
        )  # fmt: skip
    if faults:
        raise BadInput(faults)


def records_there(mill: Mill, folder: Path) -> int:
    """Count the records of a mill's ledger; makes none where there is none.

    Raises
    ------
    BadInput
        When there is one, and it cannot be read.
    CannotKeep
        When its database does not answer.
    """
    from clew.ledger.store.ledger import FILE_NAME
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.reading import heads_of

    url = url_of(folder, mill.ledger.database)
    if url == url_of(folder) and url.startswith("sqlite") and not (folder / FILE_NAME).exists():
        return 0
    ledger = open_ledger(url)
    try:
        return sum(heads_of(ledger).values())
    finally:
        ledger.close()


def _reported(day: DayMade, ledger: Ledger, mill: Mill) -> dict[str, Any]:
    """Write shift report and day report, and give the day as plain values."""
    from clew.cli.day.playing import papers_of
    from clew.ledger.audit.verify import verify
    from clew.ledger.events.moments import show_utc
    from clew.ledger.lots.decided import anchor_words
    from clew.ledger.reports.day_figures import day_figures
    from clew.ledger.reports.of_ledger import report_of_shift, shift_named
    from clew.papers.day_report import day_report_content
    from clew.papers.day_told import DayTold
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.shift_report import shift_report_content

    folder, line, zone = day.asked.folder, mill.line[0].name, mill.mill.time_zone
    made = made_now(zone)
    shift = shift_named(day.asked.start.isoformat(), mill, ledger.clock())
    anchored = report_of_shift(ledger, mill, line, shift)
    paper = shift_report_content(anchored, mill, mill.mill.units)
    write_whole(folder / SHIFT_REPORT, pdf_of(paper, made=made))
    day.papers.append(("Shift report", folder / SHIFT_REPORT))
    asked = [
        (one.play.terms.run, one.play.order.number, one.play.order.customer, one.timed.run.balls)
        for one in day.runs
    ]
    figures = day_figures(ledger, mill, line, asked)
    audit = verify(ledger)
    told = DayTold(
        day.made.plan.words, tuple(one.run.name for one in day.put_off),
        {one.play.terms.run: one.tested.mends for one in day.runs if one.tested},
        None if day.returned is None else day.returned[2], tuple(papers_of(day)), audit.rows,
        audit.sound, anchor_words(ledger, line),
    )  # fmt: skip
    content = day_report_content(mill, figures, told)
    write_whole(folder / REPORT, pdf_of(content, made=made))
    runs = [
        {**asdict(one), "from": show_utc(one.from_us), "upto": show_utc(one.upto_us)}
        for one in figures.runs
    ]
    return {
        "headline": content.headline,
        "words": {row.head.lower().replace(" ", "_"): row.text for row in content.rows},
        "line": line,
        "runs": runs,
        "wrong_cones": [
            {"at": show_utc(at_us), "cone": cone, "lot": lot}
            for at_us, cone, lot in figures.wrong_cones
        ],
        "stops": [
            {"from": show_utc(begun), "upto": show_utc(over), "why": why}
            for begun, over, why in figures.stops
        ],
        "returned": _returned(day, figures.returned),
        "put_off": list(told.put_off),
        "records": audit.rows,
        "sound": audit.sound,
        "anchor": told.anchor,
        "report": REPORT,
        "papers": [{"what": words, "file": place} for words, place in told.papers],
    }


def _returned(day: DayMade, found: Any) -> dict[str, Any] | None:
    if found is None or day.returned is None:
        return None
    trace = day.returned[2]
    return {
        **asdict(found), "balls_it_may_be": trace.size, "joins": day.returned[1],
        "cones": [{"cone": one.cone, "sure": one.sure} for one in trace.cones],
    }  # fmt: skip


def report_lines(folder: Path, found: dict[str, Any]) -> list[str]:
    """Say a played day in lines: the answer, then each thing under its word, then where it lies."""
    rows = [f"  {name.replace('_', ' '):<10}  {words}" for name, words in found["words"].items()]
    return [
        found["headline"], *rows, "",
        f"Report: {folder / found['report']}; {len(found['papers'])} papers, the ledger mill.db "
        f"and {MARK} lie beside it.",
    ]  # fmt: skip
