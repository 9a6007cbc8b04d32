"""Moving old records out: the beginning of a chain, to files that other programs read as well."""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, delete, func, insert, or_, select

from clew.faults import BadInput, Fault
from clew.ledger.audit.findings import name_of, rows_text
from clew.ledger.audit.walk import Row
from clew.ledger.events.message import MILL_LINE
from clew.ledger.safekeeping.parquet_files import (
    Span,
    check_rows,
    parquet,
    read_span,
    write_parquet,
)
from clew.ledger.safekeeping.whole_files import put_in_place, sha256_of, written_beside
from clew.ledger.store.chain import FIRST_HASH
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import AT_ONCE
from clew.ledger.store.schema import ARCHIVE, EVENT, EVENT_COLUMNS

FOLDER = "archives"
"""Where archives go in the mill folder, where nothing else is said."""
MOST_ROWS = 250_000
"""Rows in one file: so long, and no longer, a writer waits while they leave the ledger."""


@dataclass(frozen=True, slots=True)
class Archived:
    """One archive that was made.

    Attributes
    ----------
    path : Path
        The file.
    span : Span
        Its rows.
    sha256 : bytes
        Of the file.
    """

    path: Path
    span: Span
    sha256: bytes

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "file": str(self.path), "line": self.span.line, "from_seq": self.span.from_seq,
            "upto_seq": self.span.upto_seq, "rows": self.span.rows,
            "upto_hash": self.span.upto_hash.hex(), "sha256": self.sha256.hex(),
        }  # fmt: skip


def archive_name(span: Span) -> str:
    """Name an archive after its line and rows."""
    line = re.sub(r"[^\w-]+", "-", span.line).strip("-") or "mill"
    return f"{line}-{span.from_seq:09d}-{span.upto_seq:09d}.parquet"


def may_go(ledger: Ledger, line: str, before_us: int) -> int:
    """Say up to which row a chain may be moved out.

    Only its beginning may, so that what stays is one chain; every record in it happened and was
    kept before the moment; and no run is cut in two: one that is open, or ended later, stays whole.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : str
        Line.
    before_us : int
        Moment, UTC, microseconds since 1970 [us].

    Returns
    -------
    int
        Last row that may go; 0 where none may.
    """
    mine = EVENT.c.line == line
    with ledger.reading() as connection:
        newer = connection.scalar(
            select(func.min(EVENT.c.seq)).where(
                mine, or_(EVENT.c.at_us >= before_us, EVENT.c.received_us >= before_us)
            )
        )
        last = connection.scalar(select(func.max(EVENT.c.seq)).where(mine)) or 0
        upto = last if newer is None else int(newer) - 1
        if line == MILL_LINE:
            return upto
        for start, end in reversed(_runs(connection, line)):
            if start <= upto and (end is None or end > upto):
                upto = start - 1
    return upto


def _runs(connection: Connection, line: str) -> list[tuple[int, int | None]]:
    """Give the first and last row of each run; no last one of a run that goes on."""
    query = (
        select(EVENT.c.seq, EVENT.c.kind, EVENT.c.run, EVENT.c.body)
        .where(EVENT.c.line == line, EVENT.c.kind.in_(("run start", "run end", "correction")))
        .order_by(EVENT.c.seq)
    )
    found = connection.execute(query).all()
    void = {_of_seq(body) for _, kind, _, body in found if kind == "correction"}
    ends: dict[str, list[int]] = {}
    for seq, kind, name, _ in found:
        if kind == "run end" and seq not in void:  # a corrected end is none to rely on
            ends.setdefault(name, []).append(seq)
    spans: list[tuple[int, int | None]] = []
    for seq, kind, name, _ in found:
        if kind == "run start":
            mine = ends.get(name, [])
            at = bisect_right(mine, seq)
            spans.append((seq, mine[at] if at < len(mine) else None))
    return spans


def _of_seq(body: str) -> int | None:
    try:
        said = json.loads(body).get("of_seq")
    except (ValueError, AttributeError, RecursionError):
        return None
    return said if isinstance(said, int) else None


def archive(ledger: Ledger, line: str, before_us: int, folder: Path) -> tuple[Archived, ...]:
    """Move a chain's old rows out to files.

    A file is whole, on the disk, read back and its chain walked before one row leaves the ledger;
    the rows leave it in the same transaction in which it notes where they went.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : str
        Line; empty for the mill's own chain.
    before_us : int
        Rows from this moment on stay, UTC, microseconds since 1970 [us].
    folder : Path
        Where the files go.

    Returns
    -------
    tuple of Archived
        One a file; none where no row is old enough.

    Raises
    ------
    BadInput
        When the rows are not as they were kept, or the folder cannot be written to.
    CannotKeep
        When the database cannot write.
    """
    parquet()
    upto = may_go(ledger, line, before_us)
    made: list[Archived] = []
    while (span := _next_span(ledger, line, upto)) is not None:
        made.append(_archive_one(ledger, span, folder))
    return tuple(made)


