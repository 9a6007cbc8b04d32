"""Tracing in a ledger of millions of events, on SQLite and PostgreSQL: answers within 200 ms, warm.

    python benchmarks/ledger_trace.py [--rows 10000000] [--only sqlite|postgresql]

The ledger is made in bulk: rows go past `Ledger.append`, places in the chain are true, hashes are
not, for nothing here reads them; indexes are made at the end. A day of a line is one run; lanes
doff every 40 s, band in the order of a rack, weigh every ball; five readings of the winder's
counter lie between two doffs. Sixty bands are traced back, sixty cones on, after twenty of each.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

BAR_MS = 200.0
LANES, LINES = 6, ("Line 1", "Line 2")
BALL_S, DAY_BALLS, BALLS_OF_CONE = 40, 1800, 18
ROWS_OF_BALL = 8
DAY_S = 86_400
START_S = 1_700_000_000
TURNS = 5
MANY = 50_000


@dataclass
class Place:
    """A band and a cone somewhere in the history, to ask for."""

    line: str
    lane: int
    lot: str
    banded_us: int
    number: int
    cone: str


class Rows:
    """Rows of `event` in the order of each line's chain, and questions with known answers."""

    def __init__(self, rows: int, seed: int = 1) -> None:
        self.rows, self.draw = rows, random.Random(seed)
        self.heads: dict[str, int] = {}
        self.newest: dict[str, int] = {}
        self.places: list[Place] = []

    def _row(
        self, line: str, at_s: float, kind: str, *, lane: int = 0, ball: int | None = None,
        run: str = "", cone: str = "", lot: str = "", package: str = "", body: str = "{}",
    ) -> tuple[Any, ...]:  # fmt: skip
        seq = self.heads.get(line, 0) + 1
        self.heads[line] = seq
        at_us = int(at_s * 1_000_000)
        self.newest[line] = max(self.newest.get(line, 0), at_us)
        return (
            line, seq, at_us, at_us, kind, "bulk", f"{seq}", "Ansa", lane, ball, run, cone, lot,
            package, "", body, "", seq.to_bytes(32, "big"),
        )  # fmt: skip

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        days = max(1, self.rows // (DAY_BALLS * LANES * len(LINES) * ROWS_OF_BALL))
        for day in range(days):
            for line in LINES:
                yield from self._day(line, day)

    def _day(self, line: str, day: int) -> Iterator[tuple[Any, ...]]:
        row, start = self._row, START_S + day * DAY_S
        short, lot, run = line[-1], f"SL-{day}-{line[-1]}", f"R-{day}-{line[-1]}"
        start_body = '{"ball_name":"Querl 100","target_g":50.6}'
        yield row(line, start, "run start", run=run, lot=lot, body=start_body)
        cases: list[str] = []
        for ball in range(DAY_BALLS):
            begin = start + ball * BALL_S
            for lane in range(1, LANES + 1):
                number = day * DAY_BALLS + ball + 1
                if ball % BALLS_OF_CONE == 0:
                    cone = f"C{short}-{day}-{lane}-{ball // BALLS_OF_CONE}"
                    yield row(line, begin - 300, "cone loaded", lane=lane, cone=cone, lot=lot,
                              body='{"spinner":"Harle"}')  # fmt: skip
                    yield row(line, begin + 3 * lane, "tie", lane=lane, cone=cone)
                    if ball < DAY_BALLS - 90 and self.draw.random() < 400 * BALLS_OF_CONE / (
                        self.rows / 8
                    ):
                        later = begin + 30 * BALL_S + lane
                        self.places.append(
                            Place(line, lane, lot, (later + 300) * 1_000_000, number + 30, cone)
                        )
                for step in range(TURNS):
                    yield row(line, begin + 7 * step, "turns", lane=lane,
                              body=f'{{"counts":{100.0 * step}}}')  # fmt: skip
                doff = begin + BALL_S - 1 + lane
                yield row(line, doff, "doff", lane=lane, ball=number)
                yield row(
                    line, doff + 60, "weighing", lane=lane, ball=number, body='{"mass_g":50.4}'
                )
                yield row(line, doff + 261 + (ball % 3), "banded", lane=lane, lot=lot)
            if ball % 20 == 19:
                case = f"K{short}-{day}-{ball // 20}"
                cases.append(case)
                first, last = begin - 19 * BALL_S + 260, begin + 320
                body = f'{{"balls":120,"from":"{_iso(first)}","upto":"{_iso(last)}"}}'
                yield row(line, last + 60, "case closed", lot=lot, package=case, body=body)
        end = start + DAY_BALLS * BALL_S + 600
        yield row(line, end, "run end", run=run)
        for place in range(0, len(cases), 10):
            pallet = f"P{short}-{day}-{place}"
            names = ",".join(f'"{one}"' for one in cases[place : place + 10])
            yield row("", end + 60, "pallet closed", package=pallet, body=f'{{"cases":[{names}]}}')
            yield row("", end + 90, "shipped", package=pallet, body='{"customer":"Brannock Wools"}')
        yield row("", end, "lot decision", lot=lot, body='{"decision":"release"}')


def _iso(at_s: float) -> str:
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(at_s))


