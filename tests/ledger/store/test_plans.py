"""The questions the ledger is asked use its indexes, on both databases, by the plans they show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import event

from clew.ledger.events.message import Message
from clew.ledger.store.append import Statements
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, records_in_time, records_naming

AT = 1_767_225_600_000_000
ROWS = 12_000


@pytest.fixture
def full(ledger_url: str) -> Iterator[Ledger]:
    """A ledger with enough rows that reading them all would not be the cheapest."""
    opened = open_ledger(ledger_url, clock=lambda: AT)
    kinds = ("weighing", "doff", "turns", "feed")
    for first in range(0, ROWS, 2_000):
        opened.append([
            Message(
                "north" if n % 3 else "south", kinds[n % 4], AT + n * 1_000_000, "scale", f"k{n}",
                lane=1 + n % 8, run=f"R{n // 100}" if n % 2 else "", cone=f"C{n}" if n % 5 else "",
                lot=f"D{n // 50}" if n % 2 else "", package=f"P{n}" if n % 7 == 0 else "",
                token=f"T{n}" if n % 9 == 0 else "",
            )
            for n in range(first, first + 2_000)
        ])  # fmt: skip
    with opened.writing() as connection:
        connection.exec_driver_sql("ANALYZE")
    yield opened
    opened.close()


@contextmanager
def asked(ledger: Ledger) -> Iterator[list[tuple[str, Any]]]:
    """What goes to the driver while the block runs."""
    found: list[tuple[str, Any]] = []

    def listen(_c: object, _cursor: object, text: str, values: Any, *_: object) -> None:
        if text.lstrip().upper().startswith("SELECT"):
            found.append((text, values))

    event.listen(ledger.engine, "before_cursor_execute", listen)
    yield found
    event.remove(ledger.engine, "before_cursor_execute", listen)


def plan(ledger: Ledger, text: str, values: Any) -> str:
    word = "EXPLAIN QUERY PLAN " if ledger.dialect == "sqlite" else "EXPLAIN "
    with ledger.reading() as connection:
        cursor = connection.connection.cursor()
        cursor.execute(word + text, values)
        return "\n".join(str(row[-1]) for row in cursor.fetchall())


def all_rows_are_read(said: str) -> bool:
    return "SCAN event" in said or "Seq Scan on event" in said


def test_a_plan_without_an_index_is_told(full: Ledger) -> None:
    """That the check below can fail."""
    assert all_rows_are_read(plan(full, "SELECT * FROM event WHERE author = 'Ada'", ()))


@pytest.mark.parametrize("many", [1, 40])
def test_keys_are_looked_up_by_index(full: Ledger, many: int) -> None:
    say = Statements(full.dialect)
    keys = [f"k{3 * n + 1}" for n in range(many)]
    text, values = (
        (say.known, ["north", "scale", keys[0]])
        if many == 1
        else say.known_many("north", "scale", keys)
    )
    said = plan(full, text, values)
    assert "event_once" in said or "sqlite_autoindex_event_2" in said
    assert not all_rows_are_read(said)


QUESTIONS: dict[str, tuple[Callable[[Ledger], object], tuple[str, ...]]] = {
    "a piece of the chain": (
        lambda ledger: list(chain_records(ledger, "north", after_seq=100, upto_seq=140)),
        ("event_pk", "sqlite_autoindex_event_1"),
    ),
    "an hour": (
        lambda ledger: list(
            records_in_time(ledger, "north", from_us=AT + 10**9, upto_us=AT + 10**9 + 10**8)
        ),
        ("event_by_time",),
    ),
    "the last weighings": (
        lambda ledger: list(
            records_in_time(ledger, "north", kinds=["weighing"], latest_first=True, most=20)
        ),
        ("event_by_kind", "event_by_time"),
    ),
    "an hour of one kind": (
        lambda ledger: list(
            records_in_time(ledger, "north", kinds=["doff"], from_us=AT, upto_us=AT + 10**9)
        ),
        ("event_by_kind",),
    ),
    **{
        f"all that name a {what}": (
            lambda ledger, what=what, name=name: list(records_naming(ledger, what, name)),
            (f"event_by_{what}",),
        )
        for what, name in {
            "run": "R63",
            "cone": "C63",
            "lot": "D63",
            "package": "P63",
            "token": "T63",
        }.items()
    },
}


def test_reading_goes_by_index(full: Ledger) -> None:
    for question, (ask, indexes) in QUESTIONS.items():
        with asked(full) as statements:
            assert ask(full), question
        assert len(statements) == 1
        said = plan(full, *statements[0])
        assert any(one in said for one in indexes), f"{question}: {said}"
        assert not all_rows_are_read(said), f"{question}: {said}"
