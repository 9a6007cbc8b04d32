"""Keeping events against the bare database module doing the same, in one run.

    .venv/bin/python benchmarks/ledger_append.py

The bare side writes the same columns and the same indices in the same durable transactions (write
ahead log, synchronous FULL), looks each key up, hashes each row onto the row before and sets the
head: what the ledger promises, without the ledger. Its rows are plain tuples made beforehand, its
body text too. Rows are (what, against, ratio of speeds, least allowed).
"""

from __future__ import annotations

import gc
import hashlib
import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger, now_us, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.schema import EVENT_COLUMNS

Row = tuple[str, str, float, float]
LEAST_SINGLE, LEAST_BATCH = 0.6, 0.7
BATCH = 500
ROUNDS, ROUNDS_SERVER = 15, 6
SINGLES, BATCHES = 100, 6
"""In one round."""
START_US = 1_790_000_000_000_000
LINE, SOURCE = "Line 1", "winder"
ROOT = Path(__file__).parent.parent


def message(number: int) -> Message:
    """Make one of the kinds that machines send, in turn."""
    kind, body = (
        ("turns", {"counts": float(number % 985)}),
        ("feed", {"metres": float(number)}),
        ("weighing", {"mass_g": 100.0 + number % 7, "gross": False}),
        ("doff", {}),
    )[number % 4]
    return Message(
        LINE, kind, START_US + number * 1000, SOURCE, f"{number}", lane=1 + number % 6,
        ball=number // 6, body=body,
    )  # fmt: skip


class Bare:
    """The bare module: one connection, one cursor, statements written once.

    Parameters
    ----------
    connection : DB-API connection
        That begins nothing by itself.
    mark : str
        How its dialect marks a value.
    begin, lock : str
        How it takes a writer's turn.
    """

    def __init__(self, connection: Any, mark: str, begin: str, lock: str) -> None:
        self.connection = connection
        self.begin = begin
        names = ", ".join(EVENT_COLUMNS)
        self.head = f"SELECT head, hash, newest_us FROM chain WHERE line = {mark}{lock}"
        self.known = (
            "SELECT key, seq, at_us, kind, author, lane, ball, run, cone, lot, package, token, "
            f"body FROM event WHERE line = {mark} AND source = {mark} AND key "
        )
        self.one = f"= {mark}"
        self.many = f"IN ({', '.join([mark] * BATCH)})" if mark == "?" else "= ANY(%s)"
        self.listed = mark != "?"
        self.insert = f"INSERT INTO event ({names}) VALUES ({', '.join([mark] * 18)})"
        self.set_head = (
            f"UPDATE chain SET head = {mark}, hash = {mark}, newest_us = {mark} WHERE line = {mark}"
        )
        cursor = connection.cursor()
        cursor.execute(
            f"INSERT INTO chain (line, head, hash, newest_us) VALUES ({mark}, 0, {mark}, 0)",
            (LINE, bytes(32)),
        )

    def keep(self, rows: list[tuple[Any, ...]]) -> None:
        """Keep rows that lack their place, the clock and the hash."""
        cursor = self.connection.cursor()
        cursor.execute(self.begin)
        cursor.execute(self.head, (LINE,))
        head, before, newest = cursor.fetchone()
        before = bytes(before)
        keys = [row[6] for row in rows]
        if len(keys) == 1:
            cursor.execute(self.known + self.one, (LINE, SOURCE, keys[0]))
        elif self.listed:
            cursor.execute(self.known + self.many, (LINE, SOURCE, keys))
        else:
            cursor.execute(self.known + self.many, (LINE, SOURCE, *keys))
        known = {row[0] for row in cursor.fetchall()}
        received = now_us()
        written = []
        for row in rows:
            if row[6] in known:
                continue
            head += 1
            full = (LINE, head, row[2], received, *row[4:])
            text = json.dumps(full, separators=(",", ":"), ensure_ascii=False)
            before = hashlib.sha256(before + text.encode()).digest()
            written.append((*full, before))
            newest = max(newest, row[2])
        if len(written) == 1:
            cursor.execute(self.insert, written[0])
        else:
            cursor.executemany(self.insert, written)
        cursor.execute(self.set_head, (head, before, newest, LINE))
        cursor.execute("COMMIT")


