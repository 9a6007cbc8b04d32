"""`clew ledger init`: make the ledger of a mill."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import ledger_url, said_plainly
from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json


@click.command()
@mill_folder
@as_json
def init(mill_folder: Path, as_json: bool) -> None:
    """Make the ledger of a mill; one that is there is left as it is.

    It is mill.db beside the mill file, or the database that [ledger] names there.
    """
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.store.migrate import step_of
    from clew.ledger.store.opening import open_ledger
    from clew.ledger.store.reading import heads_of

    mill = checked_mill(mill_folder)
    url = ledger_url(mill, mill_folder)
    with said_plainly():
        before = Ledger(url)
        try:
            path = before.path
            there = (path is None or path.exists()) and bool(step_of(before))
        finally:
            before.close()
        ledger = open_ledger(url)
        try:
            step, records = step_of(ledger), sum(heads_of(ledger).values())
            shown = ledger.url
        finally:
            ledger.close()
    if as_json:
        print_json({"url": shown, "step": step, "made": not there, "records": records})
    elif there:
        click.echo(f"The ledger is there already, with {records:,} records: {shown}")
    else:
        click.echo(f"Made the ledger: {shown}")
