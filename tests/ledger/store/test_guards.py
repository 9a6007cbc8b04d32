"""Rows are never changed and never removed, even by one who goes past Clew to the database."""

from __future__ import annotations

import sqlite3
from typing import Any

import psycopg
import pytest
from tests.services import own_check

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import EVENT_COLUMNS

AT = 1_767_225_600_000_000
Refused = (sqlite3.IntegrityError, psycopg.errors.RaiseException)


@pytest.fixture
def three(ledger: Ledger) -> Ledger:
    ledger.append([Message("north", "feed on", AT, "s", f"{n}", lane=1) for n in range(3)])
    ledger.append([Message("south", "feed on", AT, "s", "0", lane=1)])
    return ledger


def do(ledger: Ledger, statement: str) -> None:
    connection: Any
    if ledger.dialect == "sqlite":
        connection = sqlite3.connect(str(ledger.path), isolation_level=None)
    else:
        connection = psycopg.connect(ledger.url.replace("+psycopg", ""), autocommit=True)
    try:
        connection.execute(statement)
    finally:
        connection.close()


@pytest.mark.parametrize("column", EVENT_COLUMNS)
def test_no_column_can_be_changed(three: Ledger, column: str) -> None:
    before = own_check.rows_of(three.url)
    with pytest.raises(Refused, match="never changed"):
        do(three, f"UPDATE event SET {column} = {column} WHERE line = 'north' AND seq = 2")
    assert own_check.rows_of(three.url) == before


def test_no_row_can_be_removed(three: Ledger) -> None:
    before = own_check.rows_of(three.url)
    for which in ("", " WHERE seq = 1", " WHERE line = 'south'"):
        with pytest.raises(Refused, match=r"never .*removed"):
            do(three, f"DELETE FROM event{which}")
    assert own_check.rows_of(three.url) == before


def test_a_key_stands_once_whoever_writes(three: Ledger) -> None:
    columns = ", ".join(EVENT_COLUMNS).replace("seq", "4")
    with pytest.raises((sqlite3.IntegrityError, psycopg.errors.UniqueViolation)):
        do(three, f"INSERT INTO event SELECT {columns} FROM event WHERE line='north' AND seq = 1")


def test_archived_rows_may_go_and_no_others(three: Ledger) -> None:
    do(
        three,
        "INSERT INTO archive (line, upto_seq, upto_hash, from_seq, file, sha256, made_us) "
        "SELECT line, 2, hash, 1, 'old.parquet', hash, 0 FROM event "
        "WHERE line = 'north' AND seq = 2",
    )
    with pytest.raises(Refused):
        do(three, "DELETE FROM event WHERE line = 'north'")
    with pytest.raises(Refused):
        do(three, "DELETE FROM event WHERE line = 'south'")
    assert len(own_check.rows_of(three.url)) == 4
    with pytest.raises(Refused):
        do(three, "UPDATE event SET lane = 2 WHERE line = 'north' AND seq = 1")
    do(three, "DELETE FROM event WHERE line = 'north' AND seq <= 2")
    assert [row[:2] for row in own_check.rows_of(three.url)] == [("north", 3), ("south", 1)]
    taken = three.append([Message("north", "feed on", AT, "s", "new", lane=1)])
    assert taken[0].seq == 4
