"""The picture: bars where their times are, nights where nobody works, over a clock change too."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from clew.mill.model import Mill
from clew.plan.orders.asked import orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.sequence.gantt import GanttPicture, gantt_of
from clew.plan.sequence.plan import SequencePlan, sequence_plan

LONDON = ZoneInfo("Europe/London")


def planned(mill: Mill, now: datetime, due: date, balls: float = 4000.0) -> SequencePlan:
    runs = materials_for(mill, orders_of_mill(mill)).runs
    runs = tuple(replace(one, due=due, wound_balls=balls) for one in runs)
    return sequence_plan(mill, runs, now=now, within_s=0.5)


@pytest.fixture(scope="module")
def plan(demo_mill: Mill) -> SequencePlan:
    """Over the Sunday on which the clocks go back, late for the Tuesday after."""
    return planned(demo_mill, datetime(2026, 10, 23, 6, tzinfo=LONDON), date(2026, 10, 27))


@pytest.fixture(scope="module")
def picture(demo_mill: Mill, plan: SequencePlan) -> GanttPicture:
    return gantt_of(plan, demo_mill)


def share(picture: GanttPicture, moment: datetime) -> float:
    begins, ends = picture.begins.timestamp(), picture.ends.timestamp()
    return (moment.timestamp() - begins) / (ends - begins)


def test_bars_lie_where_their_times_are(plan: SequencePlan, picture: GanttPicture) -> None:
    assert len(picture.bars) == len(plan.timed) == 4 and picture.rows == ("Line 1",)
    for bar, one in zip(picture.bars, plan.timed, strict=True):
        assert bar.x0 == pytest.approx(share(picture, one.start))
        assert bar.x1 == pytest.approx(share(picture, one.end))
        assert 0 <= bar.x0 < bar.early_x <= bar.x1 <= bar.late_x <= 1
    assert picture.bars[-1].late_x == pytest.approx(1.0)
    for first, then in itertools.pairwise(picture.bars):
        assert first.x1 <= then.x0
    assert [one.run_name for one in picture.changes] == [one.run_name for one in picture.bars]
    for block, bar in zip(picture.changes, picture.bars, strict=True):
        assert block.x0 < block.x1 == bar.x0


def test_late_bars_are_marked_and_due_is_inside(plan: SequencePlan, picture: GanttPicture) -> None:
    late = {one.run_name for one in plan.late}
    assert late and {one.run_name for one in picture.bars if one.late} == late
    due = datetime(2026, 10, 28, tzinfo=LONDON)
    assert all(one.due_x == pytest.approx(share(picture, due)) for one in picture.bars)
    assert all(one.words.endswith(", late") == one.late for one in picture.bars)


def test_nights_and_the_weekend_are_rests(picture: GanttPicture) -> None:
    """22:00 to 06:00, and from Friday 22:00 to Monday 06:00: 57 h of real time."""
    begins, ends = picture.begins.timestamp(), picture.ends.timestamp()
    hours = [(one.x1 - one.x0) * (ends - begins) / 3600 for one in picture.rests]
    assert hours[0] == pytest.approx(57.0) and all(one <= 8.0001 for one in hours[1:])
    assert not any(
        rest.x0 < edge < rest.x1
        for rest in picture.rests
        for bar in picture.bars
        for edge in (bar.x0 + 1e-9, bar.x1 - 1e-9)
    )


def test_ticks_are_days_and_shifts(picture: GanttPicture) -> None:
    assert [one.x for one in picture.ticks] == sorted(one.x for one in picture.ticks)
    days = [one.label for one in picture.ticks if one.day]
    assert days[:3] == ["Sat 24 Oct", "Sun 25 Oct", "Mon 26 Oct"]
    monday = next(one for one in picture.ticks if one.label == "Mon 26 Oct")
    assert monday.x == pytest.approx(share(picture, datetime(2026, 10, 26, tzinfo=LONDON)))


def test_waits_lie_in_working_time_between_runs(demo_mill: Mill) -> None:
    """From a Friday on, for yarn that comes on the Tuesday after the clocks went back."""
    runs = materials_for(demo_mill, orders_of_mill(demo_mill)).runs
    held = [replace(runs[0], ready=date(2026, 10, 27)), *runs[1:]]
    now = datetime(2026, 10, 23, 6, tzinfo=LONDON)
    plan = sequence_plan(demo_mill, held, now=now, within_s=0.5)
    picture = gantt_of(plan, demo_mill)
    waiting = next(one for one in plan.timed if one.wait_s)
    whole_s = picture.ends.timestamp() - picture.begins.timestamp()
    assert len(picture.waits) > 1 and {one.row for one in picture.waits} == {0}
    drawn_s = sum(one.x1 - one.x0 for one in picture.waits) * whole_s
    assert drawn_s == pytest.approx(waiting.wait_s, abs=1.0)
    words = f"h for the yarn of {runs[0].name}: {waiting.wait_cost:.2f} GBP"
    assert all(words in one.words for one in picture.waits)
    for wait in picture.waits:
        for other in (*picture.bars, *picture.rests, *picture.changes):
            assert wait.x1 <= other.x0 + 1e-9 or wait.x0 >= other.x1 - 1e-9


def test_a_picture_without_waits_has_none(picture: GanttPicture) -> None:
    assert picture.waits == ()


def test_a_long_picture_has_few_ticks(demo_mill: Mill) -> None:
    plan = planned(demo_mill, datetime(2026, 10, 23, 6, tzinfo=LONDON), date(2027, 3, 1), 40_000.0)
    picture = gantt_of(plan, demo_mill)
    assert 10 < len(picture.ticks) <= 30 and all(one.day for one in picture.ticks)


def test_it_keeps_the_colours_and_begins_now(picture: GanttPicture) -> None:
    assert (24.0, 8.5, -19.0) in {tuple(one.lab) for one in picture.bars}
    assert picture.begins == datetime(2026, 10, 23, 6, tzinfo=LONDON)


def test_an_empty_plan_has_a_picture(demo_mill: Mill) -> None:
    now = datetime(2026, 10, 23, 6, tzinfo=LONDON)
    picture = gantt_of(sequence_plan(demo_mill, (), now=now), demo_mill)
    assert picture.bars == () and picture.ends > picture.begins
