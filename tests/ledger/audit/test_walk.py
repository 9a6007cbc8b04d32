"""Whatever several tamperers do together: the walk ends, words it, and never calls it sound."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.ledger.audit.tampering import LINE, fill, tamper

from clew.ledger.audit.findings import Audit
from clew.ledger.audit.verify import verify
from clew.ledger.audit.walk import Bounds, walk_chain
from clew.ledger.store.chain import FIRST_HASH, row_hash
from clew.ledger.store.ledger import Ledger

SEQ, KEY, HASH = 1, 6, 17


def chain(length: int) -> list[tuple[Any, ...]]:
    rows, before = [], FIRST_HASH
    for number in range(1, length + 1):
        row = (
            LINE, number, 5, 5, "turns", "plc", f"k{number}", "", 1, None, "", "", "", "", "",
            f'{{"counts":{number}}}', "",
        )  # fmt: skip
        before = row_hash(before, row)
        rows.append((*row, before))
    return rows


def put(row: tuple[Any, ...], place: int, value: Any) -> tuple[Any, ...]:
    return (*row[:place], value, *row[place + 1 :])


def tampered(rows: list[tuple[Any, ...]], chance: Random) -> list[tuple[Any, ...]]:
    """Do one thing to some row."""
    one, other = chance.randrange(len(rows)), chance.randrange(len(rows))
    what = chance.choice(("content", "hash", "gone", "swapped", "renumbered", "odd"))
    if what == "content":
        rows[one] = put(rows[one], KEY, "another")
    elif what == "hash":
        rows[one] = put(rows[one], HASH, chance.choice((bytes(32), rows[other][HASH], b"", None)))
    elif what == "gone":
        del rows[one]
    elif what == "swapped":
        first, second = rows[one][SEQ], rows[other][SEQ]
        rows[one] = put(rows[one], SEQ, second)
        if other != one:
            rows[other] = put(rows[other], SEQ, first)
    elif what == "renumbered":
        by = chance.choice((1, -1, 2, -2))
        rows[one:] = [
            put(row, SEQ, row[SEQ] + by) if isinstance(row[SEQ], int) else row for row in rows[one:]
        ]
    else:
        rows[one] = put(rows[one], SEQ, chance.choice((0, -3, 999, "x", 1.5, None)))
    return rows


@settings(max_examples=400)
@given(length=st.integers(1, 24), times=st.integers(1, 4), seed=st.integers(0, 2**32))
def test_several_changes_at_once_are_never_called_sound(length: int, times: int, seed: int) -> None:
    chance = Random(seed)
    kept = chain(length)
    rows = list(kept)
    for _ in range(times):
        if rows:
            rows = tampered(rows, chance)
    numbers = (int, float)
    rows.sort(key=lambda row: (0, row[SEQ]) if isinstance(row[SEQ], numbers) else (1, 0))
    audit, _ = walk_chain(LINE, rows, Bounds(0, FIRST_HASH, length, kept[-1][HASH]))
    assert audit.sound == (rows == kept)
    assert Audit((audit,)).words()
    assert audit.plain()["line"] == LINE


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE chain SET head = 'many'",
        "UPDATE chain SET hash = 'none'",
        "UPDATE event SET hash = 7 WHERE seq = 5",
        "INSERT INTO archive VALUES ('Line 1', 'x', 'y', 'z', 'f', 's', 0)",
    ],
)
def test_values_of_another_kind_are_found(ledger: Ledger, statement: str) -> None:
    if ledger.dialect != "sqlite":
        pytest.skip("PostgreSQL takes none")
    fill(ledger)
    tamper(ledger, statement)
    assert not verify(ledger).sound
