"""Working time: against a count minute by minute, over the nights of the clock changes."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.plan.sequence.calendar import WorkCalendar, WorkTime, work_time_of

LONDON = ZoneInfo("Europe/London")
THREE = (time(6), time(14), time(22))


def rules(
    worked: tuple[time, ...] = THREE,
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6),
    closed: frozenset[date] = frozenset(),
    shift_min: int = 480,
    starts: tuple[time, ...] = THREE,
    zone: ZoneInfo = LONDON,
) -> WorkTime:
    return WorkTime(zone, starts, worked, weekdays, closed, shift_min)


def worked_minutes(rule: WorkTime, first: int, count: int) -> list[bool]:
    """Walk minute by minute of UTC from two days before, with an eye on the wall clock."""
    found, left, this_worked = [], 0, False
    for minute in range(first - 2880, first + count):
        moment = datetime.fromtimestamp(minute * 60, UTC).astimezone(rule.zone)
        if moment.time().replace(tzinfo=None, fold=0) in rule.starts and not moment.fold:
            day = moment.date()
            left = rule.shift_min
            this_worked = (
                moment.time().replace(tzinfo=None) in rule.worked
                and day.weekday() in rule.weekdays
                and day not in rule.closed
            )
        if minute >= first:
            found.append(left > 0 and this_worked)
        left -= 1
    return found


RULES = st.builds(
    rules,
    worked=st.sets(st.sampled_from(THREE), min_size=1).map(lambda some: tuple(sorted(some))),
    weekdays=st.sets(st.integers(0, 6), min_size=1).map(lambda some: tuple(sorted(some))),
    closed=st.frozensets(st.dates(date(2026, 3, 25), date(2026, 4, 2)), max_size=3),
    shift_min=st.sampled_from([240, 450, 480, 720]),
    zone=st.sampled_from([LONDON, ZoneInfo("America/New_York"), ZoneInfo("Asia/Kolkata")]),
)
# both nights on which London's clocks change, and a month without
NOWS = st.sampled_from(
    [datetime(2026, 3, 27, 12, tzinfo=UTC), datetime(2026, 10, 23, 3, 17, tzinfo=UTC)]
).flatmap(lambda begin: st.integers(0, 2000).map(lambda m: begin + timedelta(minutes=m)))


@pytest.mark.parametrize("begin", [datetime(2026, 3, 28, 9, 30), datetime(2026, 10, 24, 9, 30)])
@pytest.mark.parametrize("worked", [THREE, (time(22),), (time(6), time(22))])
@pytest.mark.parametrize("shift_min", [400, 480, 600])
def test_it_agrees_with_a_count_minute_by_minute(
    begin: datetime, worked: tuple[time, ...], shift_min: int
) -> None:
    rule = rules(worked, shift_min=shift_min, weekdays=(0, 5, 6))
    now = begin.replace(tzinfo=LONDON)
    calendar = WorkCalendar(rule, now)
    first = int(now.timestamp() // 60)
    counted = 0
    for step, works in enumerate(worked_minutes(rule, first, 3 * 24 * 60)):
        moment = datetime.fromtimestamp((first + step) * 60, UTC)
        if step % 97 == 0 or step % 60 == 0:
            assert calendar.working_min(moment) == counted
        counted += works


@given(RULES, NOWS, st.integers(0, 30_000))
@example(rules((time(22),)), datetime(2026, 3, 28, 20, tzinfo=UTC), 420)
def test_there_and_back(rule: WorkTime, now: datetime, minutes: int) -> None:
    calendar = WorkCalendar(rule, now)
    end, start = calendar.end_after(minutes), calendar.start_after(minutes)
    assert calendar.working_min(end) == calendar.working_min(start) == minutes
    assert now.timestamp() <= end.timestamp() <= start.timestamp()
    assert calendar.working_min(start + timedelta(minutes=1)) in (minutes, minutes + 1)
    later = datetime.fromtimestamp(start.timestamp() + 60, UTC)
    assert calendar.working_min(later) == minutes + 1


def test_a_night_is_shorter_in_spring_and_no_longer_in_autumn() -> None:
    night = rules((time(22),))
    spring = WorkCalendar(night, datetime(2026, 3, 28, 21, tzinfo=LONDON))
    assert spring.end_after(420) == datetime(2026, 3, 29, 6, tzinfo=LONDON)
    autumn = WorkCalendar(night, datetime(2026, 10, 24, 21, tzinfo=LONDON))
    assert autumn.end_after(480) == datetime(2026, 10, 25, 5, tzinfo=LONDON)


def test_due_is_the_last_worked_moment_of_the_day() -> None:
    now = datetime(2026, 11, 30, 6, tzinfo=LONDON)  # a Monday
    two = WorkCalendar(rules(THREE[:2], weekdays=(0, 1, 2, 3, 4)), now)
    assert two.due_min(date(2026, 11, 30)) == 960
    assert two.due_min(date(2026, 12, 4)) == two.due_min(date(2026, 12, 6)) == 5 * 960
    assert two.due_min(date(2026, 11, 27)) == 0
    assert two.ready_min(date(2026, 12, 1)) == 960
    assert two.due_min(date.max) > 2 * 10**6
    night = WorkCalendar(rules((time(22),)), now)
    assert night.due_min(date(2026, 11, 30)) == 120  # cut at midnight


def test_an_end_is_before_a_rest_and_a_start_after_it() -> None:
    now = datetime(2026, 12, 4, 20, tzinfo=LONDON)  # a Friday
    calendar = WorkCalendar(rules(THREE[:2], weekdays=(0, 1, 2, 3, 4)), now)
    assert calendar.end_after(120) == datetime(2026, 12, 4, 22, tzinfo=LONDON)
    assert calendar.start_after(120) == datetime(2026, 12, 7, 6, tzinfo=LONDON)
    assert calendar.end_after(0) == now
    shifts = calendar.spans(datetime(2026, 12, 7, 15, tzinfo=LONDON))
    assert [(a.hour, b.hour) for a, b in shifts] == [(20, 22), (6, 14), (14, 22)]


def test_a_mill_that_never_works_says_so() -> None:
    now = datetime(2026, 11, 30, 6, tzinfo=LONDON)
    with pytest.raises(BadInput, match="not enough working time"):
        WorkCalendar(rules(()), now)
    with pytest.raises(BadInput, match="not enough working time"):
        WorkCalendar(rules(), now).end_after(10**7)


def test_the_demo_mill_works_two_shifts_on_weekdays(demo_mill: Mill) -> None:
    rule = work_time_of(demo_mill, "Line 1")
    assert rule.worked == (time(6), time(14)) and rule.weekdays == (0, 1, 2, 3, 4)
    assert rule.shift_min == 480 and rule.day_min == 960
    calendar = WorkCalendar(rule, datetime(2026, 12, 24, 6, tzinfo=LONDON))
    assert calendar.start_after(960) == datetime(2026, 12, 28, 6, tzinfo=LONDON)
