"""`clew ledger archive`: move old rows out to files of their own."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.ledger.mill_ledger import chain_named, folder_of, opened
from clew.cli.ledger.moments import day_or_moment
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.safekeeping.archive import Archived


@click.command()
@click.option("--line", "lines", multiple=True, help="Line; every chain when left out.")
@click.option("--before", default="", metavar="DAY", help="Rows from this day on stay.")
@click.option(
    "--years", type=click.IntRange(1, 100), default=None,
    help="Rows of so many years stay; keep_years of the mill file when left out.",
)  # fmt: skip
@click.option(
    "--folder", type=click.Path(path_type=Path, file_okay=False),
    help='Where the files go; "archives" in the mill folder when left out.',
)  # fmt: skip
@mill_folder
@as_json
def archive(
    lines: tuple[str, ...],
    before: str,
    years: int | None,
    folder: Path | None,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Move old records out to Parquet files, and note in the ledger where they went.

    Only the beginning of a chain goes, and no run is cut in two. Each file is read back and its
    chain walked before a row leaves the ledger. Make a backup before.
    """
    from clew.ledger.events.moments import local_of, show_local, us_of
    from clew.ledger.safekeeping.archive import FOLDER
    from clew.ledger.safekeeping.archive import archive as moved_out
    from clew.ledger.store.reading import lines_of

    if before and years is not None:
        raise BadInput(Fault("both --before and --years", "one of them", key="--years"))
    made: list[Archived] = []
    with opened(mill_folder) as (mill, ledger):
        zone = mill.mill.time_zone
        if before:
            before_us = day_or_moment(before, zone, "--before")
        else:
            now = local_of(ledger.clock(), zone)
            before_us = us_of(_years_before(now, years or mill.ledger.keep_years))
        known = lines_of(ledger)
        wanted = [chain_named(one) for one in lines] or known
        for line in wanted:
            if line not in known:
                listed = ", ".join(name or "(mill)" for name in known) or "none"
                raise BadInput(Fault("no record of that line", listed, key="--line", value=line))
        for line in wanted:
            made += moved_out(ledger, line, before_us, folder or folder_of(mill_folder) / FOLDER)
    if as_json:
        print_json({"before_us": before_us, "archives": [one.plain() for one in made]})
        return
    since = show_local(before_us, zone, seconds=False)
    if not made:
        click.echo(
            f"Nothing to move out: no beginning of a chain happened, and was kept, before {since}."
        )
    for one in made:
        span = one.span
        click.echo(
            f"Moved out rows {span.from_seq:,} to {span.upto_seq:,} of "
            f"{span.line or 'the mill'}: {one.path}"
        )
        click.echo(f"  sha256 {one.sha256.hex()}")


def _years_before(now: datetime, years: int) -> datetime:
    """Give the same day so many years earlier, from midnight; 28 February for the 29th."""
    day = now.replace(hour=0, minute=0, second=0, microsecond=0)
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)
