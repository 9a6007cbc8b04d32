"""The one table of kinds holds together."""

from __future__ import annotations

import pytest

from clew.ledger.events.kinds import KINDS, TRACKED, KindOf
from clew.ledger.events.reading import HEAD, NAMES, Sender, read_message
from clew.line.tracker.events import KINDS as TRACKER_KINDS


def test_the_tracker_and_the_ledger_mean_the_same_kinds() -> None:
    assert set(TRACKED) == set(TRACKER_KINDS)
    assert set(TRACKED) <= set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_written_out(kind: str) -> None:
    of: KindOf = KINDS[kind]
    assert of.words
    assert not of.words.endswith(".")
    assert kind == " ".join(kind.casefold().split())
    names = [field.name for field in of.fields]
    assert len(set(names)) == len(names)
    assert not set(names) & {*HEAD, *NAMES}, "a field and a column of one name"
    assert not set(of.must) & set(of.may)
    for field in of.fields:
        assert field.words
        assert of.field(field.name) is field
        if field.low is not None and field.high is not None:
            assert field.low < field.high
        if field.low is not None or field.high is not None:
            assert field.type in ("number", "whole", "numbers")
        if field.among:
            assert field.type == "text"
    assert of.field("no such field") is None


EXAMPLE = {
    "number": 1.5, "whole": 3, "text": "words", "yes": True, "texts": ["a", "b"],
    "numbers": {"1": 985.0},
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_said_in_full_and_in_short(kind: str) -> None:
    of = KINDS[kind]
    head = {"kind": kind, "line": "north", "at": "2026-03-29T05:40:00Z", "key": "k"}
    if of.where == "lane":
        head["lane"] = 2  # type: ignore[assignment]
    names = {name: 7 if name == "ball" else name.upper() for name in (*of.must, *of.may)}
    fields = {
        field.name: field.among[0] if field.among else EXAMPLE[field.type] for field in of.fields
    }
    full = read_message({**head, **names, **fields}, Sender("s"))
    assert full.body == fields
    assert {name: getattr(full, name) for name in names} == names
    assert full.line == ("" if of.where == "mill" else "north")
    short = read_message(
        {
            **head,
            **{name: value for name, value in names.items() if name in of.must},
            **{one.name: fields[one.name] for one in of.fields if one.must},
        },
        Sender("s"),
    )
    assert set(short.body) == {one.name for one in of.fields if one.must}
