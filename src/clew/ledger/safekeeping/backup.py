"""Backing up a ledger while it is written to: one file, the same from either database."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine

from clew.faults import BadInput, Fault
from clew.ledger.audit.anchors import Anchor, anchor_at
from clew.ledger.audit.findings import Audit
from clew.ledger.audit.verify import Tell, open_still, verify_file
from clew.ledger.events.moments import utc_of
from clew.ledger.safekeeping.copying import STEP_TABLE, copy_tables
from clew.ledger.safekeeping.manifest import Manifest, manifest_path, read_manifest
from clew.ledger.safekeeping.whole_files import put_in_place, sha256_of, written_beside
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import migrate, step_of
from clew.ledger.store.trouble import trouble_of

FOLDER = "backups"
"""Where backups go in the mill folder, where nothing else is said."""
PAGES = 4_000
"""Pages copied between two looks at whether to stop."""


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made, or looked at.

    Attributes
    ----------
    path : Path
        The file.
    manifest : Manifest
        What it must hold.
    audit : Audit or None
        How its chains stand; None where the file itself is damaged.
    faults : tuple of str
        What is wrong with the file, a sentence each.
    """

    path: Path
    manifest: Manifest
    audit: Audit | None
    faults: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether the file is the one that was made."""
        return not self.faults

    @property
    def sound(self) -> bool:
        """Whether it is whole and its chains are untouched."""
        return self.whole and self.audit is not None and self.audit.sound

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "file": str(self.path), "whole": self.whole, "sound": self.sound,
            "faults": list(self.faults), "manifest": self.manifest.plain(),
            "audit": None if self.audit is None else self.audit.plain(),
        }  # fmt: skip


def backup_name(made_us: int) -> str:
    """Name a backup after its moment, so that names sort as they were made."""
    return f"ledger-{utc_of(made_us):%Y%m%d-%H%M%S}Z.db"


def backup(ledger: Ledger, target: Path, tell: Tell | None = None) -> Backup:
    """Copy a ledger as it stands at one moment; writers go on meanwhile.

    The copy is checked and its chains are verified before it gets its name.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    target : Path
        The file to make, or a folder that is there.
    tell : callable, optional
        Told how far the verifying has got.

    Raises
    ------
    BadInput
        When there is such a file already, or it cannot be written.
    CannotKeep
        When the ledger's database does not answer.
    """
    made_us = ledger.clock()
    path = target / backup_name(made_us) if target.is_dir() else target
    if path.exists() or manifest_path(path).exists():
        raise BadInput(Fault("there is such a file already", "a new name", file=str(path)))
    with written_beside(path) as part:
        (_copy_file if ledger.dialect == "sqlite" else _copy_rows)(ledger, part)
        faults = _damage(part)
        if faults:
            raise BadInput(Fault("the copy is damaged", faults[0], file=str(path)))
        audit = verify_file(part, tell=tell)
        step, tables, heads = _inside(part)
        manifest = Manifest(
            made_us, step, ledger.dialect, part.stat().st_size, sha256_of(part), tables, heads
        )
        beside = manifest_path(path)
        with written_beside(beside) as note:
            note.write_bytes(manifest.text())
            put_in_place(note, beside)
        try:
            put_in_place(part, path)  # last: where the backup is, its manifest is too
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    return Backup(path, manifest, audit)


def _copy_file(ledger: Ledger, part: Path) -> None:
    """Copy page by page what one reader sees: a writer never makes it begin again."""
    with ledger.reading() as connection:
        connection.begin()
        connection.exec_driver_sql("SELECT count(*) FROM chain").scalar()  # the moment is held
        source: Any = connection.connection.driver_connection
        with closing(sqlite3.connect(part, isolation_level=None)) as copy:
            try:
                source.backup(copy, pages=PAGES)
                copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
            except sqlite3.Error as error:
                raise _unwritten(error, part) from error


def _copy_rows(ledger: Ledger, part: Path) -> None:
    """Copy all tables out of one snapshot into a file of the same step."""
    step = step_of(ledger)
    part.unlink()
    made = Ledger(sqlite_url(part))
    try:
        migrate(made, step)
    finally:
        made.close()
    with closing(sqlite3.connect(part, isolation_level=None)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE")
    part.chmod(0o600)
    engine = create_engine(sqlite_url(part))
    try:
        with ledger.reading() as source:
            source.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with source.begin(), engine.begin() as target:
                copy_tables(source, target)
    finally:
        engine.dispose()


def _unwritten(error: sqlite3.Error, part: Path) -> Exception:
    if "disk is full" in str(error) or "I/O" in str(error):
        return BadInput(
            Fault("cannot be written", "room on its disk", file=str(part.parent), value=str(error))
        )
    return trouble_of(error)


def _damage(path: Path) -> tuple[str, ...]:
    """Have SQLite look through a whole file."""
    try:
        with closing(open_still(path)) as connection:
            found = [row[0] for row in connection.execute("PRAGMA integrity_check(3)")]
            found = [] if found == ["ok"] else found
            found += [
                f"a row of {row[0]} refers to nothing"
                for row in connection.execute("PRAGMA foreign_key_check")
            ][:3]
    except sqlite3.Error as error:
        found = [str(error)]
    except UnicodeDecodeError:  # the words that SQLite would say it in are damaged themselves
        found = ["its tables' own description cannot be read"]
    return tuple(f"the file is damaged: {' '.join(str(one).split())[:120]}" for one in found)


def _inside(path: Path) -> tuple[str, dict[str, int], tuple[Anchor, ...]]:
    """Read a copy's step, its tables' rows and its chains' heads."""
    with closing(open_still(path)) as connection:
        step = connection.execute(f"SELECT version_num FROM {STEP_TABLE}").fetchone()[0]
        names = [
            row[0]
            for row in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' "
                "AND name NOT LIKE 'sqlite_%' ORDER BY name"
            )
            if row[0] != STEP_TABLE
        ]
        tables = {
            name: int(connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0])
            for name in names
        }
        heads = tuple(
            anchor_at(line, int(head), bytes(hash_))
            for line, head, hash_ in connection.execute(
                "SELECT line, head, hash FROM chain ORDER BY line"
            )
        )
    return str(step), tables, heads


