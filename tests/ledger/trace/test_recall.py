"""The recall list: what left the mill first, every ball once, and a table no program misreads."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace

import pytest
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import KeptInList, live, messages_of

from clew.ledger.trace.forwards import forward_from_cone
from clew.ledger.trace.recall import COLUMNS, RecallList, RecallRow, recall_csv, recall_list
from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

ROW = RecallRow(
    "case", "K1", True, 3, 4, "L1", "SL-207", "in the mill", "", "", "", "2026-03-01 05:40",
    "3 of its 20 balls", "L1·7",
)  # fmt: skip


def test_every_case_and_loose_ball_stands_once(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    truth = live(way, ball_name=BALL, hours=2.0, seed=2)
    told = [one for one in truth.messages if one["key"] != "CASE-3"]  # a case never closed
    told = [one for one in told if one["key"] not in ("s PAL-1",)]  # and a pallet still here
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(told)))
    trace = forward_from_cone(tracing, "C1-002")
    found = recall_list(trace, "Europe/London")
    cases = [one for one in found.rows if one.what == "case"]
    assert {one.name for one in cases} == {one.case for one in trace.cases}
    assert len(found.rows) == len({one.name for one in found.rows})
    loose = [one for one in found.rows if one.what == "ball"]
    assert {one.name for one in loose} == {one.name for one in trace.balls if not one.cases}
    gone = [bool(one.customer) for one in found.rows]
    assert gone == sorted(gone, reverse=True)
    assert (found.sure, found.possible) == (trace.sure, trace.possible)
    assert all(one.where == "in the mill, on pallet PAL-1" for one in cases if not one.customer)
    assert all(one.balls_sure + one.balls_possible <= 20 for one in cases)


def test_the_table_is_read_back_whole() -> None:
    odd = replace(ROW, name='K "2", =1', customer="=HYPERLINK(1)", sure=False)
    raw = recall_csv(RecallList("cone C", (ROW, odd), 3, 4, ()))
    assert raw.count(b"\r\n") == 3
    rows = list(csv.reader(io.StringIO(raw.decode(), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert rows[1][:5] == ["case", "K1", "yes", "3", "4"]
    assert rows[2][1:3] == ['K "2", =1', "no"]
    assert rows[2][COLUMNS.index("customer")] == "'=HYPERLINK(1)"


@pytest.mark.parametrize("sign", "=+-@\t\r\uff1d\uff0b\uff0d\uff20")
def test_no_cell_of_the_table_is_a_formula(sign: str) -> None:
    raw = recall_csv(RecallList("cone C", (replace(ROW, customer=f"{sign}1"),), 3, 4, ()))
    rows = list(csv.reader(io.StringIO(raw.decode(), newline="")))
    assert rows[1][COLUMNS.index("customer")] == f"'{sign}1"
