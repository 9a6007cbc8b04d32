"""`clew ledger migrate`: bring the tables up, or back a step."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import ledger_url, said_plainly, warn_of_loss
from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json
from clew.faults import BadInput, Fault


@click.command()
@click.option("--to", default="head", help='A step; "head" is the newest, "base" none at all.')
@click.option("--lose-records", is_flag=True, help="Go to base although there are records.")
@mill_folder
@as_json
def migrate(to: str, lose_records: bool, mill_folder: Path, as_json: bool) -> None:
    """Bring the ledger's tables to the form this program reads, or back a step.

    Make a backup before. All of it is done, or nothing.
    """
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.store.migrate import migrate as bring
    from clew.ledger.store.migrate import step_of
    from clew.ledger.store.reading import heads_of

    mill = checked_mill(mill_folder)
    ledger = Ledger(ledger_url(mill, mill_folder))
    with said_plainly():
        try:
            if ledger.path is not None and not ledger.path.exists():
                raise BadInput(
                    Fault("there is no ledger yet", "clew ledger init", file=str(ledger.path))
                )
            before = step_of(ledger)
            if to == "base" and before and not lose_records:
                records = sum(heads_of(ledger).values())
                if records:
                    raise BadInput(
                        Fault(
                            f"all {records:,} records would be lost",
                            "clew ledger backup first, then --lose-records",
                            key="--to",
                            value=to,
                        )
                    )
            bring(ledger, to)
            after = step_of(ledger)
            warn_of_loss(ledger)
        finally:
            ledger.close()
    if as_json:
        print_json({"url": ledger.url, "from_step": before, "step": after})
    elif before == after:
        click.echo(f"Nothing to do: the tables stand at step {after or 'base'}.")
    else:
        click.echo(f"The tables went from step {before or 'base'} to {after or 'base'}.")
