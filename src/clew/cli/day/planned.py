"""The plan of the played day: orders into runs, and the papers its shift is worked by."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from clew.cli.output import write_whole
from clew.cli.plan.sequence import MadePlan, lines_said, make_plan

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard
    from clew.plan.sequence.timed_run import TimedRun

ORDERS = "orders.csv"
IN_LINE = "Line 1=Querl 100,SL-207"
"""What stands in the line as the day begins."""
WITHIN_S = 30.0
"""How long a better plan is looked for, at most; it is proven best long before [s]."""
SHIFTS_DRAWN = 60
"""Simulated shifts behind each expectation of the shift plan; `clew plan shift` takes 200."""


def make_day_plan(folder: Path, start: datetime) -> MadePlan:
    """Plan the orders of the folder, as `clew plan sequence` does."""
    return make_plan(
        folder, folder / ORDERS, now=start.isoformat(), in_line=[IN_LINE], within_s=WITHIN_S
    )


def runs_of_shift(made: MadePlan, start: datetime, upto: datetime) -> tuple[TimedRun, ...]:
    """Take the runs that begin in the shift on the mill's first line, in order of time."""
    line = made.mill.line[0].name
    mine = [one for one in made.plan.timed if one.line_name == line and start <= one.start < upto]
    return tuple(sorted(mine, key=lambda one: one.start))


def write_shift_papers(made: MadePlan, folder: Path, start: datetime) -> list[tuple[str, Path]]:
    """Write shift plan, pick list and tally sheet of the shift that begins at a moment."""
    from clew.ledger.ingest.paper import sheet_of
    from clew.papers.pick_list_content import pick_list_content
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.shift_plan_content import shift_plan_content
    from clew.papers.tally_sheet_content import tally_content
    from clew.plan.shift.shift_plan import shift_plan
    from clew.plan.shift.which import read_shift

    mill = made.mill
    begins, ends = read_shift(mill, "", "", now=start)
    plan = shift_plan(
        mill, made.plan.timed, shift_from=begins, shift_upto=ends,
        lines_now=lines_said([IN_LINE], mill), seed=made.plan.answer.seed,
        replications=SHIFTS_DRAWN,
    )  # fmt: skip
    now, line = made_now(mill.mill.time_zone), mill.line[0]
    place = mill.mill.shift_starts.index(f"{begins:%H:%M}")
    tally = tally_content(
        mill.mill.name, line.name, sorted(one.lane for one in line.winder),
        [sheet_of(begins.date(), 0, place, 1)], mill.mill.shift_starts, paper=mill.mill.paper,
    )  # fmt: skip
    found = [
        ("Shift plan", "shift-plan.pdf", pdf_of(shift_plan_content(plan, mill), made=now)),
        ("Pick list", "pick-list.pdf", pdf_of(pick_list_content(plan, mill), made=now)),
        ("Tally sheet", "tally-sheet.pdf", pdf_of(tally, made=now)),
    ]
    return _written(found, folder)


def write_run_papers(
    made: MadePlan, timed: TimedRun, card: RunCard, folder: Path, cards: Path
) -> list[tuple[str, Path]]:
    """Write the run card of a run, and a sheet of its bands where the law lets it be printed."""
    from clew.checks.band.findings import judged
    from clew.checks.band.text import band_of
    from clew.cli.ball.cards import card_files
    from clew.papers.labels.bands import bands_pdf, sheet_for
    from clew.papers.printing import made_now

    mill, run = made.mill, timed.run
    name, pdf, html = card_files(card, mill, mill.mill.units)
    written = _written(
        [("Run card", f"{name}.pdf", pdf), ("Run card", f"{name}.html", html)], cards
    )[:1]
    if not any(one.breaks_law for one in judged(mill, run.ball_name, run.lot_name)):
        band = band_of(mill, run.ball_name, run.lot_name)
        sheet = sheet_for(band.width_mm, band.height_mm, mill.mill.paper)
        copies = min(sheet.across * sheet.down, run.balls)
        bands = bands_pdf(
            band, copies, made=made_now(mill.mill.time_zone), paper=mill.mill.paper,
            footer=f"{mill.mill.name} · {run.name}",
        )  # fmt: skip
        written += _written([("Bands", f"bands-{run.name.replace('/', '-')}.pdf", bands)], folder)
    return written


def _written(found: Sequence[tuple[str, str, bytes]], folder: Path) -> list[tuple[str, Path]]:
    for _, name, raw in found:
        write_whole(folder / name, raw)
    return [(words, folder / name) for words, name, _ in found]
