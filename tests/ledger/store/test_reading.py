"""Reading records back: the chain's order, time's order, and what they name."""

from __future__ import annotations

import pytest

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import (
    AT_ONCE,
    chain_records,
    head_of,
    heads_of,
    lines_of,
    records_in_time,
    records_naming,
)

AT = 1_767_225_600_000_000
LAST_MOMENTS = [5, 3, 9, 3, 1]


@pytest.fixture
def five(ledger: Ledger) -> Ledger:
    """Five records on each of two lines, not in the order of time."""
    kinds = ("doff", "weighing", "doff", "tie", "weighing")
    for line in ("north", "south"):
        ledger.append([
            Message(line, kind, AT + at, "s", f"{place}", lane=1 + place % 2, cone="C1" * (at == 3),
                    run=f"R{line[0]}", token="" if place else "T")
            for place, (kind, at) in enumerate(zip(kinds, LAST_MOMENTS, strict=True))
        ])  # fmt: skip
    return ledger


def test_nothing_is_there_at_first(ledger: Ledger) -> None:
    assert lines_of(ledger) == ()
    assert heads_of(ledger) == {}
    assert head_of(ledger, "north") == (0, b"")
    assert list(chain_records(ledger, "north")) == []
    assert list(records_in_time(ledger, "north")) == []


def test_the_chain_in_its_order(five: Ledger) -> None:
    assert [one.at_us - AT for one in chain_records(five, "north")] == LAST_MOMENTS
    assert [one.seq for one in chain_records(five, "north", after_seq=2)] == [3, 4, 5]
    assert [one.seq for one in chain_records(five, "north", after_seq=1, upto_seq=3)] == [2, 3]
    assert {one.line for one in chain_records(five, "south")} == {"south"}


def test_the_order_of_time(five: Ledger) -> None:
    def seqs(**wanted: object) -> list[int]:
        return [one.seq for one in records_in_time(five, "north", **wanted)]  # type: ignore[arg-type]

    assert seqs() == [5, 2, 4, 1, 3]  # at one moment, the chain's order
    assert seqs(latest_first=True) == [3, 1, 4, 2, 5]
    assert seqs(latest_first=True, most=2) == [3, 1]
    assert seqs(most=3) == [5, 2, 4]
    assert seqs(from_us=AT + 3, upto_us=AT + 5) == [2, 4, 1]
    assert seqs(from_us=AT + 10) == []
    assert seqs(kinds=["doff"]) == [1, 3]
    assert seqs(kinds=["doff", "tie"], upto_us=AT + 5) == [4, 1]
    assert seqs(lane=2) == [2, 4]
    assert seqs(lane=2, kinds=["tie"]) == [4]


def test_all_that_name_a_thing(five: Ledger) -> None:
    found = [(one.line, one.seq) for one in records_naming(five, "cone", "C1")]
    assert found == [("north", 2), ("north", 4), ("south", 2), ("south", 4)]
    assert [one.seq for one in records_naming(five, "run", "Rn")] == [5, 2, 4, 1, 3]
    assert [one.line for one in records_naming(five, "token", "T")] == ["north", "south"]
    assert list(records_naming(five, "lot", "D1")) == []


@pytest.mark.parametrize(("what", "name"), [("cone", ""), ("author", "Ada"), ("1=1; --", "x")])
def test_only_traced_things_can_be_asked_for(five: Ledger, what: str, name: str) -> None:
    with pytest.raises(ValueError, match="nothing that is traced"):
        list(records_naming(five, what, name))


def test_a_long_answer_comes_whole(ledger: Ledger) -> None:
    """More rows than are fetched at once, while others write."""
    many = AT_ONCE + 5
    ledger.append([Message("north", "feed on", AT + n, "s", f"{n}", lane=1) for n in range(many)])
    answer = chain_records(ledger, "north")
    first = next(answer)
    assert ledger.append([Message("north", "feed off", AT, "s", "x", lane=1)])[0].seq == many + 1
    rest = [one.seq for one in answer]
    assert [first.seq, *rest] == list(range(1, many + 1))
