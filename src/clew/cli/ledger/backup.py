"""`clew ledger backup`: copy the ledger while it runs."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import folder_of, opened, progress
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json


@click.command()
@click.argument("target", required=False, type=click.Path(path_type=Path))
@mill_folder
@as_json
def backup(target: Path | None, mill_folder: Path, as_json: bool) -> None:
    """Copy the ledger while it runs, into a file or folder; else into "backups" in the mill folder.

    The copy is checked and verified before it gets its name; a manifest stands beside it. Keep
    both on another disk. Exit code 1: the backup is made, but the ledger in it is not sound.
    """
    from clew.ledger.safekeeping.backup import FOLDER
    from clew.ledger.safekeeping.backup import backup as made_of
    from clew.ledger.safekeeping.room_left import room_text

    with opened(mill_folder) as (_, ledger):
        if target is None:
            target = folder_of(mill_folder) / FOLDER
            target.mkdir(exist_ok=True)
        made = made_of(ledger, target, progress())
    if as_json:
        print_json(made.plain())
    else:
        size = room_text(made.manifest.size_bytes)
        many = made.manifest.tables["event"]
        records = "1 record" if many == 1 else f"{many:,} records"
        click.echo(f"Backed up {records}, {size}: {made.path}")
        for head in made.manifest.heads:
            click.echo(f"  {head.text()}")
        click.echo(f"  sha256 {made.manifest.sha256.hex()}")
        if made.audit is not None and not made.audit.sound:
            for words in made.audit.words():
                click.echo(words)
    if not made.sound:
        raise SystemExit(1)
