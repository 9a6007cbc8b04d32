"""Ten thousand malformed messages: each is refused with its reason, or kept whole."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.services import own_check

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS, KindOf
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, lines_of

MANY = [pytest.param(3_000, id="many"), pytest.param(12_000, id="more", marks=pytest.mark.long)]
ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -0.0, -1, 1, 1.5, 1e308, -1e308, 2**53, 2**53 + 1, 2**63, -(2**63),
    10**30, 10**400, float("nan"), float("inf"), -float("inf"), "", " ", "\0", "a\0b", "\ud800",
    "\udfffx", "\u2028", "\x1b[31m", "\n", "a\nb", "\ufeff", "e\u0301", "𐀀", "x" * 121, "x" * 2_001,
    "é" * 2_000, [], {}, [[]], {"a": {}}, [None], [1, 2], ["a"] * 2_001, ["a\0"], {"1": None},
    {"1": 5}, {"01": 5}, {"x": 5}, {"1": float("nan")}, {str(n): 1 for n in range(70)},
    "2026-03-29T05:40:00Z", "2026-03-29T01:30:00", "9999-12-31T23:59:59-14:00", "weighing", "doff",
    "1", "nan", "null", {"kind": "doff"}, "'; DROP TABLE event; --",
)  # fmt: skip


def valid(draw: random.Random, number: int) -> dict[str, Any]:
    """A message as it should be, with a key of its own."""
    kind = draw.choice(list(KINDS))
    of: KindOf = KINDS[kind]
    found: dict[str, Any] = {
        "kind": kind, "line": draw.choice(["north", "süd"]), "key": f"k{number}",
        "at": f"2026-03-{draw.randint(1, 31):02}T{draw.randint(0, 23):02}:40:00Z",
    }  # fmt: skip
    if of.where == "lane":
        found["lane"] = draw.randint(1, 64)
    for name in of.must + tuple(one for one in of.may if draw.random() < 0.5):
        found[name] = draw.randint(0, 500) if name == "ball" else f"{name} {draw.randint(0, 9)}"
    for field in of.fields:
        if field.must or draw.random() < 0.6:
            found[field.name] = {
                "number": round(draw.uniform(-10.0, 30_000.0), 3),
                "whole": draw.choice([draw.randint(-3, 900), float(draw.randint(0, 9))]),
                "text": draw.choice(field.among or ("words", "é☃\n2", " padded ")),
                "yes": draw.random() < 0.5,
                "texts": ["a", "b" * draw.randint(1, 120)],
                "numbers": {"1": 985, "2": 985.5},
            }[field.type]
    return found


def change_a_value(draw: random.Random, found: dict[str, Any]) -> object:
    found[draw.choice(list(found))] = draw.choice(ODD_VALUES)
    return found


def change_several(draw: random.Random, found: dict[str, Any]) -> object:
    for _ in range(draw.randint(2, 6)):
        change_a_value(draw, found)
    return found


def leave_out(draw: random.Random, found: dict[str, Any]) -> object:
    del found[draw.choice(list(found))]
    return found


def add_a_field(draw: random.Random, found: dict[str, Any]) -> object:
    names = ["mass_g", "nonsense", "", "\0", "\ud800", "seq", "hash", "flags", "x" * 5_000, "ball",
             "cone", "package", "kind ", "LINE", "lane", "author", "source"]  # fmt: skip
    found[draw.choice(names)] = draw.choice(ODD_VALUES)
    return found


def other_kind(draw: random.Random, found: dict[str, Any]) -> object:
    found["kind"] = draw.choice([*KINDS, "Cone_Loaded", "CONE  loaded", "tie\0", "none", ""])
    return found


def anything(draw: random.Random, _found: object, depth: int = 0) -> object:
    """Any JSON at all."""
    if depth > 4 or draw.random() < 0.4:
        return draw.choice(ODD_VALUES)
    if draw.random() < 0.5:
        return [anything(draw, None, depth + 1) for _ in range(draw.randint(0, 5))]
    return {
        draw.choice(["kind", "at", "key", "line", "lane", "x", "\0", "mass_g"]):
            anything(draw, None, depth + 1)
        for _ in range(draw.randint(0, 6))
    }  # fmt: skip


def deep(draw: random.Random, found: dict[str, Any]) -> object:
    value: object = 1
    for _ in range(draw.choice([3, 50, 300])):
        value = [value] if draw.random() < 0.5 else {"a": value}
    found[draw.choice(["note", "key", "line", "counts", "done", "kind"])] = value
    return found


def huge(draw: random.Random, found: dict[str, Any]) -> object:
    found[draw.choice(["note", "key", "why", "line"])] = "x" * draw.choice([121, 2_001, 200_000])
    return found


CHANGES: tuple[Callable[[random.Random, dict[str, Any]], object], ...] = (
    change_a_value, change_a_value, change_several, leave_out, add_a_field, other_kind, anything,
    deep, huge,
)  # fmt: skip


def texts(many: int) -> Iterator[tuple[str, str]]:
    """The messages as texts, each with how it was made."""
    draw = random.Random(6)
    for number in range(many):
        change = draw.choice(CHANGES)
        text = json.dumps(change(draw, valid(draw, number)), ensure_ascii=draw.random() < 0.5)
        how = change.__name__
        if draw.random() < 0.15:
            how, text = mangled(draw, text)
        yield how, text


def mangled(draw: random.Random, text: str) -> tuple[str, str]:
    """Spoil the text itself: cut it, double a key, change a character."""
    turn = draw.randrange(3)
    if turn == 0:
        return "cut", text[: draw.randrange(len(text) + 1)]
    if turn == 1 and text.startswith("{") and len(text) > 2:
        return "key twice", '{"kind": "doff", "lane": 3, "at": null, ' + text[1:]
    place = draw.randrange(len(text) + 1)
    return "character", text[:place] + draw.choice('{}[]",:\\\0é1') + text[place + 1 :]


@pytest.fixture
def sqlite(tmp_path: Path) -> Iterator[Ledger]:
    opened = open_ledger(sqlite_url(tmp_path / "mill.db"))
    yield opened
    opened.close()


@pytest.mark.parametrize("many", MANY)
def test_each_is_refused_with_its_reason_or_kept_whole(sqlite: Ledger, many: int) -> None:
    outcomes: Counter[str] = Counter()
    kept: dict[tuple[str, str, str], Message] = {}
    batch: list[Message] = []
    for number, (how, text) in enumerate(texts(many)):
        try:
            found = json.loads(text)
        except ValueError:
            outcomes["no JSON"] += 1
            continue
        except RecursionError:
            outcomes["too deep"] += 1
            continue
        try:
            message = read_message(found, Sender("machine", zone="Europe/London"))
        except BadInput as bad:
            outcomes["refused"] += 1
            assert bad.faults
            for fault in bad.faults:
                assert fault.what, (how, text[:200])
                assert fault.expected, (how, text[:200])
                assert "\n" not in str(fault), (how, text[:200])
                assert len(str(fault)) < 1_500, (how, text[:200])
            continue
        outcomes["read"] += 1
        assert sound(message), (how, text[:200])
        batch.append(message)
        if len(batch) == 50 or number == many - 1:
            for one, taken in zip(batch, sqlite.append(batch), strict=True):
                outcomes[taken.outcome] += 1
                if taken.outcome == "kept":
                    kept[one.line, one.source, one.key] = one
            batch.clear()
    for one, taken in zip(batch, sqlite.append(batch), strict=True):
        outcomes[taken.outcome] += 1
        if taken.outcome == "kept":
            kept[one.line, one.source, one.key] = one
    assert outcomes["refused"] > many / 3
    assert outcomes["kept"] > many / 20
    assert outcomes["no JSON"] > many / 30
    assert sum(outcomes[one] for one in ("refused", "read", "no JSON", "too deep")) == many
    there = {
        (one.line, one.source, one.key): one
        for line in lines_of(sqlite)
        for one in chain_records(sqlite, line)
    }
    assert there.keys() == kept.keys()
    for name, record in there.items():
        message = kept[name]
        assert record.fields() == message.body
        for column in ("kind", "at_us", "author", "lane", "ball", "run", "cone", "lot", "package",
                       "token"):  # fmt: skip
            assert getattr(record, column) == getattr(message, column)
    assert own_check.chain_faults(sqlite.url) == []


def sound(message: Message) -> bool:
    """Whether a message that was read holds what a message may hold."""
    texts = [message.line, message.key, message.source, message.author, message.run, message.cone,
             message.lot, message.package, message.token]  # fmt: skip
    return (
        message.kind in KINDS
        and bool(message.key)
        and (
            bool(message.line) or KINDS[message.kind].where == "mill" or KINDS[message.kind].of_mill
        )
        and all(len(one) <= 120 and one == one.strip() for one in texts)
        and not any(ord(one) < 32 or 0xD800 <= ord(one) < 0xE000 for one in "".join(texts))
        and 0 <= message.lane <= 64
        and set(message.body) <= {field.name for field in KINDS[message.kind].fields}
    )
