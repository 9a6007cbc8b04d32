"""Malformed rows, in `make long` ten thousand a path: none half taken, each with its why."""

from __future__ import annotations

import csv
import json
import random
import re
from pathlib import Path
from typing import Any

import pytest

from clew.ledger.events.kinds import KINDS
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.ingest.files import FileTaken, take_file
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records

SENDER = Sender("file", line="Line 1", zone="Europe/London")
ROWS = [pytest.param(2_100, id="many"), pytest.param(14_000, id="more", marks=pytest.mark.long)]
REFUSED_FRAC = 10 / 14
COLUMNS = ("at", "lane", "kind", "counts", "metres", "mass_g", "cone", "lot", "note", "ball", "key")
ODD: tuple[Any, ...] = (
    None, True, False, "", " ", "x" * 3_000, "\ud800", "\x00", "a\nb", "é", -1, 0, 65, 2**70, 1e308,
    -1e308, 1e999, 0.5, [], [[]], {}, {"a": {}}, {"1": 985}, ["a", 1], "1o5", "nan", "9" * 400,
    "2026-02-30T10:00:00Z", "0001-01-01T00:00:00+14:00", "2026-03-29T01:30:00", "yes", "doff",
)  # fmt: skip


def good(rng: random.Random) -> dict[str, Any]:
    of = rng.choice(("turns", "doff", "tie", "cone loaded", "weighing", "note"))
    found: dict[str, Any] = {
        "kind": of, "lane": rng.randint(1, 6),
        "at": f"2026-03-02T{rng.randint(0, 23):02d}:{rng.randint(0, 59):02d}:00Z",
    }  # fmt: skip
    extra = {"turns": ("counts", 5), "cone loaded": ("cone", "C-1"), "weighing": ("mass_g", 101.5),
             "note": ("note", "slow")}.get(of)  # fmt: skip
    if extra:
        found[extra[0]] = extra[1]
    return found


def spoiled(rng: random.Random) -> dict[str, Any]:
    """A message with something wrong in it, now and then by chance with nothing."""
    found = good(rng)
    for _ in range(rng.choice((1, 1, 2, 5))):
        way = rng.randrange(4)
        key = rng.choice((*COLUMNS, *found, "void", "to", "tokens", "surprise", "\udcff", ""))
        if way == 0:
            found.pop(rng.choice((*found, "")), None)
        elif way == 1:
            found["kind"] = rng.choice((*KINDS, "dof", "", 7, None))
        else:
            found[key] = rng.choice(ODD)
    return found


def mangled(rng: random.Random, line: bytes) -> bytes:
    """The same, as bytes: cut, doubled, stirred, or with bytes that no text has."""
    way = rng.randrange(6)
    if way == 0:
        return line[: rng.randrange(len(line) + 1)]
    if way == 1:
        place = rng.randrange(len(line) + 1)
        return line[:place] + bytes(rng.randrange(256) for _ in range(3)) + line[place:]
    if way == 2:
        return line + line
    if way == 3:
        place = rng.randrange(len(line) + 1)
        return line[:place] + rng.choice((b'"', b",", b"\r", b"{", b"[", b"\x00")) + line[place:]
    return line


def check(ledger: Ledger, taken: FileTaken, reasons: list[str], rows: int) -> None:
    assert taken.refused >= REFUSED_FRAC * rows
    assert taken.kept > 100
    assert taken.rows == taken.kept + taken.already + taken.refused
    assert len(reasons) == taken.refused
    assert all(len(one) > 8 for one in reasons)
    kept = list(chain_records(ledger, "Line 1")) + list(chain_records(ledger, ""))
    assert len(kept) == taken.kept
    for one in kept:  # what is kept is whole: it can be read as a message again
        names = {"cone": one.cone, "lot": one.lot, "package": one.package, "token": one.token,
                 "run": one.run}  # fmt: skip
        told = {name: value for name, value in names.items() if value} | one.fields()
        of_lane = {"lane": one.lane} if one.lane else {}
        of_ball = {} if one.ball is None else {"ball": one.ball}
        again = {"kind": one.kind, "key": one.key, "at": "2026-03-02T10:00:00Z"}
        read_message(again | of_lane | of_ball | told, SENDER)


@pytest.mark.parametrize("rows", ROWS)
def test_json_lines(ledger: Ledger, tmp_path: Path, rows: int) -> None:
    rng = random.Random(1)
    lines = [mangled(rng, json.dumps(spoiled(rng)).encode()) for _ in range(rows)]
    lines += [json.dumps(good(rng) | {"key": f"good {place}"}).encode() for place in range(200)]
    path = tmp_path / "fuzz.jsonl"
    path.write_bytes(b"\n".join(lines) + b"\n")
    taken = take_file(ledger, path, SENDER)
    assert taken.quarantine is not None
    aside = [json.loads(one) for one in taken.quarantine.read_bytes().splitlines()]
    check(ledger, taken, [one["quarantine_reason"] for one in aside], rows)


@pytest.mark.parametrize("rows", ROWS)
def test_csv(ledger: Ledger, tmp_path: Path, rows: int) -> None:
    rng = random.Random(2)

    def line(found: dict[str, Any]) -> bytes:
        cells = [str(found.get(column, "")) for column in COLUMNS]
        quoted = [f'"{one}"' if re.search("[,\n]", one) else one for one in cells]
        return ",".join(quoted).encode(errors="backslashreplace")

    lines = [mangled(rng, line(spoiled(rng))) for _ in range(2 * rows)]
    lines += [line(good(rng) | {"key": f"good {place}"}) for place in range(400)]
    path = tmp_path / "fuzz.csv"
    path.write_bytes(",".join(COLUMNS).encode() + b"\n" + b"\n".join(lines) + b"\n")
    taken = take_file(ledger, path, SENDER)
    assert taken.quarantine is not None
    with taken.quarantine.open(newline="", encoding="utf-8") as file:
        aside = list(csv.reader(file, strict=True))[1:]  # it is a CSV file, whatever is in it
    check(ledger, taken, [one[1] for one in aside], rows)