def _next_span(ledger: Ledger, line: str, upto: int) -> Span | None:
    mine = EVENT.c.line == line
    with ledger.reading() as connection:
        first = connection.scalar(select(func.min(EVENT.c.seq)).where(mine))
        if first is None or first > upto:
            return None
        last = min(upto, int(first) + MOST_ROWS - 1)
        gone = connection.execute(
            select(ARCHIVE.c.upto_seq, ARCHIVE.c.upto_hash)
            .where(ARCHIVE.c.line == line)
            .order_by(ARCHIVE.c.upto_seq.desc())
        ).first()
        hash_ = connection.scalar(select(EVENT.c.hash).where(mine, EVENT.c.seq == last))
    before_seq, before = (0, FIRST_HASH) if gone is None else (int(gone[0]), bytes(gone[1]))
    if first != before_seq + 1 or hash_ is None:
        raise _untrue(line, "its rows have gaps")
    return Span(line, int(first), last, before, bytes(hash_))


def _untrue(line: str, value: str) -> BadInput:
    return BadInput(
        Fault(
            "only a chain that is as it was kept goes into an archive",
            "clew ledger verify tells what is wrong",
            key=name_of(line),
            value=value,
        )
    )


def _archive_one(ledger: Ledger, span: Span, folder: Path) -> Archived:
    path = folder / archive_name(span)
    if path.exists() and read_span(path) != span:
        raise BadInput(Fault("there is such a file already", "another folder", file=str(path)))
    query = (
        select(*(EVENT.c[name] for name in EVENT_COLUMNS))
        .where(EVENT.c.line == span.line, EVENT.c.seq.between(span.from_seq, span.upto_seq))
        .order_by(EVENT.c.seq)
    )
    with written_beside(path) as part:
        write_parquet(part, span, _rows(ledger, query))
        findings = check_rows(part, span)
        if findings:
            raise _untrue(span.line, findings[0].words)
        sha256 = sha256_of(part)
        put_in_place(part, path)
    _let_go(ledger, span, path, sha256)
    return Archived(path, span, sha256)


def _rows(ledger: Ledger, query: Select[Any]) -> Iterator[Row]:
    with ledger.reading() as connection:
        for row in connection.execution_options(yield_per=AT_ONCE).execute(query):
            yield tuple(row)


def _let_go(ledger: Ledger, span: Span, path: Path, sha256: bytes) -> None:
    """Note where the rows went and take them away, both or neither."""
    with ledger.writing() as connection:
        connection.execute(
            insert(ARCHIVE).values(
                line=span.line, upto_seq=span.upto_seq, upto_hash=span.upto_hash,
                from_seq=span.from_seq, file=str(path.absolute()), sha256=sha256,
                made_us=ledger.clock(),
            )
        )  # fmt: skip
        gone = connection.execute(
            delete(EVENT).where(EVENT.c.line == span.line, EVENT.c.seq <= span.upto_seq)
        )
        if gone.rowcount != span.rows:
            rows = rows_text(span.from_seq, span.upto_seq)
            raise _untrue(span.line, f"{rows}: {gone.rowcount} found")


def archives_missing(ledger: Ledger) -> tuple[str, ...]:
    """Say which archives are not where the ledger noted them, or do not hold what it noted.

    The note alone proves nothing: who takes rows away could write one. So each file's chain is
    walked, from where the archive before it ends to the row that the ledger goes on from.
    """
    with ledger.reading() as connection:
        noted = connection.execute(
            select(ARCHIVE).order_by(ARCHIVE.c.line, ARCHIVE.c.upto_seq)
        ).all()
    said: list[str] = []
    ends: dict[str, bytes] = {}
    for one in noted:
        path = Path(one.file)
        before = ends.get(one.line, FIRST_HASH)
        ends[one.line] = bytes(one.upto_hash)
        span = Span(one.line, one.from_seq, one.upto_seq, before, bytes(one.upto_hash))
        rows = f"{rows_text(one.from_seq, one.upto_seq)} of {name_of(one.line)}"
        try:
            if sha256_of(path) != bytes(one.sha256):
                said.append(f"the archive of {rows} is another file than was made: {path}")
            elif read_span(path) != span or check_rows(path, span):
                said.append(f"the archive of {rows} does not hold them as they were kept: {path}")
        except BadInput as bad:
            said.append(f"the archive of {rows} cannot be read: {bad.faults[0].what}: {path}")
        except OSError:
            said.append(f"the archive of {rows} is not where it was put: {path}")
    return tuple(said)
