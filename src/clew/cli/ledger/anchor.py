"""`clew ledger anchor`: where the chains stand, to be kept where the ledger's keeper is not."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.ledger.mill_ledger import chain_named, opened
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json


@click.command()
@click.option("--line", "lines", multiple=True, help='Line; "(mill)" for the mill\'s own chain.')
@click.option("--code", is_flag=True, help="The form for machines: all of the hash, no spaces.")
@mill_folder
@as_json
def anchor(lines: tuple[str, ...], code: bool, mill_folder: Path, as_json: bool) -> None:
    """Print the anchor of each line: its newest row and that row's hash.

    Keep it where nobody who can write to the ledger can change it: on paper, in a mail, in the
    hands of a customer. `clew ledger verify --anchor` holds the ledger against it.
    """
    from clew.ledger.audit.verify import anchor_of
    from clew.ledger.store.reading import heads_of

    with opened(mill_folder) as (_, ledger):
        named = [chain_named(one) for one in lines]
        wanted = named or [line for line, head in sorted(heads_of(ledger).items()) if head]
        anchors = [anchor_of(ledger, line) for line in wanted]
    if as_json:
        print_json({"anchors": [one.plain() for one in anchors]})
        return
    for one in anchors:
        click.echo(one.code() if code else one.text())
    if not anchors:
        click.echo("There are no records yet.")
