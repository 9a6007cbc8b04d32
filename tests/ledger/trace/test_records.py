"""Reading for a trace: from indexes on both databases, and with corrections put in."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import event as sql_event
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import LINE, KeptInList, at, live, lost, messages_of

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import EVENT_COLUMNS
from clew.ledger.trace.backwards import back_from_band, back_from_case, back_from_token
from clew.ledger.trace.band_code import read_band_code, write_band_code
from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot
from clew.ledger.trace.records import KeptInLedger
from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

ZONE = "Europe/London"
ROWS = 200_000
T0 = 1_764_000_000_000_000


def doff(number: int, at_us: int, **other: Any) -> Message:
    return replace(Message(LINE, "doff", at_us, "test", f"d{number}", lane=1, ball=number), **other)


def correction(of_seq: int, **body: Any) -> Message:
    return Message(
        LINE, "correction", T0 + 99, "hand", f"c{of_seq}{sorted(body)}", author="Ansa",
        body={"of_seq": of_seq, "why": "misread", **body},
    )  # fmt: skip


def test_both_ways_of_reading_say_the_same(
    ledger: Ledger, way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    truth = live(way, ball_name=BALL, hours=2.0, seed=2)
    messages = messages_of(lost(truth, random.Random(3), ties=0.1, doffs=0.05))
    ledger.append(messages)
    mill = mill_with("rack")
    in_ledger, in_list = Tracing(mill, ledger), Tracing(mill, KeptInList(messages))
    for ball in truth.balls[::20]:
        code = read_band_code(
            write_band_code("SL-207", LINE, ball.lane, ball.banded_us, ZONE), ZONE, lines=(LINE,)
        )
        assert back_from_band(in_ledger, code) == back_from_band(in_list, code)
    assert forward_from_cone(in_ledger, "C1-002") == forward_from_cone(in_list, "C1-002")
    assert forward_from_lot(in_ledger, "SL-207") == forward_from_lot(in_list, "SL-207")
    assert back_from_case(in_ledger, "CASE-2") == back_from_case(in_list, "CASE-2")


def test_what_a_correction_moves_in_or_voids_is_heeded(ledger: Ledger) -> None:
    day = 86_400_000_000
    ledger.append(
        [
            doff(1, T0), doff(2, T0 + 10), doff(3, T0 + 20 * day), doff(4, T0 + 30),
            correction(2, void=True), correction(3, change=f'{{"at": "{at(T0 + 1_000_000)}"}}'),
            correction(4, change='{"lane": 2}'),
        ]
    )  # fmt: skip
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, ZONE)
        found = kept.of_kind(LINE, "doff", lane=1, from_us=T0, upto_us=T0 + day)
        assert kept.count(LINE, "doff", 1, T0, T0 + day) == 2
        assert [one.ball for one in kept.of_kind(LINE, "doff", lane=2)] == [4]
        assert kept.troubles() == ()
    assert [(one.ball, one.at_us) for one in found] == [(1, T0), (3, T0 + 1_000_000)]


def test_a_correction_of_a_correction_counts(ledger: Ledger) -> None:
    ledger.append([doff(1, T0), correction(1, void=True), correction(2, void=True)])
    with ledger.reading() as connection:
        found = KeptInLedger(connection, ZONE).of_kind(LINE, "doff")
    assert [one.ball for one in found] == [1]


def test_a_voided_newest_record_hides_none_behind_it(ledger: Ledger) -> None:
    ledger.append([doff(1, T0), doff(2, T0 + 10), doff(3, T0 + 20)])
    ledger.append([correction(3, void=True), correction(2, void=True)])
    with ledger.reading() as connection:
        found = KeptInLedger(connection, ZONE).of_kind(LINE, "doff", latest_first=True, most=1)
    assert [one.ball for one in found] == [1]


def test_a_clock_that_was_ahead_counts_for_nothing_until_it_is_corrected(ledger: Ledger) -> None:
    hour = 3_600_000_000
    ledger.clock = lambda: T0
    ledger.append([doff(1, T0, token="K1"), doff(2, T0 + hour, token="K1")])
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, ZONE)
        assert kept.of_kind(LINE, "doff", latest_first=True, most=1)[0].ball == 1
        assert kept.count(LINE, "doff", 1, T0, T0 + hour) == 1
        assert [one.ball for one in kept.naming("token", "K1")] == [1]
        assert kept.troubles() == (
            "the clock of test was ahead: what it told then counts for nothing until its moment "
            "is corrected",
        )
    ledger.append([correction(2, change=f'{{"at": "{at(T0 + 1_000_000)}"}}')])
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, ZONE)
        assert kept.of_kind(LINE, "doff", latest_first=True, most=1)[0].ball == 2
        assert kept.count(LINE, "doff", 1, T0, T0 + hour) == 2 and kept.troubles() == ()


def test_a_name_that_a_correction_puts_in_is_found(ledger: Ledger) -> None:
    ledger.append([doff(1, T0, token="K1"), correction(1, change='{"token": "K2"}')])
    with ledger.reading() as connection:
        assert KeptInLedger(connection, ZONE).naming("token", "K1") == []
        found = KeptInLedger(connection, ZONE).naming("token", "K2", ("doff",))
        assert [one.ball for one in found] == [1]
        with pytest.raises(ValueError, match="nothing that is traced"):
            KeptInLedger(connection, ZONE).naming("token", "")


def fill(ledger: Ledger, rows: int) -> None:
    """Many other rows, past `append`: only for how queries are planned."""
    made = [
        (LINE, seq, T0 - seq * 1_000_000, 0, "turns", "bulk", f"b{seq}", "", seq % 6 + 1, None, "",
         "", "", "", "", "{}", "", bytes(32))
        for seq in range(1_000_000, 1_000_000 + rows)
    ]  # fmt: skip
    raw = ledger.engine.raw_connection()
    cursor = raw.driver_connection.cursor()
    if ledger.dialect == "sqlite":
        cursor.execute("BEGIN")
        cursor.executemany(
            f"INSERT INTO event VALUES ({', '.join('?' * len(EVENT_COLUMNS))})", made
        )
        cursor.execute("COMMIT")
        cursor.execute("ANALYZE")
    else:
        with cursor.copy("COPY event FROM STDIN") as copy:
            for one in made:
                copy.write_row(one)
        cursor.execute("ANALYZE")
        raw.driver_connection.commit()
    raw.close()


def test_no_question_reads_the_whole_ledger(
    ledger: Ledger, way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    truth = live(way, ball_name=BALL, hours=1.5, seed=2, identity="token")
    ledger.append(messages_of(truth.messages))
    fill(ledger, ROWS)
    said: list[tuple[str, Any]] = []

    def hear(_c: Any, _cursor: Any, statement: str, values: Any, _x: Any, _many: bool) -> None:
        if statement.lstrip().upper().startswith("SELECT") and "event" in statement:
            said.append((statement, values))

    sql_event.listen(ledger.engine, "before_cursor_execute", hear)
    for identity in ("token", "rack"):
        tracing = Tracing(mill_with(identity), ledger)
        ball = truth.balls[30]
        code = write_band_code("SL-207", LINE, ball.lane, ball.banded_us, ZONE)
        assert back_from_band(tracing, read_band_code(code, ZONE, lines=(LINE,))).balls
    assert back_from_token(tracing, truth.balls[30].token).balls
    assert forward_from_cone(tracing, "C1-001").cases
    assert forward_from_lot(tracing, "SL-207").cases
    assert back_from_case(tracing, "CASE-2").balls
    sql_event.remove(ledger.engine, "before_cursor_execute", hear)
    how = "EXPLAIN QUERY PLAN" if ledger.dialect == "sqlite" else "EXPLAIN"
    distinct = {" ".join(statement.split()): (statement, values) for statement, values in said}
    assert len(distinct) >= 8
    with ledger.reading() as connection:
        for statement, values in distinct.values():
            rows = connection.exec_driver_sql(f"{how} {statement}", values).fetchall()
            plan = "\n".join(str(row[-1]) for row in rows)
            whole = "SCAN event" if ledger.dialect == "sqlite" else "Seq Scan on event"
            assert whole not in plan, f"{statement}\n{plan}"
            assert "event_by_" in plan or "event_pk" in plan, f"{statement}\n{plan}"


def test_a_pallet_that_was_corrected_is_found_by_the_cases_on_it(ledger: Ledger) -> None:
    day = 86_400_000_000

    def pallet(name: str, at_us: int, *cases: str) -> Message:
        body = {"cases": list(cases)}
        return Message("", "pallet closed", at_us, "test", name, package=name, body=body)

    def mend(of_seq: int, change: str) -> Message:
        return replace(correction(of_seq, change=change), line="")

    ledger.append(
        [
            pallet("P-1", T0 + 40 * day, 'C "1"'), pallet("P-2", T0, "C-7"),
            pallet("P-3", T0, "C-8"),
            mend(1, f'{{"at": "{at(T0)}"}}'), mend(2, '{"cases": ["C \\"1\\"", "C-9"]}'),
            replace(mend(3, '{"cases": ["C-9"]}'), key="c3"),
        ]
    )  # fmt: skip
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, ZONE)
        held = {
            name: [one.package for one in kept.of_kind("", "pallet closed", upto_us=T0 + day,
                                                       holding=json.dumps(name))]
            for name in ('C "1"', "C-7", "C-8", "C-9")
        }  # fmt: skip
        assert kept.troubles() == ()
    assert held == {'C "1"': ["P-1", "P-2"], "C-7": [], "C-8": [], "C-9": ["P-2", "P-3"]}
