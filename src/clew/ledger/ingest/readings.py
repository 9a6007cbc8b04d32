"""How the rows of a file become messages: one way for each form of file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Protocol

from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.ingest.events_csv import EVENT_COLUMNS, Shape, event_object
from clew.ledger.ingest.rows import FoundRow


class Reading(Protocol):
    """How the rows of one form of file become messages."""

    @property
    def columns(self) -> tuple[str, ...]:
        """Keys that may stand in a CSV file's heading."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Columns that must stand there."""

    @property
    def shape(self) -> Shape:
        """Makes values of a CSV row's cells."""

    @property
    def from_top(self) -> bool:
        """Whether a row can only be read after all rows before it."""

    def fresh(self) -> Reading:
        """Begin a file."""

    def messages(self, row: FoundRow, sender: Sender) -> list[Message]:
        """Make messages of one row; raises `BadInput` with everything that is wrong with it."""


class EventRows:
    """Rows that are flat messages themselves."""

    columns = EVENT_COLUMNS
    needs: tuple[str, ...] = ("kind", "at")
    shape: Shape = staticmethod(event_object)
    from_top = False

    def fresh(self) -> EventRows:
        """Begin a file."""
        return self

    def messages(self, row: FoundRow, sender: Sender) -> list[Message]:
        """Make the one message of a row."""
        assert row.found is not None
        key = "" if row.found.get("key") else row_key(row.key_line, row.found)
        return [read_message(row.found, replace(sender, key=key) if key else sender)]


EVENT_ROWS = EventRows()


def row_key(line: int, found: Mapping[str, Any]) -> str:
    """Make the key of a row that brings none.

    Parameters
    ----------
    line : int
        Its line in the file.
    found : mapping
        What stands in it.

    Returns
    -------
    str
        The same for the same row on the same line, however its cells are quoted and their
        columns ordered, whatever the file is called, and however long it has grown.
    """
    text = json.dumps(found, sort_keys=True, default=str)
    return f"row {line} {hashlib.sha256(text.encode()).hexdigest()[:20]}"
