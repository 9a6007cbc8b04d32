"""`clew ledger readmit`: take an archive's rows back in."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import opened
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json


@click.command()
@click.argument(
    "files", nargs=-1, required=True, metavar="ARCHIVE...",
    type=click.Path(path_type=Path, dir_okay=False),
)  # fmt: skip
@mill_folder
@as_json
def readmit(files: tuple[Path, ...], mill_folder: Path, as_json: bool) -> None:
    """Take the rows of each ARCHIVE back in, in the order given; all rows of a file or none.

    Into the ledger that they came from, the newest archive first; into another mill's ledger, from
    the first one on.
    """
    from clew.ledger.safekeeping.readmit import readmit as taken_in

    done = []
    with opened(mill_folder, make=True) as (_, ledger):
        for path in files:
            one = taken_in(ledger, path)
            done.append(one)
            if not as_json:
                span = one.span
                click.echo(
                    f"Took in rows {span.from_seq:,} to {span.upto_seq:,} of "
                    f"{span.line or 'the mill'}: {path}"
                )
    if as_json:
        print_json({"archives": [one.plain() for one in done]})
