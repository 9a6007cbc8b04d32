"""Taking an archive's rows back in: into the ledger they came from, or into another one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from clew.faults import BadInput, Fault
from clew.ledger.audit.findings import name_of, rows_text
from clew.ledger.safekeeping.parquet_files import Span, check_rows, read_rows, read_span
from clew.ledger.safekeeping.whole_files import sha256_of
from clew.ledger.store.append import AHEAD_US
from clew.ledger.store.chain import FIRST_HASH
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import ARCHIVE, CHAIN, EVENT, EVENT_COLUMNS

AT_ONCE = 1_000
"""Rows written at once."""


@dataclass(frozen=True, slots=True)
class Readmitted:
    """An archive that was taken back in.

    Attributes
    ----------
    path : Path
        The file.
    span : Span
        Its rows.
    own : bool
        Whether they came from this ledger; else they went on its chain as another's.
    """

    path: Path
    span: Span
    own: bool

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "file": str(self.path), "line": self.span.line, "from_seq": self.span.from_seq,
            "upto_seq": self.span.upto_seq, "rows": self.span.rows, "own": self.own,
        }  # fmt: skip


def readmit(ledger: Ledger, path: Path) -> Readmitted:
    """Take an archive's rows back in, all of them or none.

    Into the ledger that they came from the newest archive goes first, for a chain has no gaps. A
    ledger of another place takes them from the first archive on.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    path : Path
        The archive.

    Raises
    ------
    BadInput
        When it is damaged or changed, or its rows do not join those that are there.
    CannotKeep
        When the database cannot write.
    """
    span = read_span(path)
    sha256 = sha256_of(path)
    findings = check_rows(path, span)
    if findings:
        raise BadInput(
            Fault("the archive is not as it was made", file=str(path), value=findings[0].words)
        )
    with ledger.writing() as connection:
        own = _joins(connection, span, sha256, path)
        try:
            newest_us = _put_in(connection, path)
        except IntegrityError as error:
            raise BadInput(
                Fault(
                    "a message of the archive was sent and kept once more since",
                    "each message once; the archive can be read by itself",
                    file=str(path),
                )
            ) from error
        if own:
            connection.execute(
                delete(ARCHIVE).where(
                    ARCHIVE.c.line == span.line, ARCHIVE.c.upto_seq == span.upto_seq
                )
            )
        else:
            _move_head(connection, span, newest_us)
    return Readmitted(path, span, own)


def _joins(connection: Connection, span: Span, sha256: bytes, path: Path) -> bool:
    """See that the rows join the chain; say whether they stood in it before."""
    noted = connection.execute(
        select(ARCHIVE).where(ARCHIVE.c.line == span.line).order_by(ARCHIVE.c.upto_seq.desc())
    ).all()
    mine = next((one for one in noted if one.upto_seq == span.upto_seq), None)
    rows = f"{rows_text(span.from_seq, span.upto_seq)} of {name_of(span.line)}"
    if mine is not None:
        if bytes(mine.sha256) != sha256 or bytes(mine.upto_hash) != span.upto_hash:
            raise BadInput(
                Fault("another file than the one that was made", "that one", file=str(path))
            )
        if mine is not noted[0]:
            raise BadInput(
                Fault(
                    "a newer archive must come back first",
                    noted[0].file,
                    file=str(path),
                    value=rows,
                )
            )
        return True
    row = connection.execute(
        select(CHAIN.c.head, CHAIN.c.hash).where(CHAIN.c.line == span.line).with_for_update()
    ).first()
    head, hash_ = (0, FIRST_HASH) if row is None else (int(row[0]), bytes(row[1]))
    if span.upto_seq <= head:
        there = connection.scalar(
            select(EVENT.c.hash).where(EVENT.c.line == span.line, EVENT.c.seq == span.upto_seq)
        )
        if there is not None and bytes(there) == span.upto_hash:
            raise BadInput(Fault("these records are there", file=str(path), value=rows))
    if (head, hash_) != (span.from_seq - 1, span.before_hash):
        raise BadInput(
            Fault(
                "the archive does not join what is there",
                f"a chain that ends with row {span.from_seq - 1:,}, the very same",
                file=str(path),
                value=f"row {head:,}",
            )
        )
    return False


def _put_in(connection: Connection, path: Path) -> int:
    """Write the rows; give the latest moment that they speak of."""
    rows: Iterator[Any] = read_rows(path)
    newest_us = 0
    place, received = EVENT_COLUMNS.index("at_us"), EVENT_COLUMNS.index("received_us")
    while part := list(islice(rows, AT_ONCE)):
        connection.execute(
            insert(EVENT), [dict(zip(EVENT_COLUMNS, row, strict=True)) for row in part]
        )
        for row in part:
            if row[place] <= row[received] + AHEAD_US:
                newest_us = max(newest_us, row[place])
    return newest_us


def _move_head(connection: Connection, span: Span, newest_us: int) -> None:
    there = connection.scalar(
        select(func.count()).select_from(CHAIN).where(CHAIN.c.line == span.line)
    )
    stands = {"head": span.upto_seq, "hash": span.upto_hash}
    if not there:
        connection.execute(insert(CHAIN).values(line=span.line, newest_us=newest_us, **stands))
        return
    before = connection.scalar(select(CHAIN.c.newest_us).where(CHAIN.c.line == span.line)) or 0
    connection.execute(
        update(CHAIN)
        .where(CHAIN.c.line == span.line)
        .values(newest_us=max(int(before), newest_us), **stands)
    )
