"""`clew run report`: a shift added up, on the screen and on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, checked_mill, in_units, mill_folder
from clew.cli.output import print_json, print_table, write_whole

if TYPE_CHECKING:
    from clew.ledger.reports.of_ledger import AnchoredReport
    from clew.papers.shift_report import ShiftReportContent


@click.command()
@mill_folder
@click.option("--line", "line_name", default="", help="Line; may be left out where there is one.")
@click.option(
    "--shift", "shift_at", default="", help="A moment in the shift; the present one left out."
)
@click.option("--out", "pdf", type=click.Path(path_type=Path), help="Write it, a PDF.")
@in_units
@as_json
def report(
    mill_folder: Path, line_name: str, shift_at: str, pdf: Path | None, units: Any, as_json: bool
) -> None:
    """Add a shift up: what was made, what stood and why, what to hand over.

    The paper carries the anchor of the line's chain, which shows later whether a record was
    changed.
    """
    from clew.ledger.reports.of_ledger import report_of_shift, shift_named
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.mill import mill_file
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.shift_report import shift_report_content

    mill = checked_mill(mill_folder)
    line = mill.find_line(line_name or mill.line[0].name)
    ledger = open_ledger(url_of(mill_file(mill_folder).parent, mill.ledger.database), make=False)
    try:
        shift = shift_named(shift_at, mill, ledger.clock())
        anchored = report_of_shift(ledger, mill, line.name, shift)
    finally:
        ledger.close()
    content = shift_report_content(anchored, mill, units or mill.mill.units)
    if pdf is not None:
        made = made_now(mill.mill.time_zone)
        write_whole(pdf, pdf_of(content, made=made))
    if as_json:
        print_json(_plain(anchored, content))
        return
    _tell(content)
    if pdf is not None:
        click.echo(f"wrote {pdf}")


def _tell(content: ShiftReportContent) -> None:
    click.echo(content.title)
    click.echo(f"  {content.headline}")
    for grid in content.grids:
        click.echo()
        if grid.rows:
            print_table(grid.columns, grid.rows, title=grid.title)
        else:
            click.echo(f"{grid.title}: {grid.none[0].lower()}{grid.none[1:]}")
    click.echo("\nHanded over:" if content.notes else "\nHanded over: no note was left.")
    for head, words in content.notes:
        click.echo(f"  {head}: {words}")
    if content.anchor:
        click.echo(f"\nThe record stood at {content.anchor}")


def _plain(anchored: AnchoredReport, content: ShiftReportContent) -> dict[str, Any]:
    from dataclasses import asdict

    from clew.ledger.events.moments import show_utc

    plain = asdict(anchored.report)
    plain["shift"] |= {
        "from": show_utc(anchored.report.shift.from_us),
        "upto": show_utc(anchored.report.shift.upto_us),
    }
    return {"headline": content.headline, **plain, "anchor": content.anchor}
