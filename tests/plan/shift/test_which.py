"""Which shift is meant, whatever the clocks do; and the shifts that a plan reaches into."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from clew.faults import BadInput
from clew.mill import Mill
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.hours import LineHours
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.which import read_shift, shifts_reached


@pytest.mark.parametrize(
    ("now", "on", "starts", "wanted"),
    [
        ("2026-11-26T09:00", "", "", ("2026-11-26T06:00", "2026-11-26T14:00")),
        ("2026-11-26T23:00", "", "", ("2026-11-26T22:00", "2026-11-27T06:00")),
        ("2026-11-26T03:00", "", "", ("2026-11-25T22:00", "2026-11-26T06:00")),
        ("2026-11-26T03:00", "", "14:00", ("2026-11-26T14:00", "2026-11-26T22:00")),
        ("2026-11-26T03:00", "2026-11-30", "", ("2026-11-30T06:00", "2026-11-30T14:00")),
        ("2026-11-26T03:00", "2026-10-24", "22:00", ("2026-10-24T22:00", "2026-10-25T06:00")),
    ],
)
def test_which_shift_is_meant(
    demo_mill: Mill, now: str, on: str, starts: str, wanted: tuple[str, str]
) -> None:
    at = datetime.fromisoformat(now).replace(tzinfo=UTC)
    found = read_shift(demo_mill, on, starts, now=at)
    assert tuple(f"{one:%Y-%m-%dT%H:%M}" for one in found) == wanted


@pytest.mark.parametrize(("on", "start"), [("yesterday", ""), ("", "05:00"), ("1999-01-01", "")])
def test_a_shift_that_is_none_is_refused(demo_mill: Mill, on: str, start: str) -> None:
    with pytest.raises(BadInput):
        read_shift(demo_mill, on, start, now=datetime(2026, 11, 26, tzinfo=UTC))


@pytest.mark.parametrize(
    ("begins", "hours", "shifts"),
    [
        ("2026-11-26T20:00", 8.0, ["26 14:00", "27 06:00"]),  # nights are not worked
        ("2026-10-23T20:00", 8.0, ["23 14:00", "26 06:00"]),  # a weekend, and the clocks go back
        ("2026-11-26T12:30", 7.5, ["26 06:00", "26 14:00"]),  # half an hour idle at each end
        ("2026-11-26T10:00", 8.0, ["26 06:00", "26 14:00"]),
    ],
)  # fmt: skip
def test_every_cone_stands_on_the_list_of_one_shift_that_is_worked(
    demo_mill: Mill, make_run: Callable[..., TimedRun], begins: str, hours: float, shifts: list[str]
) -> None:
    line = demo_mill.line[0].model_copy(update={"shift_time_s": 3600.0 * hours})
    mill = demo_mill.model_copy(update={"line": (line,)})
    start = datetime.fromisoformat(begins).replace(tzinfo=ZoneInfo("Europe/London"))
    one = make_run("1", "Querl 100", "SL-207", 1500, start, cones=105, stand_s=0.0, mill=mill)
    # the plan's own pace is not that of the shifts simulated for the day
    slower = LineHours(mill, "Line 1", start).after(start, 4.5 * 3600.0)
    one = replace(one, end=slower, end_early=slower, end_late=slower)
    spans = shifts_reached(mill, [one])
    assert [f"{since:%d %H:%M}" for since, _ in spans] == shifts
    listed: Counter[int] = Counter()
    spare = 0
    for since, upto in spans:
        plan = shift_plan(mill, [one], shift_from=since, shift_upto=upto, replications=20)
        (run,) = plan.lines[0].runs
        listed.update(call.number for call in run.cones.calls)
        spare += run.cones.spare
        assert all(since <= call.free.at <= upto for call in run.cones.calls)
        assert run.cones.before + len(run.cones.calls) + run.cones.later <= 105
    assert set(listed.values()) == {1}
    assert sorted(listed) == list(range(1, len(listed) + 1))
    assert len(listed) + spare == 105


def test_a_shift_that_is_not_worked_has_no_run(
    demo_mill: Mill, make_run: Callable[..., TimedRun]
) -> None:
    zone = ZoneInfo("Europe/London")
    one = make_run("1", "Querl 100", "SL-207", 1500, datetime(2026, 11, 26, 20, tzinfo=zone))
    night = shift_plan(
        demo_mill, [one], shift_from=datetime(2026, 11, 26, 22, tzinfo=zone),
        shift_upto=datetime(2026, 11, 27, 6, tzinfo=zone), replications=20,
    )  # fmt: skip
    assert night.lines == ()
    assert night.idle == ("Line 1",)
