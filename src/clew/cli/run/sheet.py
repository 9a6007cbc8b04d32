"""`clew run sheet`: numbered tally sheets on paper, for when the tablet is dead."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from collections.abc import Sequence


@click.command()
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--date", "on", default="", metavar="YYYY-MM-DD", help="Day the shift begins; today.")
@click.option("--shift", default="", metavar="HH:MM", help="When the shift begins; else this one.")
@click.option("--sheets", "count", type=int, default=1, show_default=True, help="How many, to 9.")
@click.option("--first", type=int, default=1, show_default=True, help="Which of the shift's first.")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="PDF to write.")
@mill_folder
@as_json
def sheet(
    line_name: str,
    on: str,
    shift: str,
    count: int,
    first: int,
    out: Path,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Write tally sheets for one line and shift, to be filled in with a pen.

    Each has its own number, such as T-251125-1. What was written on it is typed into a CSV file
    later, and taken with `clew ledger take FILE --sheet T-251125-1 --by NAME`.
    """
    from zoneinfo import ZoneInfo

    from clew.ledger.ingest.paper import sheet_of
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.tally_sheet_content import tally_content

    mill = checked_mill(mill_folder)
    line = mill.find_line(line_name)
    now = datetime.now(ZoneInfo(mill.mill.time_zone))
    made = made_now(mill.mill.time_zone, now)
    starts = mill.mill.shift_starts
    place, day = _which(starts, shift, on, now)
    sheets = [
        sheet_of(day, mill.line.index(line), place, number)
        for number in range(first, first + max(count, 1))
    ]
    lanes = sorted(one.lane for one in line.winder)
    content = tally_content(
        mill.mill.name, line.name, lanes, sheets, starts, paper=mill.mill.paper
    )  # fmt: skip
    write_whole(out, pdf_of(content, made=made))
    if as_json:
        print_json(
            {"pdf": str(out), "line": line.name, "day": day.isoformat(), "shift": starts[place],
             "sheets": list(content.codes)}
        )  # fmt: skip
        return
    click.echo(f"{line.name}, {content.day}, shift {content.shift}: {', '.join(content.codes)}.")
    click.echo(f"wrote {out}")


def _which(starts: Sequence[str], shift: str, on: str, now: datetime) -> tuple[int, date]:
    """Say which shift is meant, and on which day it begins: the one that runs, if not told."""
    clock = f"{now:%H:%M}"
    if shift and shift not in starts:
        raise BadInput(
            Fault("no shift begins then", f"one of {', '.join(starts)}", key="--shift", value=shift)
        )
    begun = [place for place, start in enumerate(starts) if start <= clock]
    place = starts.index(shift) if shift else (begun or [len(starts) - 1])[-1]
    try:
        day = date.fromisoformat(on) if on else now.date()
    except ValueError:
        raise BadInput(Fault("no day", "such as 2026-11-25", key="--date", value=on)) from None
    if not on and not shift and not begun:  # after midnight, in the shift of the day before
        day -= timedelta(days=1)
    if not 2000 <= day.year <= 2099:
        raise BadInput(Fault("no day of a sheet", "2000 to 2099", key="--date", value=on))
    return place, day
