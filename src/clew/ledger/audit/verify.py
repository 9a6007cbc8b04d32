"""Verifying a ledger, or a copy of one: every chain from its first row to its last.

This goes below the SQL toolkit: a chain of millions of rows is read once, and none is held.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.audit.anchors import Anchor, anchor_at
from clew.ledger.audit.findings import (
    AnchorSeen,
    Audit,
    Finding,
    LineAudit,
    finding,
    name_of,
    rows_text,
)
from clew.ledger.audit.walk import Bounds, Row, walk_chain
from clew.ledger.events.message import MILL_WORD
from clew.ledger.store.append import Dialect
from clew.ledger.store.chain import FIRST_HASH
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import head_of, lines_of
from clew.ledger.store.schema import EVENT_COLUMNS
from clew.ledger.store.trouble import trouble_of

AT_ONCE = 5_000
"""Rows fetched at once."""

Tell = Callable[[str, int], None]
"""Told the line and how many of its rows have been read."""
_COLUMNS = ", ".join(EVENT_COLUMNS)


class Rows:
    """What an audit reads, off a driver's own connection inside one transaction.

    Parameters
    ----------
    connection : DB-API connection
        That sees one state of the ledger as long as it is used.
    dialect : {"sqlite", "postgresql"}
        What database it is.
    """

    def __init__(self, connection: Any, dialect: Dialect) -> None:
        self.connection, self.dialect = connection, dialect
        self.one = "?" if dialect == "sqlite" else "%s"

    def ask(self, query: str, values: Sequence[Any] = ()) -> list[Any]:
        """Run a query, ``?`` for each value."""
        with closing(self.connection.cursor()) as cursor:
            cursor.execute(query.replace("?", self.one), tuple(values))
            return list(cursor.fetchall())

    def lines(self) -> list[str]:
        """Name all lines: those that are listed, and those that only have rows."""
        found = {row[0] for row in self.ask("SELECT line FROM chain")}
        found |= {row[0] for row in self.ask("SELECT line FROM archive")}
        at = self.ask("SELECT min(line) FROM event")[0][0]
        while at is not None:  # one look into the index a line: no reading of all rows
            found.add(at)
            at = self.ask("SELECT min(line) FROM event WHERE line > ?", (at,))[0][0]
        return sorted(line for line in found if isinstance(line, str))

    def chain(self, line: str, after_seq: int = -(2**63)) -> Iterator[Row]:
        """Read a line's rows in the order of their numbers."""
        query = f"SELECT {_COLUMNS} FROM event WHERE line = ? AND seq > ? ORDER BY seq"
        if self.dialect == "sqlite":
            yield from self._sqlite(query, line, after_seq)
            return
        with self.connection.cursor(name="clew_audit") as cursor:
            cursor.execute(query.replace("?", self.one), (line, after_seq))
            while rows := cursor.fetchmany(AT_ONCE):
                yield from rows

    def _sqlite(self, query: str, line: str, after_seq: int) -> Iterator[Row]:
        cursor = self.connection.cursor()
        try:
            cursor.execute(query, (line, after_seq))
            while True:
                try:
                    rows = cursor.fetchmany(AT_ONCE)
                except sqlite3.OperationalError as error:
                    if "decode" not in str(error):
                        raise
                    # somebody put bytes there that are no text: read on, and let the hash tell
                    cursor = self._lenient(query, line, after_seq)
                    continue
                if not rows:
                    return
                yield from rows
                after_seq = rows[-1][1]
        finally:
            cursor.close()

    def _lenient(self, query: str, line: str, after_seq: int) -> Any:
        self.connection.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
        cursor = self.connection.cursor()
        cursor.execute(query, (line, after_seq))
        return cursor


def verify_rows(rows: Rows, anchors: Sequence[Anchor] = (), tell: Tell | None = None) -> Audit:
    """Verify all chains that a connection shows.

    Parameters
    ----------
    rows : Rows
        Where they are read.
    anchors : sequence of Anchor
        Places that they must pass through.
    tell : callable, optional
        Told how far it has got.

    Returns
    -------
    Audit
        What was found.
    """
    audits: list[LineAudit] = []
    seen: list[AnchorSeen] = []
    lines = rows.lines()
    for line in lines:
        bounds, faults = _bounds(rows, line)
        mine = [one for one in anchors if one.line == line]
        source = rows.chain(line)
        audit, hashes = walk_chain(
            line, source if tell is None else _told(source, line, tell), bounds,
            {one.seq for one in mine},
        )  # fmt: skip
        if faults:
            audit = LineAudit(
                line, audit.rows, audit.first, audit.last, audit.archived_upto, audit.hash,
                (*faults, *audit.findings), audit.unchecked,
            )  # fmt: skip
        audits.append(audit)
        seen += _held_against(mine, audit, hashes, bounds)
    for one in anchors:
        if one.line not in lines:
            seen.append(AnchorSeen(one, "no line", f"there is no chain of {name_of(one.line)}"))
    return Audit(tuple(audits), tuple(seen), _strays(rows, audits))


def _told(source: Iterator[Row], line: str, tell: Tell) -> Iterator[Row]:
    for number, row in enumerate(source, 1):
        yield row
        if number % 100_000 == 0:
            tell(line, number)


