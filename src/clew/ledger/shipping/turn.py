"""Closing and shipping one after another: what was decided holds still when it is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

from sqlalchemy import Connection, text

from clew.languages import say
from clew.ledger.events.message import Message, Taken
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep

Made = TypeVar("Made")

KINDS = ("case closed", "pallet closed", "shipped", "returned", "lot decision", "correction")
"""Kinds of records that an answer about packages rests on."""
TRIES = 40
"""How often work is done anew because somebody else was quicker, before it is given up."""
TURN = 4_310_007
"""The number under which closing and shipping wait for each other on a server."""

_COUNT = (
    "SELECT COALESCE(SUM((SELECT COUNT(*) FROM event WHERE event.line = chain.line "
    f"AND event.kind IN ({', '.join(repr(one) for one in KINDS)}))), 0) FROM chain"
)


class _Overtaken(Exception):  # noqa: N818 - no error: somebody else was quicker
    """Records came in between reading and keeping."""


def keep_in_turn(
    ledger: Ledger,
    work: Callable[[], Made],
    messages_of: Callable[[Made], Sequence[Message]],
    *,
    tries: int = TRIES,
) -> tuple[Made, tuple[Taken, ...]]:
    """Work out messages from what the ledger holds, and keep them only if that still holds.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    work : callable
        Reads the ledger and works out what is to be kept; done anew when others were quicker. What
        it raises goes through, and nothing is kept.
    messages_of : callable
        Gives the messages of what was worked out, each with a key of its own that no other has;
        none: nothing is kept.
    tries : int
        How often, before it is given up.

    Returns
    -------
    (object, tuple of Taken)
        What was worked out, and what became of its messages.

    Raises
    ------
    CannotKeep
        When the database cannot write, or others were quicker every time.
    ValueError
        When a message's key was used before: that message was not kept.

    Notes
    -----
    Records of `KINDS` are counted before the work and again inside the transaction that keeps the
    messages. SQLite has one writer at a time; on a server the second count waits for its turn at a
    lock, so it sees what the one before has kept. Where the counts differ by more than our own
    messages, everything is rolled back. Two can so never take one serial, one case, one delivery
    number. Source: DERIVED, an optimistic check under a lock.
    """
    for _ in range(tries):
        stood = _stand(ledger)
        made = work()
        messages = tuple(messages_of(made))
        if not messages:
            if _stand(ledger) != stood:
                continue
            return made, ()
        wanted = stood + sum(one.kind in KINDS for one in messages)

        def still(cursor: Any, wanted: int = wanted) -> None:
            if ledger.dialect == "postgresql":
                cursor.execute(f"SELECT pg_advisory_xact_lock({TURN})")
            cursor.execute(_COUNT)
            if int(cursor.fetchone()[0]) != wanted:
                raise _Overtaken

        try:
            taken = ledger.append(messages, beside=still)
        except _Overtaken:
            continue
        if any(one.outcome != "kept" for one in taken):
            raise ValueError("a key that another message has")
        return made, taken
    raise CannotKeep(say("others close cases and ship without a pause; try again"), for_good=False)


@contextmanager
def reading_once(ledger: Ledger) -> Iterator[Connection]:
    """Open a connection whose every answer is of one moment, whatever others keep meanwhile.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    with ledger.reading() as connection:
        if ledger.dialect == "postgresql":  # SQLite reads so by itself
            connection.execution_options(isolation_level="REPEATABLE READ")
        yield connection


def _stand(ledger: Ledger) -> int:
    with ledger.reading() as connection:
        return int(connection.scalar(text(_COUNT)) or 0)
