"""Whether an event that has a message's key already is the same, taken in by somebody else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import select

from clew.ledger.events.message import Message, Record, Taken
from clew.ledger.store.chain import body_text
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import record_of
from clew.ledger.store.schema import EVENT


def same_event(ledger: Ledger, clashes: Sequence[tuple[Message, Taken]]) -> list[bool]:
    """Say of each clash whether both say the same, whoever vouches for it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    clashes : sequence of (Message, Taken)
        Messages that were not kept, and where the event stands that has their key.

    Returns
    -------
    list of bool
        One a clash.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    there: dict[tuple[str, int], Record] = {}
    for line in sorted({taken.line for _, taken in clashes}):
        places = [taken.seq for _, taken in clashes if taken.line == line]
        query = select(EVENT).where(EVENT.c.line == line, EVENT.c.seq.in_(places))
        with ledger.reading() as connection:
            for row in connection.execute(query):
                there[line, row.seq] = record_of(row)
    found = [there.get((taken.line, taken.seq)) for _, taken in clashes]
    return [
        other is not None and _content(message) == _content(other)
        for (message, _), other in zip(clashes, found, strict=True)
    ]


def _content(of: Message | Record) -> tuple[Any, ...]:
    body = of.body if isinstance(of.body, str) else body_text(of.body)
    return (of.kind, of.at_us, of.lane, of.ball, of.run, of.cone, of.lot, of.package, of.token,
            body)  # fmt: skip