def bare_row(one: Message) -> tuple[Any, ...]:
    """Write a message as the bare side gets it."""
    body = json.dumps(dict(one.body), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return (
        one.line, 0, one.at_us, 0, one.kind, one.source, one.key, one.author, one.lane, one.ball,
        one.run, one.cone, one.lot, one.package, one.token, body, "",
    )  # fmt: skip


def compare(
    ledger: Ledger, bare: Bare, say: Callable[[str], None], rounds: int = ROUNDS
) -> tuple[float, float]:
    """Keep the same events in both by turns; medians of the ratios of speed, single and batch."""
    number = 0
    single, batch = [], []
    for turn in range(rounds + 1):
        for size, times, ratios in ((1, SINGLES, single), (BATCH, BATCHES, batch)):
            groups = [
                [message(number + size * one + n) for n in range(size)] for one in range(times)
            ]
            rows = [[bare_row(one) for one in group] for group in groups]
            number += size * times
            ours_s = theirs_s = 0.0
            gc.collect()
            for place, (group, row) in enumerate(zip(groups, rows, strict=True)):
                # one after the other, in turn first: the disk is as busy for both
                for side in (0, 1) if place % 2 else (1, 0):
                    started = time.perf_counter()
                    if side:
                        ledger.append(group)
                        ours_s += time.perf_counter() - started
                    else:
                        bare.keep(row)
                        theirs_s += time.perf_counter() - started
            if turn:  # the first is for warming up
                ratios.append(theirs_s / ours_s)
                say(f"{size:>4}: {1e6 * ours_s / size / times:7.1f} us an event, "
                    f"bare {1e6 * theirs_s / size / times:7.1f}")  # fmt: skip
    return statistics.median(single), statistics.median(batch)


def on_sqlite(folder: Path, say: Callable[[str], None]) -> tuple[float, float]:
    """Compare in two files of one folder."""
    open_ledger(sqlite_url(folder / "bare.db")).close()
    connection = sqlite3.connect(folder / "bare.db", isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    ledger = open_ledger(sqlite_url(folder / "mill.db"))
    try:
        return compare(ledger, Bare(connection, "?", "BEGIN IMMEDIATE", ""), say)
    finally:
        ledger.close()
        connection.close()


@contextmanager
def two_databases() -> Iterator[tuple[str, str] | None]:
    """Addresses of two databases on a PostgreSQL of our own; None where there is no server."""
    sys.path.insert(0, str(ROOT))
    from tests.services.postgres import binaries, running_cluster

    if binaries() is None:
        yield None
        return
    with (
        running_cluster(sync=True) as cluster,
        cluster.database("ours") as ours,
        cluster.database("bare") as bare,
    ):
        yield ours, bare


def on_postgresql(ours: str, bare: str, say: Callable[[str], None]) -> tuple[float, float]:
    """Compare in two databases of one server."""
    import psycopg

    open_ledger(bare).close()
    ledger = open_ledger(ours)
    connection = psycopg.connect(bare, autocommit=True)
    try:
        return compare(ledger, Bare(connection, "%s", "BEGIN", " FOR UPDATE"), say, ROUNDS_SERVER)
    finally:
        ledger.close()
        connection.close()


def measured(say: Callable[[str], None] = lambda _: None) -> list[Row]:
    """Speed of the ledger as a share of the bare module's; at least so much is asked."""
    with tempfile.TemporaryDirectory() as folder:
        single, batch = on_sqlite(Path(folder), say)
    found: list[Row] = [
        ("ledger, one event at a time", "bare sqlite3, the same work", single, LEAST_SINGLE),
        (f"ledger, {BATCH} events at a time", "bare sqlite3, the same work", batch, LEAST_BATCH),
    ]
    with two_databases() as urls:
        if urls is not None:
            single, batch = on_postgresql(*urls, say)
            found += [
                ("ledger, one at a time, PostgreSQL", "bare psycopg, the same work", single,
                 LEAST_SINGLE),
                (f"ledger, {BATCH} at a time, PostgreSQL", "bare psycopg, the same work", batch,
                 LEAST_BATCH),
            ]  # fmt: skip
    return found


if __name__ == "__main__":
    results = measured(print if "-v" in sys.argv else lambda _: None)
    print(f"{'what':<42}{'against':<32}{'speed':>7}{'least':>7}")
    for what, against, ratio, least in results:
        print(f"{what:<42}{against:<32}{ratio:>7.2f}{least:>7.1f}")
    sys.exit(any(ratio < least for _, _, ratio, least in results))
