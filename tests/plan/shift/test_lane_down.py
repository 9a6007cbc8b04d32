"""A lane down: never faster, and what it makes late, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.line.layout_from_mill import layout_of
from clew.mill.model import Mill
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.hours import LineHours
from clew.plan.shift.lane_down import down_pace, made_late
from clew.plan.shift.pace_draws import PaceDraws, pace_draws
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.words import lane_down_words

ZONE = ZoneInfo("Europe/London")
THURSDAY = datetime(2026, 11, 26, 6, tzinfo=ZONE)
SHIFT = {"shift_from": THURSDAY, "shift_upto": THURSDAY + timedelta(hours=8)}
Make = Callable[..., TimedRun]


@pytest.mark.parametrize("ball", ["Querl 100", "Querl 200", "Dunnow 50", "Sallowe 100"])
@pytest.mark.parametrize("hands", [1, 2, 5])
def test_a_lane_down_is_never_faster(demo_mill: Mill, ball: str, hands: int) -> None:
    whole = pace_draws(layout_of(demo_mill, "Line 1", ball, hands=hands), replications=40, seed=2)
    down = down_pace(whole, seed=2)
    assert down is not None
    assert down.draws.balls_per_s <= whole.balls_per_s
    if hands == 5:  # hands enough: it is the lanes that hold the line up
        assert down.told
        assert down.draws.balls_per_s == pytest.approx(5 / 6 * whole.balls_per_s, rel=0.03)


def test_a_loss_that_chance_made_a_gain_is_none(demo_mill: Mill) -> None:
    layout = layout_of(demo_mill, "Line 1", "Querl 200")
    slow = PaceDraws(layout, (1.0,) * 20)
    down = down_pace(slow, seed=1)
    assert down is not None
    assert (down.draws, down.told) == (slow, False)


def test_of_one_lane_nothing_is_left(demo_mill: Mill) -> None:
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 200"), lanes=1)
    assert down_pace(PaceDraws(layout, (1.0, 2.0)), seed=1) is None


def test_what_becomes_late_worked_by_hand(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...]
) -> None:
    hours = LineHours(demo_mill, "Line 1", THURSDAY)
    end = datetime(2026, 11, 26, 21, 30, tzinfo=ZONE)
    first = replace(three_runs[0], end=end, run=replace(three_runs[0].run, due=date(2026, 12, 4)))
    next_start = end + timedelta(minutes=10)
    second = replace(
        three_runs[1], change_from=next_start, start=next_start,
        end=datetime(2026, 11, 26, 22, tzinfo=ZONE),
        run=replace(three_runs[1].run, due=date(2026, 11, 26)),
    )  # fmt: skip
    # An hour late, less the 10 min that the line waits: 50 min, worked on Friday from 06:00 on.
    found = made_late([first, second], 3600.0, hours)
    assert found.late == ("1042",)
    assert found.overtime_h == pytest.approx(50 / 60)
    assert made_late([first, second], 600.0, hours).late == ()
    due_before = replace(second, run=replace(second.run, due=date(2026, 11, 25)))
    assert made_late([first, due_before], 3600.0, hours).late == ()


@given(delay_s=st.floats(0.0, 3e5), more_s=st.floats(0.0, 3e5))
def test_a_longer_delay_makes_no_fewer_late(
    demo_mill: Mill, three_runs: tuple[TimedRun, ...], delay_s: float, more_s: float
) -> None:
    hours = LineHours(demo_mill, "Line 1", THURSDAY)
    some = made_late(three_runs, delay_s, hours)
    more = made_late(three_runs, delay_s + more_s, hours)
    assert set(some.late) <= set(more.late)
    assert some.overtime_h <= more.overtime_h + 1e-9


def test_advice_names_the_late_the_hours_and_other_lines(demo_mill: Mill, make_run: Make) -> None:
    line = demo_mill.line[0]
    mill = demo_mill.model_copy(update={"line": (line, line.model_copy(update={"name": "Line 2"}))})
    run = make_run("9", "Querl 100", "SL-207", 6000, THURSDAY, due=date(2026, 11, 26),
                   lines=("Line 1", "Line 2"), mill=mill)  # fmt: skip
    plan = shift_plan(mill, [run], **SHIFT)
    found = plan.lines[0].runs[0]
    assert run.end.date() == date(2026, 11, 26)
    assert found.lane_down.late == ("9",)
    assert 0.0 < found.lane_down.overtime_h < 5.0
    words = lane_down_words(plan, found)
    assert "9 becomes late: move it to Line 2 (free 06:00), or work" in words
    assert plan.idle == ("Line 2",)


def test_the_only_lane_down_stops_the_line(demo_mill: Mill, make_run: Make) -> None:
    line = demo_mill.line[0]
    one_lane = line.model_copy(update={"lanes": 1, "winder": line.winder[:1]})
    mill = demo_mill.model_copy(update={"line": (one_lane,)})
    run = make_run("9", "Querl 200", "OA-023", 60, THURSDAY, mill=mill)
    plan = shift_plan(mill, [run], **SHIFT)
    found = plan.lines[0].runs[0]
    assert found.lane_down.end is None
    assert "the line stands" in lane_down_words(plan, found)
