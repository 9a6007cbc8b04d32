"""Opening the mill's ledger for one command, and saying plainly when it cannot keep anything."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from clew.cli.options import checked_mill

if TYPE_CHECKING:
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill.model import Mill


def folder_of(mill_folder: Path) -> Path:
    """Name the folder of a mill file, whichever of the two was given."""
    return mill_folder if mill_folder.is_dir() else mill_folder.parent


def ledger_url(mill: Mill, mill_folder: Path) -> str:
    """Say where a mill's ledger is."""
    from clew.ledger.store.opening import url_of

    return url_of(folder_of(mill_folder), mill.ledger.database)


def give_up(trouble: CannotKeep) -> NoReturn:
    """Say why nothing can be kept, and end."""
    click.echo(f"clew: the ledger cannot keep anything: {trouble.reason}", err=True)
    raise SystemExit(2)


@contextmanager
def said_plainly() -> Iterator[None]:
    """End with one line where the database fails within the block."""
    from clew.ledger.store.trouble import CannotKeep

    try:
        yield
    except CannotKeep as trouble:
        give_up(trouble)


@contextmanager
def opened(mill_folder: Path, *, make: bool = False) -> Iterator[tuple[Mill, Ledger]]:
    """Open the ledger of a mill; let go of it after the block.

    Parameters
    ----------
    mill_folder : Path
        Folder of the mill, or its file.
    make : bool
        Whether a ledger that is not there yet is made.
    """
    from clew.ledger.store.opening import open_ledger

    mill = checked_mill(mill_folder)
    with said_plainly():
        ledger = open_ledger(ledger_url(mill, mill_folder), make=make)
        try:
            yield mill, ledger
        finally:
            ledger.close()


def warn_of_loss(ledger: Ledger) -> None:
    """Say on standard error that the server behind a ledger does not wait for its disk."""
    from clew.ledger.store.lasting import what_would_be_lost

    said = what_would_be_lost(ledger)
    if said:
        click.echo(f"clew: {said}", err=True)


def progress() -> Callable[[str, int], None] | None:
    """Tell on the terminal how far a long reading has got; nothing where nobody watches."""
    if not sys.stderr.isatty():
        return None

    def tell(line: str, rows: int) -> None:
        if rows % 1_000_000 == 0:
            click.echo(f"{line or 'the mill'}: {rows:,} rows read", err=True)

    return tell


def chain_named(name: str) -> str:
    """Read the name of a chain: "(mill)" is the mill's own."""
    from clew.ledger.events.message import MILL_LINE, MILL_WORD

    return MILL_LINE if name == MILL_WORD else name
