"""Files that are whole or not there: written beside, synced to the disk, then renamed."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.ledger.store.opening import OWNER_ONLY


def sha256_of(path: Path) -> bytes:
    """Hash a whole file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").digest()


def sync_file(path: Path) -> None:
    """Wait until a file, or a folder's list of files, is on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def put_in_place(part: Path, path: Path) -> None:
    """Give a finished file its name; after a crash either all of it is there or nothing."""
    sync_file(part)
    part.replace(path)
    sync_file(path.parent)


@contextmanager
def written_beside(path: Path) -> Iterator[Path]:
    """Hand out a name to write under beside a file's own; take it away when that fails.

    Raises
    ------
    BadInput
        When the folder cannot be written to.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        clear(part)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))
        yield part
    except OSError as error:
        raise BadInput(
            Fault(
                "cannot be written",
                "a folder that can be written to, with room",
                file=str(path),
                value=str(error.strerror or error),
            )
        ) from error
    finally:
        with suppress(OSError):
            clear(part)


def clear(path: Path) -> None:
    """Take a database file away, with what SQLite keeps beside it."""
    for one in family(path):
        one.unlink(missing_ok=True)


def family(path: Path) -> tuple[Path, ...]:
    """Name a database file and what SQLite may keep beside it."""
    return (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal")))
