"""Opening the ledger that belongs to a mill folder."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.store.ledger import FILE_NAME, Clock, Ledger, now_us, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step, step_of

VARIABLE = "CLEW_LEDGER"
"""Environment variable with the ledger's URL; it stands over the mill file."""
OWNER_ONLY = 0o600
"""A ledger holds the hashes of passwords: nobody else reads it, nor its copies."""


def url_of(folder: Path, database: str = "") -> str:
    """Say where a mill's ledger is.

    Parameters
    ----------
    folder : Path
        Folder that holds mill.toml.
    database : str
        What the mill file says under [ledger]; empty for the file beside it.

    Returns
    -------
    str
        URL: that of the environment, of the mill file, or of ``mill.db`` in the folder.
    """
    return os.environ.get(VARIABLE, "") or database or sqlite_url(folder / FILE_NAME)


def open_ledger(url: str, *, make: bool = True, clock: Clock = now_us) -> Ledger:
    """Open a ledger and see that its tables are those this program reads.

    Parameters
    ----------
    url : str
        Where it is.
    make : bool
        Whether a ledger that is not there yet is made.
    clock : callable
        Our clock [us].

    Raises
    ------
    BadInput
        When there is none and none is to be made, or its tables are of another version.
    CannotKeep
        When the database does not answer.
    """
    ledger = Ledger(url, clock=clock)
    try:
        path = ledger.path
        if path is not None and not path.exists():
            if not make:
                raise BadInput(
                    Fault(
                        say("there is no ledger yet"),
                        say("clew run start, or clew ledger init, first"),
                        file=str(path),
                    )
                )
            if not path.parent.is_dir():
                raise BadInput(
                    Fault(say("no such folder"), say("the mill folder"), file=str(path.parent))
                )
            _make_file(path)
        step, newest = step_of(ledger), newest_step()
        if not step and make:
            migrate(ledger)
        elif not step:
            raise BadInput(
                Fault(
                    say("there is no ledger yet"),
                    say("clew run start, or clew ledger init, first"),
                    value=ledger.url,
                )
            )
        elif step != newest:
            raise BadInput(
                Fault(
                    say("the ledger's tables are of another version"),
                    say("step {newest}; clew ledger migrate brings an older one up", newest=newest),
                    value=step,
                )
            )
    except BaseException:
        ledger.close()
        raise
    return ledger


def _make_file(path: Path) -> None:
    """Make an empty file; SQLite gives the files beside it the same leave.

    What hinders it the database says in its turn.
    """
    with suppress(OSError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))