def check_backup(path: Path, anchors: tuple[Anchor, ...] = (), tell: Tell | None = None) -> Backup:
    """Look a backup over: the file against its manifest, and its chains.

    Parameters
    ----------
    path : Path
        The backup; its manifest is beside it.
    anchors : tuple of Anchor
        Places that its chains must pass through.
    tell : callable, optional
        Told how far the verifying has got.

    Raises
    ------
    BadInput
        When there is no backup or no manifest.
    """
    manifest = read_manifest(path)
    try:
        size, sha256 = path.stat().st_size, sha256_of(path)
    except OSError as error:
        raise BadInput(Fault("no such backup", file=str(path), value=str(error.strerror))) from None
    faults: list[str] = []
    if size != manifest.size_bytes:
        faults.append(f"the file has {size:,} bytes, and had {manifest.size_bytes:,} when made")
    if sha256 != manifest.sha256:
        faults.append("the file is not the one that was made: its sha256 is another")
    faults += _damage(path)
    try:
        audit = verify_file(path, anchors, tell)
        step, tables, heads = _inside(path)
    except (BadInput, sqlite3.Error, TypeError, ValueError):
        faults.append("the file cannot be read as a ledger")
        return Backup(path, manifest, None, tuple(dict.fromkeys(faults)))
    if (step, tables, heads) != (manifest.step, manifest.tables, manifest.heads):
        faults.append("what is in the file is not what its manifest says")
    return Backup(path, manifest, audit, tuple(faults))
