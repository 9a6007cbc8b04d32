"""Reading records back: by place in the chain, by time and kind, by what they name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing
from typing import Any

from sqlalchemy import Select, select

from clew.ledger.events.message import Record
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import CHAIN, EVENT, NAMED

AT_ONCE = 2_000
"""Rows fetched at once from a long answer."""


def record_of(row: Sequence[Any]) -> Record:
    """Make a record of a row of `event`, its columns in their order."""
    return Record(*row)


def lines_of(ledger: Ledger) -> tuple[str, ...]:
    """Name the lines that have a chain."""
    with ledger.reading() as connection:
        return tuple(connection.scalars(select(CHAIN.c.line).order_by(CHAIN.c.line)))


def head_of(ledger: Ledger, line: str) -> tuple[int, bytes]:
    """Give a chain's last place and its hash; (0, nothing) for a line that has none."""
    with ledger.reading() as connection:
        query = select(CHAIN.c.head, CHAIN.c.hash).where(CHAIN.c.line == line)
        row = connection.execute(query).first()
    return (0, b"") if row is None else (int(row[0]), bytes(row[1]))


def heads_of(ledger: Ledger) -> dict[str, int]:
    """Give every chain's last place: what has been added shows in it."""
    with ledger.reading() as connection:
        return {line: int(head) for line, head in connection.execute(
            select(CHAIN.c.line, CHAIN.c.head)
        )}  # fmt: skip


def chain_records(
    ledger: Ledger, line: str, *, after_seq: int = 0, upto_seq: int | None = None
) -> Iterator[Record]:
    """Read a line's records in the order of its chain."""
    query = select(EVENT).where(EVENT.c.line == line, EVENT.c.seq > after_seq)
    if upto_seq is not None:
        query = query.where(EVENT.c.seq <= upto_seq)
    yield from run(ledger, query.order_by(EVENT.c.seq))


def records_in_time(
    ledger: Ledger,
    line: str,
    *,
    from_us: int | None = None,
    upto_us: int | None = None,
    kinds: Sequence[str] = (),
    lane: int | None = None,
    latest_first: bool = False,
    most: int | None = None,
) -> Iterator[Record]:
    """Read a line's records in order of time.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : str
        The line; empty for the mill's own chain.
    from_us, upto_us : int, optional
        Earliest and latest moment, both within [us].
    kinds : sequence of str
        Kinds that are wanted; all where empty.
    lane : int, optional
        Lane that is wanted.
    latest_first : bool
        Backwards.
    most : int, optional
        No more than so many.

    Yields
    ------
    Record
        At one moment in the order of the chain.
    """
    query = select(EVENT).where(EVENT.c.line == line)
    if kinds:
        query = query.where(EVENT.c.kind.in_(kinds))
    if lane is not None:
        query = query.where(EVENT.c.lane == lane)
    if from_us is not None:
        query = query.where(EVENT.c.at_us >= from_us)
    if upto_us is not None:
        query = query.where(EVENT.c.at_us <= upto_us)
    order = (
        (EVENT.c.at_us.desc(), EVENT.c.seq.desc()) if latest_first else (EVENT.c.at_us, EVENT.c.seq)
    )
    query = query.order_by(*order)
    yield from run(ledger, query if most is None else query.limit(most))


def records_naming(ledger: Ledger, what: str, name: str) -> Iterator[Record]:
    """Read, in order of time, all records that name a run, cone, lot, package or token.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    what : str
        Column: one of `clew.ledger.store.schema.NAMED`.
    name : str
        What it is called; not empty.
    """
    if what not in NAMED or not name:
        raise ValueError(f"{what} {name!r} is nothing that is traced")
    column = EVENT.c[what]
    # the second condition is what the index over filled rows asks for
    query = select(EVENT).where(column == name, column != "")
    yield from run(ledger, query.order_by(EVENT.c.at_us, EVENT.c.line, EVENT.c.seq))


def run(ledger: Ledger, query: Select[Any]) -> Iterator[Record]:
    """Run a query for whole rows of `event` and give them one by one."""
    # closed by hand: a reader that stops half-way would leave a server's cursor open
    with (
        ledger.reading() as connection,
        closing(connection.execution_options(yield_per=AT_ONCE).execute(query)) as found,
    ):
        for row in found:
            yield record_of(row)
