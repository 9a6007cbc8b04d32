"""`clew ledger restore`: put a backup in the ledger's place."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import ledger_url, said_plainly
from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json


@click.command()
@click.argument("backup_file", metavar="BACKUP", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--over", is_flag=True, help="Although the ledger has records beyond the backup.")
@mill_folder
@as_json
def restore(backup_file: Path, over: bool, mill_folder: Path, as_json: bool) -> None:
    """Put BACKUP in the place of the mill's ledger: a file, or an empty PostgreSQL database.

    The ledger that stood there is kept beside. Everybody must sign in again; a token or a name
    that was ended since the backup is in force again. Exit code 1: it is done, but the chains in
    the backup are not sound.
    """
    from clew.ledger.safekeeping.restore import restore as put_back

    mill = checked_mill(mill_folder)
    with said_plainly():
        done = put_back(backup_file, ledger_url(mill, mill_folder), over=over)
    checked = done.backup
    if as_json:
        print_json(
            {
                "url": done.url, "kept": None if done.kept is None else str(done.kept),
                "beyond": list(done.beyond), "backup": checked.plain(),
            }
        )  # fmt: skip
    else:
        click.echo(f"Restored {checked.manifest.tables['event']:,} records to {done.url}")
        if done.kept is not None:
            click.echo(f"The ledger that stood there is kept: {done.kept}")
        for words in done.beyond:
            click.echo(f"  There, {words}.")
        if checked.audit is not None and not checked.audit.sound:
            for words in checked.audit.words():
                click.echo(words)
    if not checked.sound:
        raise SystemExit(1)
