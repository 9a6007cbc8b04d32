"""The plan as a file: written, read back, and every fault of a file at once."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from clew.faults import BadInput, Fault
from clew.mill.model import Mill
from clew.plan.orders.asked import orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.sequence.plan import sequence_plan
from clew.plan.sequence.plan_file import COLUMNS, plan_csv, present_from_csv

NOW = datetime(2026, 11, 30, 6, tzinfo=ZoneInfo("Europe/London"))


def faults(text: str, mill: Mill) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as bad:
        present_from_csv(text, mill, file="plan.csv")
    return bad.value.faults


def test_there_and_back(demo_mill: Mill) -> None:
    runs = materials_for(demo_mill, orders_of_mill(demo_mill)).runs
    plan = sequence_plan(demo_mill, runs, now=NOW, within_s=0.5)
    text = plan_csv(plan.timed)
    assert text.splitlines()[0] == ",".join(COLUMNS) and len(text.splitlines()) == 5
    back = present_from_csv("\ufeff" + text, demo_mill)
    assert [(one.line_name, one.place, one.run_name, one.start) for one in back] == [
        ("Line 1", place, one.run.name, one.start) for place, one in enumerate(plan.timed, 1)
    ]
    again = sequence_plan(demo_mill, runs, now=NOW, present=back, within_s=0.5)
    assert again.terms.present == plan.answer.best.order
    assert again.present is not None and again.totals.cost == plan.totals.cost


def test_a_time_without_an_offset_is_by_the_mills_clock(demo_mill: Mill) -> None:
    text = "run;line;place;start\n1041;line 1;1;2026-07-01 06:00\n"
    (one,) = present_from_csv(text, demo_mill)
    assert one.line_name == "Line 1" and one.start.isoformat() == "2026-07-01T06:00:00+01:00"


def test_every_fault_is_told_with_its_place(demo_mill: Mill) -> None:
    text = (
        "line,place,run,start,end\n"
        "Line 1,1,1041,2026-11-30 06:00,2026-11-30 05:00\n"
        "Line 1,2,1042,2026-11-30 08:00,\n"
        "Line 9,0,1042,soon,later\n"
        "\n"
        "Line 1,2,1045,2026-11-30 09:00,\n"
        "Line 1,3,,2026-11-30 09:00,,,\n"
        ",x,1046,1926-11-30 09:00,\n"
    )
    found = [(fault.line, fault.key) for fault in faults(text, demo_mill)]
    assert found == [
        (2, "end"), (4, "line"), (4, "place"), (4, "start"), (4, "end"), (4, "run"),
        (6, "place"), (7, ""), (8, "line"), (8, "place"), (8, "start"),
    ]  # fmt: skip


def test_what_is_no_plan(demo_mill: Mill) -> None:
    assert faults("", demo_mill)[0].what == "an empty file"
    assert faults("line,place,run,start\n", demo_mill)[0].what == "no runs"
    found = faults("line,place,place,colour\n1,2,3,4\n", demo_mill)
    assert [(one.what, one.key) for one in found] == [
        ("a column is missing", "run"), ("a column is missing", "start"),
        ("an unknown column", "colour"), ("a column twice", "place"),
    ]  # fmt: skip
    assert faults('line,place,run,start\n"a"b,1,2,3\n', demo_mill)[0].what == "not a CSV file"
