"""A ledger to tamper with, and somebody who can: guards off, rows changed, hashes made anew."""

from __future__ import annotations

from typing import Any

from sqlalchemy import text

from clew.ledger.events.message import Message
from clew.ledger.store.chain import FIRST_HASH, row_hash
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import EVENT_COLUMNS

NOON_US = 1_764_072_000_000_000
ROWS = 40
LINE = "Line 1"


def message(number: int, line: str = LINE) -> Message:
    return Message(
        line, "turns", NOON_US + number * 1_000_000, "plc", f"k{number}", lane=number % 4 + 1,
        ball=number // 8, lot="SL-207" if number % 5 == 0 else "",
        body={"counts": float(number)},
    )  # fmt: skip


def fill(ledger: Ledger, rows: int = ROWS, line: str = LINE, start: int = 1) -> None:
    ledger.append([message(number, line) for number in range(start, start + rows)])


def guards_off(ledger: Ledger) -> None:
    with ledger.writing() as connection:
        if ledger.dialect == "sqlite":
            connection.execute(text("DROP TRIGGER IF EXISTS event_no_change"))
            connection.execute(text("DROP TRIGGER IF EXISTS event_no_removal"))
        else:
            connection.execute(text("ALTER TABLE event DISABLE TRIGGER ALL"))


def tamper(ledger: Ledger, *statements: str, **values: Any) -> None:
    """Do as who holds the file can."""
    guards_off(ledger)
    with ledger.writing() as connection:
        for statement in statements:
            clause = text(statement)
            names = [name for name in values if f":{name}" in statement]
            connection.execute(clause, {name: values[name] for name in names})


def renumber(ledger: Ledger, above: int, by: int) -> None:
    """Move all rows above one up or down, leaving none in another's way."""
    tamper(
        ledger,
        f"UPDATE event SET seq = -seq WHERE seq > {above}",
        f"UPDATE event SET seq = -seq + ({by}) WHERE seq < 0",
    )


def make_hashes_anew(ledger: Ledger, line: str = LINE) -> None:
    """Rewrite a whole chain so that it fits: the tail after any change is another one then."""
    columns = ", ".join(EVENT_COLUMNS)
    guards_off(ledger)
    with ledger.writing() as connection:
        rows = connection.execute(
            text(f"SELECT {columns} FROM event WHERE line = :line ORDER BY seq"), {"line": line}
        ).all()
        before = FIRST_HASH
        for row in rows:
            before = row_hash(before, tuple(row)[:17])
            connection.execute(
                text("UPDATE event SET hash = :hash WHERE line = :line AND seq = :seq"),
                {"hash": before, "line": line, "seq": row[1]},
            )
        connection.execute(
            text("UPDATE chain SET head = :head, hash = :hash WHERE line = :line"),
            {"head": rows[-1][1], "hash": before, "line": line},
        )
