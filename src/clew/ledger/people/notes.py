"""Every change of people is itself an event, kept together with the change or not at all."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Sequence
from typing import Any

from sqlalchemy.sql.expression import ClauseElement

from clew.ledger.events.message import MILL_LINE, Message
from clew.ledger.store.ledger import Ledger

SOURCE = "people"


class Cursor:
    """The cursor of a transaction that also keeps an event.

    Parameters
    ----------
    ledger : Ledger
        Whose.
    cursor : DB-API cursor
        Inside the transaction.
    """

    def __init__(self, ledger: Ledger, cursor: Any) -> None:
        self._dialect = ledger.engine.dialect
        self._cursor = cursor

    def run(self, statement: ClauseElement) -> int:
        """Run a statement; gives how many rows it touched."""
        compiled = statement.compile(dialect=self._dialect)
        said = dict(compiled.params)
        order: Sequence[str] | None = compiled.positiontup  # type: ignore[attr-defined]
        values = said if order is None else tuple(said[name] for name in order)
        self._cursor.execute(str(compiled), values)
        return int(self._cursor.rowcount)

    def row(self, statement: ClauseElement) -> tuple[Any, ...] | None:
        """Run a question; gives its first row."""
        self.run(statement)
        found = self._cursor.fetchone()
        return None if found is None else tuple(found)


def change_and_note(
    ledger: Ledger, words: str, author: str, change: Callable[[Cursor, int], None]
) -> None:
    """Make a change of people and the note of it, in one transaction.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    words : str
        What is noted on the mill's chain.
    author : str
        Who did it.
    change : callable
        Makes the change with a cursor and the moment [us]; what it raises undoes all of it.

    Raises
    ------
    BadInput
        Whatever the change refuses.
    CannotKeep
        When the database cannot write.
    """
    at_us = ledger.clock()
    note = Message(
        line=MILL_LINE, kind="note", at_us=at_us, source=SOURCE, key=uuid.uuid4().hex,
        author=author, body={"note": words},
    )  # fmt: skip
    ledger.append([note], beside=lambda cursor: change(Cursor(ledger, cursor), at_us))
