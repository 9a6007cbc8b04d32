"""A plan that was written down: its starts are kept, its faults are named."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.sequence.change import LineNow
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.from_present import timed_from_present
from clew.plan.shift.shift_plan import shift_plan

ZONE = ZoneInfo("Europe/London")
AT = datetime(2026, 11, 26, 6, 40, tzinfo=ZONE)


def present(*starts: tuple[str, datetime]) -> list[PresentRun]:
    return [
        PresentRun(name, "Line 1", place, start)
        for place, (name, start) in enumerate(starts, start=1)
    ]


def test_starts_are_kept_and_changes_come_before(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    runs = [one.run for one in three_runs]
    later = datetime(2026, 11, 26, 11, tzinfo=ZONE)
    first, second = timed_from_present(demo_mill, runs, present(("1041", AT), ("1042", later)))
    assert (first.start, second.start) == (AT, later)
    assert first.change.kind == "yarn"
    assert first.change_from == AT - timedelta(seconds=first.change.stand_s)
    assert second.change.kind == "ball"
    gone_s = (later - second.change_from).total_seconds()
    assert gone_s == pytest.approx(second.change.stand_s, abs=61.0)
    pace = pace_of(demo_mill, "Line 1", "Querl 100")
    run_s = (first.end - first.start).total_seconds()
    assert run_s == pytest.approx(pace.run_s(runs[0].wound_balls), abs=61.0)
    assert first.end_early < first.end < first.end_late


def test_an_offset_of_the_file_becomes_the_mills_clock(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    there = AT.astimezone(timezone(timedelta(hours=5)))
    (one,) = timed_from_present(demo_mill, [three_runs[0].run], present(("1041", there)))
    assert f"{one.start:%H:%M}" == "06:40"


def test_a_first_change_may_lie_in_the_shift_before(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    start = datetime(2026, 11, 27, 6, 10, tzinfo=ZONE)
    (one,) = timed_from_present(demo_mill, [three_runs[0].run], present(("1041", start)))
    # 40 min: ten of them on Friday, thirty before 22:00 of Thursday.
    assert one.change_from == datetime(2026, 11, 26, 21, 30, tzinfo=ZONE)


def test_what_is_in_the_line_makes_the_first_change(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    now = {"Line 1": LineNow("Querl 100", "SL-211")}
    (one,) = timed_from_present(
        demo_mill, [three_runs[0].run], present(("1041", AT)), lines_now=now
    )
    assert one.change.kind == "lot"
    shift_from = AT.replace(hour=6, minute=0)
    for lines_now, from_lot in ((now, "SL-211"), (None, "")):
        plan = shift_plan(
            demo_mill, [one], shift_from=shift_from, shift_upto=AT.replace(hour=14),
            lines_now=lines_now, replications=10,
        )  # fmt: skip
        change = plan.lines[0].runs[0].change
        assert change is not None
        assert change.from_lot == from_lot
        assert any("SL-211 off the creel" in step for step in change.steps) == bool(from_lot)


def test_a_start_before_the_line_is_free_waits(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    runs = [one.run for one in three_runs]
    soon = AT + timedelta(minutes=5)
    first, second = timed_from_present(demo_mill, runs, present(("1041", AT), ("1042", soon)))
    assert second.start == first.end


def test_unknown_runs_and_lines_are_named_together(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    line = demo_mill.line[0].model_copy(update={"name": "Line 2"})
    mill = demo_mill.model_copy(update={"line": (*demo_mill.line, line)})
    wrong = [PresentRun("9999", "Line 1", 1, AT), PresentRun("1041", "Line 2", 1, AT)]
    with pytest.raises(BadInput) as bad:
        timed_from_present(mill, [one.run for one in three_runs], wrong, file="plan.csv")
    assert [one.key for one in bad.value.faults] == ["run", "line"]
    assert {one.file for one in bad.value.faults} == {"plan.csv"}
