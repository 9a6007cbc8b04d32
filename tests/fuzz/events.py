"""Messages and files of events: what arrives, what a broker delivers, what hands type."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from tests.fuzz.demo import demo_file, demo_mill, scratch
from tests.fuzz.target import Target, check_line, may_refuse, text_of

from clew.ledger.events.message import MILL_LINE
from clew.ledger.store.ledger import Ledger

_MOST_EVENTS = 3000
_kept = {"events": 0}


_VALUES: Mapping[str, object] = {
    "number": 100.5, "whole": 3, "text": "x", "yes": True, "texts": ["a", "b"],
    "numbers": {"1": 2.5},
}  # fmt: skip


def example(name: str, key: str = "k1") -> dict[str, Any]:
    """One message of a kind with all that it must and may name, and a value in each field."""
    from clew.ledger.events.kinds import KINDS

    kind = KINDS[name]
    where = {"line": MILL_LINE} if kind.where == "mill" else {"line": "Line 1"}
    if kind.where in ("lane", "either"):
        where |= {"lane": 1}  # type: ignore[dict-item]
    names = {one: 3 if one == "ball" else f"{one}-1" for one in (*kind.must, *kind.may)}
    fields = {one.name: one.among[0] if one.among else _VALUES[one.type] for one in kind.fields}
    return {"kind": name, **where, "at": "2026-11-26T05:40:00Z", "key": key, **names, **fields}


@cache
def messages() -> tuple[bytes, ...]:
    """One message of each kind, and some together."""
    from clew.ledger.events.kinds import KINDS

    made = [json.dumps(example(name, f"k-{name}")).encode() for name in KINDS]
    whole = json.dumps({"events": [json.loads(one) for one in made[:4]]}).encode()
    return (*made, whole, b"[" + b",".join(made[:3]) + b"]")


@cache
def _words() -> tuple[bytes, ...]:
    from clew.ledger.events.kinds import KINDS

    names = {*KINDS, *(one.name for kind in KINDS.values() for one in kind.fields)}
    return (
        *(f'"{name}"'.encode() for name in sorted(names)), b'"at": ', b'"lane": ', b'"key": ',
        b"null", b"true", b"1e999", b"NaN", b"[]", b"{}", b'"\\ud800"', b'"\\u0000"',
        b'"2026-11-26"',
        b'"1999-12-31T23:59:59Z"', b'"events": ', b'"run": ', b'"cone": ', b'"lot": ', b'"ball": ',
        b'"token": ', b'"package": ', b'"source": ', b'"author": ', b'"line": ',
    )  # fmt: skip


def _arriving(data: bytes) -> None:
    """What arrives over HTTP or from a broker, part by part; what is read can be written."""
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.arriving import parts_of, read_json, read_part

    with may_refuse():
        found, _ = parts_of(read_json(data))
        for one in found:
            arrived = read_part(one, Sender("scale", zone="Europe/London"), ("Line 1",))
            assert (arrived.message is None) == bool(arrived.faults)
            for fault in arrived.faults:
                check_line(str(fault))
            if arrived.message is not None:
                json.dumps(dict(arrived.message.body), allow_nan=False).encode()


@cache
def ledger() -> Ledger:
    """A ledger of this process; made anew when it has grown."""
    from clew.ledger.store.ledger import sqlite_url
    from clew.ledger.store.opening import open_ledger

    path = scratch() / f"mill-{_kept['events']}.db"
    return open_ledger(sqlite_url(path))


def fresh_ledger(more: int) -> Ledger:
    """The ledger, with room for so many more."""
    _kept["events"] += more
    if _kept["events"] % _MOST_EVENTS < more and _kept["events"] > more:
        ledger().close()
        ledger.cache_clear()
    return ledger()


def _delivered(data: bytes) -> None:
    """A broker's delivery: kept whole or refused, and whatever was kept, the state is told of."""
    from clew.ledger.ingest.delivered import Delivery, take_deliveries

    topic, _, raw = data.partition(b"\n")
    take_deliveries(
        fresh_ledger(2), [Delivery(topic.decode("utf-8", "replace"), raw)], zone="Europe/London",
        lines=("Line 1",),
    )  # fmt: skip


def _delivered_seeds() -> list[bytes]:
    return [b"clew/1/Line 1/scale-2\n" + one for one in messages()]