def build(ledger: Any, rows: Rows) -> int:
    """Fill a ledger in bulk; gives how many rows there are."""
    from clew.ledger.store.schema import CHAIN, EVENT, EVENT_COLUMNS

    with ledger.engine.begin() as connection:
        for index in EVENT.indexes:
            index.drop(connection)
    raw = ledger.engine.raw_connection()
    driver = raw.driver_connection
    count = 0
    if ledger.dialect == "sqlite":
        cursor = driver.cursor()
        cursor.execute("PRAGMA synchronous = OFF")
        cursor.execute("BEGIN")
        say = f"INSERT INTO event VALUES ({', '.join('?' * len(EVENT_COLUMNS))})"
        batch: list[tuple[Any, ...]] = []
        for one in rows:
            batch.append(one)
            count += 1
            if len(batch) == MANY:
                cursor.executemany(say, batch)
                batch.clear()
        cursor.executemany(say, batch)
        cursor.execute("COMMIT")
    else:
        with driver.cursor() as cursor, cursor.copy("COPY event FROM STDIN") as copy:
            lines: list[str] = []
            for one in rows:
                lines.append(
                    "\t".join("\\N" if v is None else str(v) for v in one[:-1])
                    + "\t\\\\x" + one[-1].hex() + "\n"
                )  # fmt: skip
                count += 1
                if len(lines) == MANY:
                    copy.write("".join(lines))
                    lines.clear()
            copy.write("".join(lines))
        driver.commit()
    raw.close()
    with ledger.engine.begin() as connection:
        for index in EVENT.indexes:
            index.create(connection)
        for line, head in rows.heads.items():
            connection.execute(
                CHAIN.insert().values(
                    line=line, head=head, hash=head.to_bytes(32, "big"), newest_us=rows.newest[line]
                )
            )
        connection.exec_driver_sql("ANALYZE")
    return count


def ask(ledger: Any, places: list[Place], mill: Any) -> dict[str, list[tuple[float, float]]]:
    """Trace back and on, twenty to warm up, then sixty each; by clock and of our processor, ms."""
    from clew.ledger.trace.backwards import back_from_band
    from clew.ledger.trace.band_code import read_band_code, write_band_code
    from clew.ledger.trace.forwards import forward_from_cone
    from clew.ledger.trace.tracing import Tracing

    tracing, zone = Tracing(mill, ledger), mill.mill.time_zone
    names = tuple(one.name for one in mill.line)
    times: dict[str, list[tuple[float, float]]] = {"back": [], "on": []}
    for count, place in enumerate(places):
        code = write_band_code(place.lot, place.line, place.lane, place.banded_us, zone)
        started, begun = time.perf_counter(), time.process_time()
        found = back_from_band(tracing, read_band_code(code, zone, lines=names))
        middle, half = time.perf_counter(), time.process_time()
        onward = forward_from_cone(tracing, place.cone)
        ended, done = time.perf_counter(), time.process_time()
        if place.number not in [one.number for one in found.balls] or not found.cases:
            raise SystemExit(f"wrong: {code}, ball {place.number}: {found.why}")
        if not onward.balls or not onward.cases[0].customer:
            raise SystemExit(f"wrong: {place.cone}: {onward.missing}")
        if count >= 20:
            times["back"].append((1000.0 * (middle - started), 1000.0 * (half - begun)))
            times["on"].append((1000.0 * (ended - middle), 1000.0 * (done - half)))
    return times


def two_line_mill(folder: Path) -> Any:
    """The demo mill with a second line like its first."""
    from clew.mill import read_mill
    from clew.mill.demo_mill import demo_text

    (folder / "mill.toml").write_text(demo_text("mill.toml"), encoding="utf-8")
    mill = read_mill(folder)
    line = mill.line[0].model_copy(update={"ball_identity": "rack"})
    lines = tuple(line.model_copy(update={"name": name}) for name in LINES)
    return mill.model_copy(update={"line": lines})


def measure(name: str, url: str, rows: int, mill: Any) -> bool:
    """Build, ask and print one database's figures; gives whether they are within the bar."""
    from clew.ledger.store.opening import open_ledger

    ledger = open_ledger(url)
    try:
        made = Rows(rows)
        started = time.perf_counter()
        count = build(ledger, made)
        built_s = time.perf_counter() - started
        made.draw.shuffle(made.places)
        times = ask(ledger, made.places[:80], mill)
    finally:
        ledger.close()
    within = True
    for way, both in times.items():
        taken, of_ours = [one for one, _ in both], [one for _, one in both]
        middle, most = statistics.median(taken), statistics.quantiles(taken, n=20)[-1]
        within = within and most <= BAR_MS
        ours, ours_most = statistics.median(of_ours), statistics.quantiles(of_ours, n=20)[-1]
        print(
            f"trace {way:4} in {count:>10,} events, {name:10}: p50 {middle:6.1f} ms, "
            f"p95 {most:6.1f} ms (bar {BAR_MS:.0f} ms), {len(taken)} questions; processor time of "
            f"this process p50 {ours:.1f} ms, p95 {ours_most:.1f} ms; built in {built_s:.0f} s; "
            f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores",
            flush=True,
        )
    return within


def run(rows: int, only: str = "") -> bool:
    """Measure both databases, one after the other, and take everything away again."""
    folder = Path(tempfile.mkdtemp(prefix="clew-trace-"))
    within = True
    try:
        mill = two_line_mill(folder)
        if only != "postgresql":
            path = folder / "mill.db"
            within = measure("SQLite", f"sqlite:///{path}", rows, mill)
            for one in folder.glob("mill.db*"):
                one.unlink()
        if only != "sqlite":
            sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
            from tests.services.postgres import Cluster

            try:
                cluster = Cluster()
            except FileNotFoundError as missing:
                print(f"PostgreSQL was not measured: {missing}")
                return within
            try:
                cluster.start()
                within = measure("PostgreSQL", cluster.url(), rows, mill) and within
            finally:
                cluster.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return within


def main() -> None:
    """Read the options, measure, and say whether the bar is met."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--only", choices=["sqlite", "postgresql"], default="")
    given = parser.parse_args()
    raise SystemExit(0 if run(given.rows, given.only) else 1)


if __name__ == "__main__":
    main()
