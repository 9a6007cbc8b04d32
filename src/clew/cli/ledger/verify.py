"""`clew ledger verify`: find any changed, removed or added row."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.ledger.mill_ledger import opened, progress, warn_of_loss
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json

if TYPE_CHECKING:
    from clew.ledger.audit.anchors import Anchor
    from clew.ledger.audit.findings import Audit


@click.command()
@click.option(
    "--anchor", "texts", multiple=True, metavar="TEXT", help="An anchor, as it was printed."
)
@click.option(
    "--anchors", "anchors_file", type=click.Path(path_type=Path, dir_okay=False),
    help="A file of anchors, one a line.",
)  # fmt: skip
@click.option(
    "--backup", "backup_file", type=click.Path(path_type=Path, dir_okay=False),
    help="Verify this backup instead of the ledger.",
)  # fmt: skip
@mill_folder
@as_json
def verify(
    texts: tuple[str, ...],
    anchors_file: Path | None,
    backup_file: Path | None,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Find any row that was changed, removed or added behind the ledger's back.

    Writers may go on meanwhile. Exit code 1: something is wrong, and it says which row and what.
    It also says what it cannot see.
    """
    from clew.ledger.audit.anchors import read_anchor, read_anchors

    anchors = [read_anchor(one) for one in texts]
    if anchors_file is not None:
        anchors += read_anchors(anchors_file)
    if backup_file is not None:
        _verify_backup(backup_file, tuple(anchors), as_json=as_json)
        return
    from clew.ledger.audit.verify import verify as audited
    from clew.ledger.safekeeping.archive import archives_missing

    with opened(mill_folder) as (_, ledger):
        audit = audited(ledger, anchors, progress())
        missing = archives_missing(ledger)
        warn_of_loss(ledger)
    if as_json:
        sound = audit.sound and not missing
        print_json({**audit.plain(), "sound": sound, "archives": list(missing)})
    else:
        _tell(audit, missing)
    if not audit.sound or missing:
        raise SystemExit(1)


def _verify_backup(path: Path, anchors: tuple[Anchor, ...], *, as_json: bool) -> None:
    from clew.ledger.safekeeping.backup import check_backup

    found = check_backup(path, anchors, progress())
    if as_json:
        print_json(found.plain())
    else:
        for fault in found.faults:
            click.echo(f"{fault[0].upper()}{fault[1:]}.")
        if found.whole:
            click.echo(f"The backup is whole: {path}")
        if found.audit is not None:
            _tell(found.audit)
    if not found.sound:
        raise SystemExit(1)


def _tell(audit: Audit, missing: tuple[str, ...] = ()) -> None:
    for words in (*audit.words(), *(f"{one[0].upper()}{one[1:]}." for one in missing)):
        click.echo(words)
    if not audit.lines:
        click.echo("There are no records yet.")
        return
    rows = "1 row" if audit.rows == 1 else f"{audit.rows:,} rows"
    click.echo(f"{'Sound' if audit.sound and not missing else 'NOT SOUND'}: {rows} read.")
    click.echo(audit.unseen())