def _rows(ending: str, data: bytes) -> None:
    """A file of events, read by whatever form it is of, and taken into the ledger."""
    from datetime import date

    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.files import take_file
    from clew.ledger.ingest.from_line_files import reading_for

    path = scratch() / f"taken{ending}"
    path.write_bytes(data)
    book = fresh_ledger(20)
    sender = Sender("file", line="Line 1", zone="Europe/London")
    lanes = {str(number): number for number in range(1, 7)}
    for day in (None, date(2026, 11, 26)):
        with may_refuse():
            reading = reading_for(path, day=day, lanes=lanes)
            taken = take_file(
                book, path, sender, quarantine=scratch() / "refused", reading=reading, again=True
            )
            assert taken.kept + taken.already + taken.refused >= 0
            assert taken.bytes_read <= len(data)
    _empty(scratch() / "refused")


def _empty(folder: Path) -> None:
    for path in folder.glob("*") if folder.is_dir() else ():
        path.unlink()


def _csv_seeds() -> list[bytes]:
    return [
        demo_file("line_events.csv"), demo_file("shift-weighings.csv"),
        b"kind,line,lane,at,key,mass_g\nweighing,Line 1,1,2026-11-26T05:40:00Z,a,101.2\n"
        b"doff,Line 1,2,2026-11-26T05:41:00Z,b,\n",
        b"sep=;\r\nkind;line;lane;at;key;mass_g\r\nweighing;Line 1;1;2026-11-26 05:40;;101,2\r\n",
    ]  # fmt: skip


def _paper(data: bytes) -> None:
    """Rows of a tally sheet: a kind, a time or a count."""
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.files import take_file
    from clew.ledger.ingest.paper import PaperRows, read_sheet

    code, _, text = data.partition(b"\n")
    path = scratch() / "sheet.csv"
    path.write_bytes(text)
    with may_refuse():
        sheet = read_sheet(text_of(code))
        reading = PaperRows(sheet, demo_mill().mill.shift_starts)
        take_file(
            fresh_ledger(20), path, Sender("paper", "Ana", "Line 1", "Europe/London"),
            quarantine=scratch() / "refused", reading=reading, again=True,
        )  # fmt: skip
    _empty(scratch() / "refused")


def _by_hand(data: bytes) -> None:
    """What hands type into the fields of a deed."""
    from clew.ledger.events.reading import Sender
    from clew.ledger.ingest.by_hand import DEEDS, at_clock, check_message, message_of_deed

    lines = text_of(data).split("\n")
    typed = dict(line.partition("=")[::2] for line in lines[1:])
    sender = Sender("hand", "Ana", "Line 1", "Europe/London", 1_795_000_000_000_000, "k")
    for deed in DEEDS:
        if deed.key == lines[0] or lines[0] == "":
            with may_refuse():
                message_of_deed(deed, typed, sender, lane=1)
    for zone in ("Europe/London", "Pacific/Apia"):
        with may_refuse():
            at_clock(lines[0], 1_795_000_000_000_000, zone)
    with may_refuse():
        check_message("start-up", frozenset({0, 99}), lines[0], sender)


def _by_hand_seeds() -> list[bytes]:
    from clew.ledger.ingest.by_hand import DEEDS

    return [
        "\n".join(
            [deed.key, *(f"{one.name}={(*one.among, '101.3')[0]}" for one in deed.asked)]
        ).encode()
        for deed in DEEDS
    ] + [b"05:41:30"]


TARGETS = (
    Target("events/arriving", messages, _arriving, _words, cases=250, share=1.5),
    Target("events/delivered", _delivered_seeds, _delivered, lambda: (*_words(), b"clew/1/"),
    cases=20),
    Target("events/csv", _csv_seeds, lambda data: _rows(".csv", data),
           (b"kind", b"at", b"key", b"comma", b",", b";",
           b'"', b"\r\n", b"weighing", b"doff", b"tie"),
           cases=10, limit_s=4.0),
    Target("events/jsonl", lambda: [b"\n".join(messages()[:4]) + b"\n", messages()[0]],
           lambda data: _rows(".jsonl", data), _words, cases=10, limit_s=4.0),
    Target(
        "events/paper",
        lambda: [b"T-261126-1101\nrow,kind,at,count\n1,doff,06:10,3\n2,tie,07:00,\n"],
        _paper, (b"row", b"kind", b"count", b"06:10", b"doff", b"tie"), cases=15, limit_s=4.0,
    ),
    Target("events/by-hand", _by_hand_seeds, _by_hand, (b"=", b"101,3", b"3 oz", b"05:41"),
    cases=80),
)  # fmt: skip