def _bounds(rows: Rows, line: str) -> tuple[Bounds, list[Finding]]:
    head = rows.ask("SELECT head, hash FROM chain WHERE line = ?", (line,))
    archives = rows.ask(
        "SELECT from_seq, upto_seq, upto_hash FROM archive WHERE line = ? ORDER BY upto_seq",
        (line,),
    )
    faults: list[Finding] = []
    at, hash_ = 0, FIRST_HASH
    for from_seq, upto_seq, upto_hash in archives:
        if type(upto_seq) is not int or type(from_seq) is not int:
            more = f"an archive of {name_of(line)} is noted with rows that are no numbers"
            faults.append(finding("archive", line, 0, 0, more))
            continue
        if from_seq != at + 1:
            more = (
                f"the archives of {name_of(line)} do not join: one ends with row {at:,}, "
                f"the next begins with row {from_seq:,}"
            )
            faults.append(finding("archive", line, 0, 0, more))
        at, hash_ = upto_seq, _hash(upto_hash)
    if not head or type(head[0][0]) is not int:
        return Bounds(at, hash_), faults
    return Bounds(at, hash_, head[0][0], _hash(head[0][1])), faults


def _hash(found: object) -> bytes:
    """Take a hash as it stands; nothing where somebody put there what is none."""
    return bytes(found) if isinstance(found, (bytes, memoryview)) else b""


def _strays(rows: Rows, audits: Sequence[LineAudit]) -> tuple[Finding, ...]:
    """Find rows that no walk came upon: their line is no text."""
    whole = int(rows.ask("SELECT count(*) FROM event")[0][0])
    read = sum(one.rows for one in audits)
    if whole == read:
        return ()
    more = f"{abs(whole - read):,} of {whole:,} rows belong to no line that can be named"
    return (finding("no line", "", 0, 0, more),)


def _held_against(
    anchors: Sequence[Anchor], audit: LineAudit, hashes: dict[int, bytes], bounds: Bounds
) -> list[AnchorSeen]:
    """Say of each anchor of a line whether its chain passes through it."""
    seen: list[AnchorSeen] = []
    name, passed = name_of(audit.line), 0
    end = audit.last if audit.rows else bounds.before_seq
    for one in sorted(anchors, key=lambda anchor: anchor.seq):
        at = f"the anchor at row {one.seq:,} of {name}"
        hash_ = hashes.get(one.seq)
        if hash_ is None and one.seq == bounds.before_seq and one.seq:
            hash_ = bounds.before_hash
        if hash_ is not None and one.holds(hash_):
            passed = one.seq
            seen.append(AnchorSeen(one, "passes", f"the chain passes through {at}"))
        elif hash_ is not None:
            since = rows_text(passed + 1, one.seq)
            some = "" if one.seq == passed + 1 else "something in "
            words = (
                f"the chain does not pass through {at}: {some}{since} is not as kept when the "
                "anchor was printed"
            )
            seen.append(AnchorSeen(one, "other rows", words))
        elif one.seq > end:
            words = f"{at} lies beyond the end, row {end:,}: the newest rows were taken away"
            seen.append(AnchorSeen(one, "beyond the end", words))
        elif one.seq < bounds.before_seq:
            words = f"{at} lies in an archive; it is seen once that is back (clew ledger readmit)"
            seen.append(AnchorSeen(one, "in an archive", words))
        else:
            seen.append(AnchorSeen(one, "missing", f"the row of {at} is not there"))
    return seen


def verify(ledger: Ledger, anchors: Sequence[Anchor] = (), tell: Tell | None = None) -> Audit:
    """Verify a ledger as it stands at one moment; writers go on meanwhile.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    anchors : sequence of Anchor
        Places that its chains must pass through.
    tell : callable, optional
        Told how far it has got.

    Returns
    -------
    Audit
        What was found, and what could not be seen.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    with ledger.reading() as connection:
        if ledger.dialect == "postgresql":
            connection.execution_options(isolation_level="REPEATABLE READ")
        connection.begin()
        driver: Any = connection.connection.driver_connection
        try:
            return verify_rows(Rows(driver, ledger.dialect), anchors, tell)
        except _driver_error(ledger) as error:
            raise trouble_of(error) from error
        finally:
            if ledger.dialect == "sqlite":
                driver.text_factory = str


def _driver_error(ledger: Ledger) -> type[Exception]:
    driver = ledger.engine.dialect.dbapi
    error = OSError if driver is None else driver.Error
    assert isinstance(error, type)
    return error


def verify_file(path: Path, anchors: Sequence[Anchor] = (), tell: Tell | None = None) -> Audit:
    """Verify a copy of a ledger in a file, without touching the file.

    Parameters
    ----------
    path : Path
        A SQLite file that nobody writes to.
    anchors : sequence of Anchor
        Places that its chains must pass through.
    tell : callable, optional
        Told how far it has got.

    Raises
    ------
    BadInput
        When it is no ledger.
    """
    with closing(open_still(path)) as connection:
        try:
            return verify_rows(Rows(connection, "sqlite"), anchors, tell)
        except sqlite3.Error as error:
            raise BadInput(
                Fault("no sound ledger", "a backup", file=str(path), value=str(error)[:80])
            ) from None


def open_still(path: Path) -> sqlite3.Connection:
    """Open a SQLite file that nobody writes to, so that not one byte of it changes.

    Raises
    ------
    BadInput
        When there is no such file.
    """
    try:
        return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    except sqlite3.Error as error:
        raise BadInput(
            Fault("cannot be opened", "a backup", file=str(path), value=str(error)[:80])
        ) from None


def anchor_of(ledger: Ledger, line: str) -> Anchor:
    """Give the anchor of a line's newest row, to be printed or kept elsewhere.

    Raises
    ------
    BadInput
        When the line has no row yet.
    """
    seq, hash_ = head_of(ledger, line)
    if not seq:
        known = ", ".join(one or MILL_WORD for one in lines_of(ledger))
        raise BadInput(
            Fault("no record of that line", "one of " + (known or "none"), key="line", value=line)
        )
    return anchor_at(line, seq, hash_)
