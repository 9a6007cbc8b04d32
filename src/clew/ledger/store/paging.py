"""A chain read a page at a time, as programs that follow it do."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select

from clew.ledger.events.message import Record
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import run
from clew.ledger.store.schema import CHAIN, EVENT


def page_of_chain(
    ledger: Ledger, line: str, *, after_seq: int = 0, kinds: Sequence[str] = (), most: int = 100
) -> list[Record]:
    """Read what stands in a line's chain after a place.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : str
        The line; empty for the mill's own chain.
    after_seq : int
        Place after which to begin; 0 for the first.
    kinds : sequence of str
        Kinds that are wanted; all where empty.
    most : int
        No more than so many.

    Returns
    -------
    list of Record
        In the order of the chain.
    """
    query = select(EVENT).where(EVENT.c.line == line, EVENT.c.seq > after_seq)
    if kinds:
        query = query.where(EVENT.c.kind.in_(kinds))
    return list(run(ledger, query.order_by(EVENT.c.seq).limit(most)))


def chains_of(ledger: Ledger) -> list[tuple[str, int, bytes]]:
    """Give every chain's line, last place and hash there, by line."""
    with ledger.reading() as connection:
        query = select(CHAIN.c.line, CHAIN.c.head, CHAIN.c.hash).order_by(CHAIN.c.line)
        return [
            (line, int(head), bytes(digest)) for line, head, digest in connection.execute(query)
        ]
