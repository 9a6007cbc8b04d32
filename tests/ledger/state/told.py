"""An invented line: messages as machines and hands would send them, and records of them."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from importlib import resources
from typing import Any

from clew.ledger.events.message import Message, Record
from clew.ledger.events.moments import read_moment
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.chain import FIRST_HASH, body_text, row_hash

ZONE = "Europe/London"
DAY = "2026-11-25"
LINE = "Line 1"


def at_us(clock: str, day: str = DAY) -> int:
    """A moment of the mill's clock [us]."""
    return read_moment(f"{day}T{clock}", ZONE).at_us


def say(kind: str, at: str, *, key: str = "", source: str = "tablet", **fields: Any) -> Message:
    """One message of Line 1; its key is its content where none is given."""
    found = {"kind": kind, "at": f"{DAY}T{at}" if len(at) <= 15 else at, **fields}
    found["key"] = key or f"{kind} {at} {sorted(fields.items())}"[:110]
    found.setdefault("author", "Ines")
    return read_message(found, Sender(source, line=LINE, zone=ZONE))


def demo_messages() -> list[Message]:
    """The half hour of the demo mill's line_events.csv."""
    text = (resources.files("clew.mill") / "demo" / "line_events.csv").read_text(encoding="utf-8")
    found = []
    for number, row in enumerate(csv.DictReader(text.splitlines())):
        given: dict[str, Any] = {"kind": row["event"], "key": f"row {number}"}
        given["at"] = f"{DAY}T{row['at']}"
        for name in ("lane", "ball"):
            if row[name]:
                given[name] = int(row[name])
        if row["event"] == "retie":
            given["parted_at"] = "feed"
        if row["event"] == "colour":
            given["lot"] = "BR-088"
        for name in ("counts", "metres"):
            if row[name]:
                given[name] = float(row[name])
        found.append(read_message(given, Sender("winders", line=LINE, zone=ZONE)))
    return found


def records_of(messages: Iterable[Message], *, received_us: int | None = None) -> list[Record]:
    """What a ledger that takes these messages in this order keeps: each key once, chained."""
    found: list[Record] = []
    known: set[tuple[str, str]] = set()
    before, newest_us = FIRST_HASH, 0
    received = at_us("23:00:00") if received_us is None else received_us
    for one in messages:
        if (one.source, one.key) in known:
            continue
        known.add((one.source, one.key))
        flags = list(one.flags)
        if one.at_us > received + 300_000_000:
            flags.append("ahead of our clock")
        else:
            if one.at_us < newest_us:
                flags.append("late" if one.at_us < newest_us - 60_000_000 else "out of order")
            newest_us = max(newest_us, one.at_us)
        row = (
            one.line, len(found) + 1, one.at_us, received, one.kind, one.source, one.key,
            one.author, one.lane, one.ball, one.run, one.cone, one.lot, one.package, one.token,
            body_text(one.body), ",".join(flags),
        )  # fmt: skip
        before = row_hash(before, row)
        found.append(Record(*row, before))
    return found


def shift_messages() -> list[Message]:
    """The demo half hour with what hands tell around it: a run, cones, weighings, a wrong cone."""
    told = [
        say("at the tablet", "05:20:00", hand="Ines"),
        say("check", "05:22:00", what="start-up", done=["steam", "belt", "guards"]),
        say(
            "run start", "05:29:00", run="L1-251125-1", lot="SL-207", ball_name="Querl 100",
            turns=786, counts={"1": 786, "2": 786, "3": 786, "4": 786, "5": 79, "6": 386},
            target_g=101.1, call_low_g=97.0, call_high_g=105.0, card="3f2a9c01",
        ),
        say("banded", "05:41:00", lane=1, ball=50, lot="SL-207", code="a"),
        say("banded", "05:42:00", lane=2, ball=51, lot="SL-207", code="b"),
        say("case closed", "05:43:00", package="C-0001", lot="SL-207", balls=2),
        say("banded", "05:44:00", lane=2, ball=52, lot="SL-207", code="c"),
        say("pulled", "05:50:00", lane=3, ball=60, to="second-quality", why="knots"),
    ]  # fmt: skip
    for lane in range(1, 7):
        told += [
            *(
                say("cone loaded", f"05:2{lane}:{10 + place}", lane=lane, cone=f"C-1{lane}{place}",
                    lot="SL-207", place=place, spinner="Ravel")
                for place in range(1, 5)
            ),
            say("weighing", f"05:4{lane}:30", lane=lane, ball=50 + lane, mass_g=100.4 + 0.2 * lane),
        ]  # fmt: skip
    return told + [one for one in demo_messages() if one.kind not in ("colour", "tie", "seen")]
