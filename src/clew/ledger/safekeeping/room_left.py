"""How much room the ledger's disk has, and whether anything can be kept at all: for the pages."""

from __future__ import annotations

import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from clew.languages import figure, say
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep, trouble_of

Level = Literal["enough", "low", "nearly none", "cannot keep"]

LOW_BYTES = 2_000_000_000
"""Below this the lead is told [bytes]: assumed, some years of one line's records."""
NEARLY_NONE_BYTES = 200_000_000
"""Below this the next backup may not fit, and soon no record will [bytes]: assumed."""
PROBE_BYTES = 65_536
"""What is written, synced and taken away again to see whether the disk takes anything."""


@dataclass(frozen=True, slots=True)
class RoomLeft:
    """Whether the ledger can keep what is reported.

    Attributes
    ----------
    level : str
        ``enough``, ``low``, ``nearly none`` or ``cannot keep``.
    words : str
        A sentence for the page; empty where there is enough.
    free_bytes : int or None
        Room on the disk; None where the database is on another machine.
    can_keep : bool
        Whether it can be written.
    reason : str
        Why it cannot.
    """

    level: Level
    words: str
    free_bytes: int | None
    can_keep: bool
    reason: str = ""

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "level": self.level, "words": self.words, "free_bytes": self.free_bytes,
            "can_keep": self.can_keep, "reason": self.reason,
        }  # fmt: skip


def room_text(size_bytes: int) -> str:
    """Write a size: "1.4 GB", "180 MB", "140 kB"."""
    if size_bytes >= 1_000_000_000:
        return f"{size_bytes / 1e9:.1f} GB"
    return f"{size_bytes / 1e6:.0f} MB" if size_bytes >= 1_000_000 else f"{size_bytes / 1e3:.0f} kB"


def level_of(free_bytes: int | None) -> Level:
    """Say what some room means.

    Parameters
    ----------
    free_bytes : int or None
        Room on the disk; None where nobody knows.
    """
    if free_bytes is None or free_bytes >= LOW_BYTES:
        return "enough"
    return "low" if free_bytes >= NEARLY_NONE_BYTES else "nearly none"


def room_left(ledger: Ledger) -> RoomLeft:
    """Look at the disk, and try to write without keeping anything.

    Parameters
    ----------
    ledger : Ledger
        The ledger.

    Returns
    -------
    RoomLeft
        What to tell; this raises nothing.
    """
    path = ledger.path
    free_bytes = None if path is None else _free_bytes(path.parent)
    try:
        _probe(ledger)
    except CannotKeep as trouble:
        words = say(
            "Nothing can be kept: {reason}. Write on paper until this is mended.",
            reason=trouble.reason,
        )
        return RoomLeft("cannot keep", words, free_bytes, False, trouble.reason)
    level = level_of(free_bytes)
    words = ""
    if free_bytes is not None and level != "enough":
        room = figure(room_text(free_bytes))
        words = (
            say("The disk that holds the ledger has {room} left. Make room soon.", room=room)
            if level == "low"
            else say(
                "The disk that holds the ledger has {room} left. Make room now: when it is full, "
                "nothing can be kept.",
                room=room,
            )
        )
    return RoomLeft(level, words, free_bytes, True)


def _free_bytes(folder: Path) -> int | None:
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return None


def _probe(ledger: Ledger) -> None:
    """Write to the database and take it back; where it is a file, to the disk beside it as well."""
    path = ledger.path
    if path is not None and not path.exists():
        raise CannotKeep(say("the ledger's file is gone"), for_good=True)
    try:
        with ledger.engine.execution_options(writes=True).connect() as connection:
            turn = connection.begin()
            try:
                connection.execute(text("UPDATE chain SET head = head WHERE line = ''"))
            finally:
                turn.rollback()
    except SQLAlchemyError as error:
        raise trouble_of(getattr(error, "orig", None) or error) from error
    if path is not None:
        try:
            with tempfile.TemporaryFile(dir=path.parent) as file:
                file.write(bytes(PROBE_BYTES))
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise trouble_of(error) from error
