"""Messages of every kind, drawn at random, and the same spoilt in every way there is."""

from __future__ import annotations

import json
from random import Random
from typing import Any

from clew.ledger.events.kinds import KINDS, FieldOf
from clew.ledger.events.moments import show_utc

FIRST_US = 1_790_000_000_000_000
TEXTS = ("ok", "räumt auf", "two\nlines", "x" * 119, "0", "日本", "a, b")
ODD: tuple[Any, ...] = (
    None, "", " ", "\n", "a\x00b", "x" * 121, "x" * 2001, "\ud800", 0, -1, 1, 1.5, 64, 65, 2**53,
    2**53 + 2, -(2**60), 1e308, True, False, [], {}, ["a"], ["a", 1], {"1": 985}, {"x": 1},
    {"1": "9"}, "2026-02-30T00:00:00Z", "2026-03-29T05:40", "1999-01-01T00:00:00Z", "doff",
    "Feed_On", " stock ", "stock", "release", [[["deep"]]], "\ufeff", "\u2028", 0.0, 1.0,
)  # fmt: skip


def value_of(rng: Random, field: FieldOf) -> Any:
    """Draw a value that a field takes."""
    low = 0.0 if field.low is None else field.low
    high = low + 100.0 if field.high is None else field.high
    if field.type == "number":
        return round(rng.uniform(low, high), 3)
    if field.type == "whole":
        return rng.randint(int(low), int(high))
    if field.type == "yes":
        return rng.random() < 0.5
    if field.type == "text":
        return rng.choice(field.among or TEXTS)
    if field.type == "texts":
        return [rng.choice(("T1", "T2", "T 3")) for _ in range(rng.randint(0, 4))]
    return {str(n): round(rng.uniform(low, high), 1) for n in range(1, rng.randint(1, 6) + 1)}


def good_message(rng: Random, number: int, line: str = "Line 1") -> dict[str, Any]:
    """Draw a message that is kept."""
    kind = rng.choice(list(KINDS))
    of = KINDS[kind]
    said: dict[str, Any] = {
        "kind": kind,
        "at": show_utc(FIRST_US + number * 1_000_000 + rng.randrange(1_000_000)),
        "key": f"k{number}",
    }
    if of.where != "mill":
        said["line"] = line
    if of.where == "lane":
        said["lane"] = rng.randint(1, 6)
    elif of.where == "either" and rng.random() < 0.5:
        said["lane"] = rng.randint(0, 6)
    for name in (*of.must, *(one for one in of.may if rng.random() < 0.5)):
        said[name] = rng.randint(0, 900) if name == "ball" else f"{name} {rng.randint(1, 9)}"
    for field in of.fields:
        if field.name not in said and (field.must or rng.random() < 0.5):
            said[field.name] = value_of(rng, field)
    if kind == "correction":
        said["at"] = "2026-10-01T05:40:00Z"
    return said


def spoilt(rng: Random, said: dict[str, Any]) -> dict[str, Any]:
    """Change one to three things of a message."""
    found = dict(said)
    for _ in range(rng.randint(1, 3)):
        what = rng.random()
        names = sorted(found)
        if what < 0.2 and names:
            del found[rng.choice(names)]
        elif what < 0.7 and names:
            found[rng.choice(names)] = rng.choice(ODD)
        elif what < 0.9:
            name = rng.choice(
                ("line", "lane", "ball", "run", "cone", "lot", "token", "package", "source",
                 "author", "note", "why", "mass_g", "to")
            )  # fmt: skip
            found[name] = rng.choice(ODD)
        else:
            found[rng.choice(("Key", "time", "", "x" * 90, "\ud800", "a\x00"))] = rng.choice(ODD)
    return found


def raw_garbage(rng: Random, said: dict[str, Any]) -> bytes:
    """Write a message so that its bytes are likely to be no message at all."""
    raw = json.dumps(spoilt(rng, said) if rng.random() < 0.5 else said).encode()
    spot = rng.randrange(len(raw))
    noise = rng.randbytes(rng.randint(1, 4))
    odd = (b',"x":NaN}', b',"x":1e999}', b',"lane":-Infinity}', b',"kind":"doff"}')
    bare = (b"", b"null", b"1", b'"doff"', b"[]", b"{}", b'{"events":5}', b"\xff\xfe")
    ways = (
        rng.randbytes(rng.randint(0, 60)),
        raw[:spot],
        raw[:spot] + noise + raw[spot + 1 :],
        b"[" * rng.randint(1, 5000),
        raw[:-1] + rng.choice(odd),
        raw[:-1] + b',"counts":' + b"9" * rng.choice((5, 400, 5000)) + b"}",
        rng.choice(bare),
        b'{"events":[' + raw + b"," + raw[:-1] + b"]}",
        raw.decode().encode("utf-16"),
        b"\xef\xbb\xbf" + raw,
        raw,
    )
    return rng.choice(ways)
