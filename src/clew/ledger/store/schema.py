"""The tables of the ledger, one schema for SQLite and PostgreSQL."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    text,
)

METADATA = MetaData()
"""Every table of the ledger hangs on this; Alembic compares it with a database."""

EVENT_COLUMNS = (
    "line", "seq", "at_us", "received_us", "kind", "source", "key", "author", "lane", "ball",
    "run", "cone", "lot", "package", "token", "body", "flags", "hash",
)  # fmt: skip
"""Columns of `event`, in the order of `clew.ledger.events.message.Record`."""

CHAIN = Table(
    "chain",
    METADATA,
    Column("line", Text, primary_key=True),
    Column("head", BigInteger, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Column("newest_us", BigInteger, nullable=False),
    comment="a line's chain: its last row, that row's hash, the latest moment it speaks of",
)

EVENT = Table(
    "event",
    METADATA,
    Column("line", Text, nullable=False),
    Column("seq", BigInteger, nullable=False),
    Column("at_us", BigInteger, nullable=False),
    Column("received_us", BigInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("lane", Integer, nullable=False),
    Column("ball", BigInteger),
    Column("run", Text, nullable=False),
    Column("cone", Text, nullable=False),
    Column("lot", Text, nullable=False),
    Column("package", Text, nullable=False),
    Column("token", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("flags", Text, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    PrimaryKeyConstraint("line", "seq", name="event_pk"),
    UniqueConstraint("line", "source", "key", name="event_once"),
    comment="what happened; rows are only ever added",
)

NAMED = ("run", "cone", "lot", "package", "token")
"""Columns by which a thing is traced; each has an index over the rows that fill it."""

Index("event_by_time", EVENT.c.line, EVENT.c.at_us)
# the lane last: a question about one lane is answered without looking at the others' rows
Index("event_by_kind", EVENT.c.line, EVENT.c.kind, EVENT.c.at_us, EVENT.c.lane)
for _name in NAMED:
    _filled = text(f"{_name} <> ''")
    Index(
        f"event_by_{_name}",
        EVENT.c[_name],
        EVENT.c.at_us,
        sqlite_where=_filled,
        postgresql_where=_filled,
    )

ARCHIVE = Table(
    "archive",
    METADATA,
    Column("line", Text, nullable=False),
    Column("upto_seq", BigInteger, nullable=False),
    Column("upto_hash", LargeBinary, nullable=False),
    Column("from_seq", BigInteger, nullable=False),
    Column("file", Text, nullable=False),
    Column("sha256", LargeBinary, nullable=False),
    Column("made_us", BigInteger, nullable=False),
    PrimaryKeyConstraint("line", "upto_seq", name="archive_pk"),
    comment="rows that went out to a file: only these may be taken from event",
)

REFUSED = Table(
    "refused",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("received_us", BigInteger, nullable=False),
    Column("path", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("body", Text, nullable=False),
    comment="messages that could not be read, as they came, with the reason",
)

FILE_READ = Table(
    "file_read",
    METADATA,
    Column("path", Text, primary_key=True),
    Column("sha256_head", LargeBinary, nullable=False),
    Column("bytes_read", BigInteger, nullable=False),
    Column("rows_read", BigInteger, nullable=False),
    Column("changed_us", BigInteger, nullable=False),
    comment="how far a file that grows has been taken in",
)
