"""The one way rows get into the ledger: in order, once each, chained, and synced before it returns.

This goes below the SQL toolkit, for it is done for every turn of every winder.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Literal

from clew.ledger.events.message import Message, Taken
from clew.ledger.store.chain import FIRST_HASH, body_text, row_hash
from clew.ledger.store.schema import EVENT_COLUMNS

Dialect = Literal["sqlite", "postgresql"]
Beside = Callable[[Any], None]
"""What is written in the same transaction, through the driver's own cursor."""

MOST_KEYS = 500
"""Keys that are looked up at once: SQLite takes no more than some hundreds of values."""

LATE_US = 60_000_000
"""A message this much older than the newest of its line is late [us]: assumed."""
AHEAD_US = 300_000_000
"""A message this far ahead of our clock has a clock that is wrong [us]: assumed."""


class Statements:
    """The statements of one dialect.

    Parameters
    ----------
    dialect : {"sqlite", "postgresql"}
        Whose.
    """

    def __init__(self, dialect: Dialect) -> None:
        one = "?" if dialect == "sqlite" else "%s"
        columns = ", ".join(EVENT_COLUMNS)
        self.dialect = dialect
        # said, whatever is usual in that database: who waited for a line's turn then sees all of it
        self.begin = (
            "BEGIN IMMEDIATE" if dialect == "sqlite" else "BEGIN ISOLATION LEVEL READ COMMITTED"
        )
        self.new_chain = (
            f"INSERT INTO chain (line, head, hash, newest_us) VALUES ({one}, 0, {one}, 0) "
            "ON CONFLICT (line) DO NOTHING"
        )
        lock = "" if dialect == "sqlite" else " FOR UPDATE"
        self.head = f"SELECT head, hash, newest_us FROM chain WHERE line = {one}{lock}"
        self.set_head = (
            f"UPDATE chain SET head = {one}, hash = {one}, newest_us = {one} WHERE line = {one}"
        )
        self.insert = (
            f"INSERT INTO event ({columns}) VALUES ({', '.join([one] * len(EVENT_COLUMNS))})"
        )
        kept = "key, seq, at_us, kind, author, lane, ball, run, cone, lot, package, token, body"
        self.known = (
            f"SELECT {kept} FROM event WHERE line = {one} AND source = {one} AND key = {one}"
        )
        self._known_many = (
            f"SELECT {kept} FROM event WHERE line = {one} AND source = {one} AND key IN (%s)"
            if dialect == "sqlite"
            else f"SELECT {kept} FROM event WHERE line = {one} AND source = {one} AND key = ANY(%s)"
        )

    def known_many(self, line: str, source: str, keys: list[str]) -> tuple[str, list[Any]]:
        """Ask which of some keys are there already."""
        if self.dialect == "sqlite":
            return self._known_many % ", ".join("?" * len(keys)), [line, source, *keys]
        return self._known_many, [line, source, keys]


def append(
    cursor: Any,
    say: Statements,
    messages: Sequence[Message],
    received_us: int,
    beside: Beside | None = None,
) -> tuple[Taken, ...]:
    """Append messages in one transaction that the caller has begun and commits.

    Parameters
    ----------
    cursor : DB-API cursor
        Of a connection inside a transaction.
    say : Statements
        Of its dialect.
    messages : sequence of Message
        In the order in which they are to stand.
    received_us : int
        Our clock, UTC, microseconds since 1970 [us].
    beside : callable, optional
        Called with the cursor, to write what must be kept together with the rows.

    Returns
    -------
    tuple of Taken
        One a message, in their order.
    """
    found: list[Taken | None] = [None] * len(messages)
    by_line: dict[str, list[int]] = {}
    for place, message in enumerate(messages):
        by_line.setdefault(message.line, []).append(place)
    for line in sorted(by_line):  # one order for all writers: no two wait for each other
        _append_line(cursor, say, line, by_line[line], messages, received_us, found)
    if beside is not None:
        beside(cursor)
    return tuple(one for one in found if one is not None)


def _append_line(
    cursor: Any,
    say: Statements,
    line: str,
    places: Sequence[int],
    messages: Sequence[Message],
    received_us: int,
    found: list[Taken | None],
) -> None:
    head, before, newest_us = _locked_head(cursor, say, line)
    known = _known(cursor, say, line, [messages[place] for place in places])
    rows: list[tuple[Any, ...]] = []
    for place in places:
        message = messages[place]
        body = body_text(message.body)
        content = (
            message.at_us, message.kind, message.author, message.lane, message.ball, message.run,
            message.cone, message.lot, message.package, message.token, body,
        )  # fmt: skip
        first = known.get((message.source, message.key))
        if first is not None:
            same = first[1] == content
            found[place] = Taken("already" if same else "clash", line, first[0])
            continue
        head += 1
        flags = (*message.flags, *_odd(message, newest_us, received_us))
        row = (
            line, head, message.at_us, received_us, message.kind, message.source, message.key,
            message.author, message.lane, message.ball, message.run, message.cone, message.lot,
            message.package, message.token, body, ",".join(flags),
        )  # fmt: skip
        before = row_hash(before, row)
        rows.append((*row, before))
        known[message.source, message.key] = (head, content)
        found[place] = Taken("kept", line, head, flags)
        if message.at_us <= received_us + AHEAD_US:  # a clock gone wild makes nobody else late
            newest_us = max(newest_us, message.at_us)
    if len(rows) == 1:
        cursor.execute(say.insert, rows[0])
    elif rows:
        cursor.executemany(say.insert, rows)
    if rows:
        cursor.execute(say.set_head, (head, before, newest_us, line))


def _locked_head(cursor: Any, say: Statements, line: str) -> tuple[int, bytes, int]:
    for _ in range(2):
        cursor.execute(say.head, (line,))
        row = cursor.fetchone()
        if row is not None:
            return int(row[0]), bytes(row[1]), int(row[2])
        cursor.execute(say.new_chain, (line, FIRST_HASH))
    raise AssertionError("a chain that was just made is not there")


Known = dict[tuple[str, str], tuple[int, tuple[Any, ...]]]


def _known(cursor: Any, say: Statements, line: str, messages: Sequence[Message]) -> Known:
    """Look up what is there already of some messages' keys."""
    by_source: dict[str, list[str]] = {}
    for message in messages:
        by_source.setdefault(message.source, []).append(message.key)
    known: Known = {}
    for source, keys in by_source.items():
        if len(keys) == 1:
            cursor.execute(say.known, (line, source, keys[0]))
            for row in cursor.fetchall():
                known[source, row[0]] = (int(row[1]), tuple(row[2:]))
            continue
        for first in range(0, len(keys), MOST_KEYS):
            text, values = say.known_many(line, source, keys[first : first + MOST_KEYS])
            cursor.execute(text, values)
            for row in cursor.fetchall():
                known[source, row[0]] = (int(row[1]), tuple(row[2:]))
    return known


def _odd(message: Message, newest_us: int, received_us: int) -> tuple[str, ...]:
    """Say what is odd about a message's time, beside those that came before."""
    if message.at_us > received_us + AHEAD_US:
        return ("ahead of our clock",)
    if message.at_us < newest_us - LATE_US:
        return ("late",)
    if message.at_us < newest_us:
        return ("out of order",)
    return ()
