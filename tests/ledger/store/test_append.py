"""Appending: once each, in order, chained, and all or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.services import own_check

from clew.ledger.events.message import MILL_LINE, Message, Taken
from clew.ledger.store.append import AHEAD_US, LATE_US, MOST_KEYS
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, head_of, heads_of, lines_of

AT = 1_767_225_600_000_000


def weighed(key: str, *, line: str = "north", at_us: int = AT, mass_g: float = 200.0) -> Message:
    return Message(
        line, "weighing", at_us, "scale 1", key, "Ada", 3, 17, lot="D1", body={"mass_g": mass_g}
    )


@pytest.fixture
def steady(ledger_url: str) -> Iterator[Ledger]:
    """A ledger whose clock stands still, an hour after the messages."""
    opened = open_ledger(ledger_url, clock=lambda: AT + 3_600_000_000)
    yield opened
    opened.close()


def test_a_message_becomes_the_record_it_says(steady: Ledger) -> None:
    message = Message(
        "north", "banded", AT, "tablet", "k1", "Ada", 3, 17, "R1", "C1", "D1", "P1", "T1",
        {"code": "é☃", "z": 1.5, "a": [1, None, True]}, ("odd",),
    )  # fmt: skip
    assert steady.append([message]) == (Taken("kept", "north", 1, ("odd",)),)
    (record,) = chain_records(steady, "north")
    for name in (
        "line", "kind", "at_us", "source", "key", "author", "lane", "ball", "run", "cone", "lot",
        "package", "token",
    ):  # fmt: skip
        assert getattr(record, name) == getattr(message, name), name
    assert record.fields() == message.body
    assert record.body == '{"a":[1,null,true],"code":"é☃","z":1.5}'
    assert record.flag_words() == ("odd",)
    assert record.received_us == AT + 3_600_000_000
    assert (record.seq, record.hash) == head_of(steady, "north")


def test_a_repeat_changes_nothing(steady: Ledger) -> None:
    steady.append([weighed("a"), weighed("b")])
    before = own_check.rows_of(steady.url)
    assert steady.append([weighed("a")]) == (Taken("already", "north", 1),)
    assert steady.append([weighed("b"), weighed("a")]) == (
        Taken("already", "north", 2), Taken("already", "north", 1),
    )  # fmt: skip
    assert own_check.rows_of(steady.url) == before


def test_another_message_under_a_known_key_is_a_clash(steady: Ledger) -> None:
    steady.append([weighed("a")])
    assert steady.append([weighed("a", mass_g=201.0)]) == (Taken("clash", "north", 1),)
    assert steady.append([weighed("a", at_us=AT + 1)]) == (Taken("clash", "north", 1),)
    assert [record.fields() for record in chain_records(steady, "north")] == [{"mass_g": 200.0}]


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "length check"}, {"author": "Ben"}, {"lane": 4}, {"ball": None}, {"run": "R"},
        {"cone": "C"}, {"lot": ""}, {"package": "P"}, {"token": "T"}, {"body": {}},
    ],
    ids=lambda change: next(iter(change)),
)  # fmt: skip
def test_every_column_is_part_of_what_must_agree(steady: Ledger, change: dict[str, Any]) -> None:
    steady.append([weighed("a")])
    (taken,) = steady.append([replace(weighed("a"), **change)])
    assert taken.outcome == "clash"


def test_repeats_within_one_call(steady: Ledger) -> None:
    taken = steady.append([weighed("a"), weighed("a"), weighed("a", mass_g=1.0), weighed("b")])
    assert [one.outcome for one in taken] == ["kept", "already", "clash", "kept"]
    assert [one.seq for one in taken] == [1, 1, 1, 2]


def test_keys_are_told_apart_by_source_and_by_line(steady: Ledger) -> None:
    others = [
        weighed("a"), replace(weighed("a"), source="scale 2"), weighed("a", line="south"),
        weighed("a", line=MILL_LINE),
    ]  # fmt: skip
    assert [one.outcome for one in steady.append(others)] == ["kept"] * 4
    assert heads_of(steady) == {"north": 2, "south": 1, MILL_LINE: 1}
    assert lines_of(steady) == (MILL_LINE, "north", "south")


def test_several_lines_in_one_call_keep_their_order(steady: Ledger) -> None:
    batch = [weighed(f"k{n}", line=("south", "north", MILL_LINE)[n % 3]) for n in range(10)]
    taken = steady.append(batch)
    assert [(one.line, one.seq) for one in taken] == [
        (("south", "north", MILL_LINE)[n % 3], 1 + n // 3) for n in range(10)
    ]
    assert [one.key for one in chain_records(steady, "south")] == ["k0", "k3", "k6", "k9"]
    assert own_check.chain_faults(steady.url) == []


def test_more_keys_than_are_asked_for_at_once(steady: Ledger) -> None:
    many = [weighed(f"k{n}", at_us=AT + n) for n in range(2 * MOST_KEYS + 3)]
    assert {one.outcome for one in steady.append(many)} == {"kept"}
    again = steady.append(many[::-1])
    assert [one.outcome for one in again] == ["already"] * len(many)
    assert [one.seq for one in again] == list(range(len(many), 0, -1))


def test_nothing_to_keep(steady: Ledger) -> None:
    assert steady.append([]) == ()
    assert heads_of(steady) == {}


def test_late_out_of_order_and_ahead(steady: Ledger) -> None:
    now_us = AT + 3_600_000_000
    times = {
        "first": (AT, ()),
        "same": (AT, ()),
        "a little before": (AT - 1, ("out of order",)),
        "just not late": (AT - LATE_US, ("out of order",)),
        "late": (AT - LATE_US - 1, ("late",)),
        "at the edge": (now_us + AHEAD_US, ()),
        "ahead": (now_us + AHEAD_US + 1, ("ahead of our clock",)),
        # the clock gone wild makes nobody late, the one at the edge does
        "after it": (now_us + AHEAD_US - 1, ("out of order",)),
    }
    for key, (at_us, flags) in times.items():
        (taken,) = steady.append([weighed(key, at_us=at_us)])
        assert (key, taken.outcome, taken.flags) == (key, "kept", flags)
    assert [one.flag_words() for one in chain_records(steady, "north")] == [
        flags for _, flags in times.values()
    ]


def test_lateness_is_of_one_line(steady: Ledger) -> None:
    steady.append([weighed("a", at_us=AT)])
    (taken,) = steady.append([weighed("b", line="south", at_us=AT - 10 * LATE_US)])
    assert taken.flags == ()


def test_what_is_written_beside_stands_and_falls_with_the_rows(steady: Ledger) -> None:
    one = "?" if steady.dialect == "sqlite" else "%s"
    insert = (
        "INSERT INTO file_read (path, sha256_head, bytes_read, rows_read, changed_us) "
        f"VALUES ({one}, {one}, 5, 1, 0)"
    )

    def beside(cursor: Any) -> None:
        cursor.execute(insert, ("events.csv", b"\0"))

    def beside_and_fail(cursor: Any) -> None:
        cursor.execute(insert, ("other.csv", b"\0"))
        raise RuntimeError("out of the middle")

    steady.append([weighed("a")], beside=beside)
    with pytest.raises(RuntimeError, match="out of the middle"):
        steady.append([weighed("b"), weighed("c", line="south")], beside=beside_and_fail)
    assert own_check.ask(steady.url, "SELECT path FROM file_read") == [("events.csv",)]
    assert heads_of(steady) == {"north": 1}
    assert steady.append([], beside=lambda cursor: cursor.execute("DELETE FROM file_read")) == ()
    assert own_check.ask(steady.url, "SELECT path FROM file_read") == []
    assert [one.seq for one in steady.append([weighed("b")])] == [2]


def test_a_row_that_cannot_be_written_takes_the_others_with_it(steady: Ledger) -> None:
    with pytest.raises(ValueError, match="JSON"):
        steady.append([weighed("a"), weighed("b", mass_g=float("nan"))])
    assert heads_of(steady) == {}
    assert steady.trouble is None
    assert steady.append([weighed("a")])[0].outcome == "kept"


texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
numbers = st.floats(allow_nan=False, allow_infinity=False)
bodies = st.dictionaries(texts, st.none() | st.booleans() | numbers | texts | st.lists(texts))


@given(batches=st.lists(st.lists(st.tuples(
    st.sampled_from(["north", "süd", MILL_LINE]), texts, st.integers(0, 9), texts, bodies,
    st.none() | st.integers(0, 2**53), st.integers(-(2**40), 2**40),
), max_size=6), max_size=5))  # fmt: skip
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_chain_holds_whatever_is_appended(
    steady: Ledger, batches: list[list[tuple[Any, ...]]]
) -> None:
    """The hash is worked out again without Clew; the database is the one of all examples."""
    for batch in batches:
        messages = [
            Message(line, "note", AT + at, text, f"{number}", text, 1, ball, lot=text, body=body)
            for line, text, number, _, body, ball, at in batch
        ]
        taken = steady.append(messages)
        assert len(taken) == len(messages)
    assert own_check.chain_faults(steady.url) == []
    assert own_check.ask(
        steady.url,
        "SELECT line, source, key FROM event GROUP BY line, source, key HAVING count(*) > 1",
    ) == []  # fmt: skip
