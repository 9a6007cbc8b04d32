"""Putting a backup in the ledger's place, without losing what the backup does not hold."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, create_engine, delete
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from clew.faults import BadInput, Fault
from clew.ledger.audit.findings import name_of, rows_text
from clew.ledger.audit.verify import open_still
from clew.ledger.events.moments import utc_of
from clew.ledger.safekeeping.backup import Backup, check_backup
from clew.ledger.safekeeping.copying import copy_tables, count_rows, has_tables, tables_of
from clew.ledger.safekeeping.whole_files import clear, family, put_in_place, sync_file
from clew.ledger.store.ledger import Clock, Ledger, now_us, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step
from clew.ledger.store.trouble import trouble_of

SESSIONS = "session"
"""Table of who is signed in: nobody is, after a restore."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    Attributes
    ----------
    backup : Backup
        What was put in place.
    url : str
        Where, without a password.
    kept : Path or None
        The ledger that stood there before.
    beyond : tuple of str
        What that one held beyond the backup, a sentence each.
    """

    backup: Backup
    url: str
    kept: Path | None = None
    beyond: tuple[str, ...] = ()


def restore(path: Path, url: str, *, over: bool = False, clock: Clock = now_us) -> Restored:
    """Put a backup in the place of a ledger.

    Parameters
    ----------
    path : Path
        The backup; its manifest is beside it.
    url : str
        Where the ledger is: a file, or an empty PostgreSQL database.
    over : bool
        Whether a ledger goes that has records beyond the backup; it is kept beside all the same.
    clock : callable
        Our clock [us].

    Raises
    ------
    BadInput
        When the backup is damaged, the ledger in use or ahead of it, the database not empty.
    CannotKeep
        When the database cannot write.
    """
    checked = check_backup(path)
    if not checked.whole:
        raise BadInput([Fault(one, "a whole backup", file=str(path)) for one in checked.faults])
    ledger = Ledger(url, clock=clock)
    try:
        if ledger.path is None:
            _into_database(checked, ledger)
            return Restored(checked, ledger.url)
        target = ledger.path
    finally:
        ledger.close()
    return _into_file(checked, target, ledger.url, over=over, now_us=clock())


def _into_file(checked: Backup, target: Path, url: str, *, over: bool, now_us: int) -> Restored:
    if target.exists() and target.samefile(checked.path):
        raise BadInput(Fault("the backup is the ledger itself", file=str(target)))
    if not target.parent.is_dir():
        raise BadInput(Fault("no such folder", "the mill folder", file=str(target.parent)))
    part = target.with_name(f".{target.name}.part")
    try:
        clear(part)
        shutil.copyfile(checked.path, part)
        part.chmod(0o600)
        _make_ready(part)
        beyond: tuple[str, ...] = ()
        kept = None
        if target.exists():
            beyond = _beyond(target, part)
            if beyond and not over:
                raise BadInput(
                    [
                        Fault(
                            one,
                            "clew ledger backup first, then restore with --over",
                            file=str(target),
                        )
                        for one in beyond
                    ]
                )
            _as_it_was(part, target)
            kept = _set_aside(target, now_us)
        put_in_place(part, target)
        return Restored(checked, url, kept, beyond)
    finally:
        with suppress(OSError):
            clear(part)


def _make_ready(part: Path) -> None:
    """Bring a copy up to this program's step, with nobody signed in, in one file."""
    made = Ledger(sqlite_url(part))
    try:
        migrate(made, newest_step())
        with made.writing() as connection:
            _sign_all_out(connection)
    finally:
        made.close()
    with closing(sqlite3.connect(part, isolation_level=None)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE")


def _sign_all_out(connection: Connection) -> None:
    for table in tables_of(connection):
        if table.name == SESSIONS:
            connection.execute(delete(table))


def _beyond(target: Path, part: Path) -> tuple[str, ...]:
    """Say what a ledger holds that a backup does not; also shuts out whoever has it open."""
    try:
        with closing(sqlite3.connect(target, timeout=1.0, isolation_level=None)) as there:
            # this goes through only where nobody else has the file open
            there.execute("PRAGMA journal_mode = DELETE")
            heads = there.execute("SELECT line, head FROM chain ORDER BY line").fetchall()
            with closing(sqlite3.connect(part)) as copy:
                return _compared(there, copy, heads)
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise BadInput(
                Fault(
                    "the ledger is in use",
                    "nobody at it: stop clew serve, clew ledger watch and clew ledger mqtt",
                    file=str(target),
                )
            ) from None
        return (f"the ledger that stands there cannot be read ({error})",)
    except sqlite3.Error as error:
        return (f"the ledger that stands there cannot be read ({error})",)


def _compared(
    there: sqlite3.Connection, copy: sqlite3.Connection, heads: list[tuple[str, int]]
) -> tuple[str, ...]:
    beyond: list[str] = []
    hash_of = "SELECT hash FROM event WHERE line = ? AND seq = ?"
    for line, head in heads:
        row = copy.execute("SELECT head FROM chain WHERE line = ?", (line,)).fetchone()
        upto = 0 if row is None else int(row[0])
        if head > upto:
            beyond.append(
                f"{rows_text(upto + 1, head)} of {name_of(line)} "
                f"{'is' if head == upto + 1 else 'are'} not in the backup"
            )
            continue
        mine = there.execute(hash_of, (line, head)).fetchone()
        theirs = copy.execute(hash_of, (line, head)).fetchone()
        if mine is not None and theirs is not None and mine != theirs:
            beyond.append(f"{name_of(line)} went another way than in the backup by row {head:,}")
    return tuple(beyond)


def _as_it_was(part: Path, target: Path) -> None:
    """Give a file the owner and rights of the one it replaces: the same programs must open it."""
    there = target.stat()
    part.chmod(there.st_mode & 0o777)
    with suppress(OSError):  # only root may give a file away
        os.chown(part, there.st_uid, there.st_gid)


def _set_aside(target: Path, now_us: int) -> Path:
    """Keep the ledger that stands there under another name, with no moment without a file."""
    kept = target.with_name(f"{target.name}.before-restore-{utc_of(now_us):%Y%m%d-%H%M%S}Z")
    if kept.exists():
        raise BadInput(Fault("there is such a file already", "another moment", file=str(kept)))
    for one, other in zip(family(target)[1:], family(kept)[1:], strict=True):
        if one.exists():  # only beside a damaged file: a sound one was closed just now
            one.replace(other)
    try:
        os.link(target, kept)
    except OSError:  # a disk that knows no second name
        target.replace(kept)
    sync_file(target.parent)
    return kept


def _into_database(checked: Backup, ledger: Ledger) -> None:
    with ledger.reading() as connection:
        if has_tables(connection):
            rows = count_rows(connection, tables_of(connection))
            if any(rows.values()):
                raise BadInput(
                    Fault(
                        "the database is not empty",
                        "a new one: createdb, then name it under [ledger]",
                        key="database",
                        value=ledger.url,
                    )
                )
    migrate(ledger, checked.manifest.step)
    source_engine = create_engine(
        "sqlite://", creator=lambda: open_still(checked.path), poolclass=NullPool
    )
    try:
        with source_engine.connect() as source, ledger.writing() as target:
            copied = copy_tables(source, target)
            if copied != checked.manifest.tables:
                raise BadInput(Fault("not all of it could be put back", file=str(checked.path)))
            _sign_all_out(target)
    except DBAPIError as error:
        raise trouble_of(error.orig or error) from error
    finally:
        source_engine.dispose()
    migrate(ledger)
