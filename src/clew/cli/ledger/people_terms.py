"""What the commands about people and tokens share: the ledger open, who does it, secrets typed."""

from __future__ import annotations

import getpass
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from clew.cli.options import checked_mill
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.store.ledger import Ledger

Command = TypeVar("Command", bound=Callable[..., Any])


@contextmanager
def opened_ledger(folder: Path, *, make: bool = True) -> Iterator[Ledger]:
    """Open the ledger of a mill; says why, with exit code 2, where it can keep nothing.

    Parameters
    ----------
    folder : Path
        The mill folder, or the mill file.
    make : bool
        Whether a ledger that is not there yet is made.

    Yields
    ------
    Ledger
        Closed afterwards.

    Raises
    ------
    BadInput
        When mill file or ledger cannot be used.
    """
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill import mill_file

    database = checked_mill(folder).ledger.database
    try:
        ledger = open_ledger(url_of(mill_file(folder).parent, database), make=make)
        try:
            yield ledger
        finally:
            ledger.close()
    except CannotKeep as trouble:
        click.echo(f"clew: the ledger cannot keep anything: {trouble.reason}", err=True)
        sys.exit(2)


def done_by(command: Command) -> Command:
    """Add ``--by`` to a command: who does it; whoever is at work on the machine when left out."""
    return click.option(
        "--by",
        "author",
        default="",
        metavar="NAME",
        help="Who does it, for the record; the machine's user when left out.",
    )(command)


def author_of(said: str) -> str:
    """Give who does it: who was named, or the user of the machine."""
    from clew.ledger.people.names import read_name

    if said:
        return read_name(said, "--by")
    try:
        return read_name(getpass.getuser())
    except (OSError, KeyError, ImportError):
        return ""


def password_from(command: Command) -> Command:
    """Add ``--password-file`` to a command."""
    return click.option(
        "--password-file",
        "password_file",
        type=click.Path(path_type=Path, allow_dash=True, dir_okay=False),
        default=None,
        help="File whose first line is the password; - for standard input. Else it is asked for.",
    )(command)


def read_password(path: Path | None) -> str:
    """Read a password, from a file or typed twice without showing it.

    Parameters
    ----------
    path : Path or None
        File whose first line it is; ``-`` for standard input; None to ask for it.

    Returns
    -------
    str
        As it stands, without the line's end.

    Raises
    ------
    BadInput
        When the two differ, or there is nobody to ask.
    """
    if path is not None:
        raw = sys.stdin.buffer.readline(4096) if str(path) == "-" else _first_line(path)
        try:
            return raw.rstrip(b"\r\n").decode("utf-8")
        except UnicodeDecodeError:
            raise BadInput(Fault("no text in UTF-8", file=str(path))) from None
    try:
        with warnings.catch_warnings():  # a password is not typed where it would be shown
            warnings.simplefilter("error", getpass.GetPassWarning)
            first = click.prompt("Password", hide_input=True, err=True)
            again = click.prompt("The same again", hide_input=True, err=True)
    except (click.Abort, getpass.GetPassWarning):
        raise BadInput(Fault("no password", "one typed twice, or --password-file")) from None
    if first != again:
        raise BadInput(Fault("the two passwords differ", "the same one twice"))
    return str(first)


def _first_line(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.readline(4096)
