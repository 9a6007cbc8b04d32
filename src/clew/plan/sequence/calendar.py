"""When a line works: days, shifts, closed dates, by the mill's own clock, summer time and all."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.plan_rules import DAYS

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from clew.mill.model import Mill

MOST_DAYS = 3700
"""No plan reaches farther ahead [days]."""
_STEP_DAYS = 32


@dataclass(frozen=True, slots=True)
class WorkTime:
    """Rules that say when a line works.

    Attributes
    ----------
    zone : ZoneInfo
        The mill's time zone.
    starts : tuple of time
        When shifts begin, worked or not, rising.
    worked : tuple of time
        Those of them that are worked.
    weekdays : tuple of int
        Worked days, Monday 0; a shift belongs to the day on which it begins.
    closed : frozenset of date
        Days on which no shift begins.
    shift_min : int
        How long a shift lasts, where the next does not begin before [min].
    """

    zone: ZoneInfo
    starts: tuple[time, ...]
    worked: tuple[time, ...]
    weekdays: tuple[int, ...]
    closed: frozenset[date]
    shift_min: int

    def spans_of(self, day: date) -> Iterator[tuple[int, int]]:
        """Give the shifts that begin on a day, from and up to [min since 1970, UTC]."""
        if day.weekday() not in self.weekdays or day in self.closed:
            return
        for place, start in enumerate(self.starts):
            if start not in self.worked:
                continue
            last = place + 1 == len(self.starts)
            following = (
                (day + timedelta(1), self.starts[0]) if last else (day, self.starts[place + 1])
            )
            begin = _minute(datetime.combine(day, start, self.zone))
            upto = min(begin + self.shift_min, _minute(datetime.combine(*following, self.zone)))
            if upto > begin:
                yield begin, upto

    @property
    def day_min(self) -> int:
        """Working minutes of a worked day, by the clock of winter [min]."""
        minutes = [start.hour * 60 + start.minute for start in self.starts]
        minutes.append(minutes[0] + 24 * 60)
        return sum(
            min(self.shift_min, minutes[place + 1] - minutes[place])
            for place, start in enumerate(self.starts)
            if start in self.worked
        )


class WorkCalendar:
    """The working minutes of one line from a moment on, counted from 0, and the way back.

    Parameters
    ----------
    rules : WorkTime
        When the line works.
    now : datetime
        Where minute 0 is, with the time zone; a part of a minute counts as gone.

    Raises
    ------
    BadInput
        When there is no working time at all.
    """

    def __init__(self, rules: WorkTime, now: datetime) -> None:
        self.rules = rules
        self.now = now
        self._from = -int(-now.timestamp() // 60)
        self._begins: list[int] = []
        self._before: list[int] = []
        self._total = 0
        self._day = now.astimezone(rules.zone).date() - timedelta(2)
        self._last = self._day + timedelta(MOST_DAYS)
        self._reach_minutes(1)

    def working_min(self, moment: datetime) -> int:
        """Count working minutes from now up to a moment; 0 for what is past."""
        upto = _minute(moment)
        while self._day <= self._last and _day_of(upto) + timedelta(2) >= self._day:
            self._extend()
        place = bisect_right(self._begins, upto) - 1
        if place < 0:
            return 0
        here = min(upto - self._begins[place], self._length(place))
        return self._before[place] + here

    def end_after(self, minutes: int) -> datetime:
        """Give the first moment by which so many minutes were worked; now, for 0."""
        if minutes <= 0:
            return self.now
        self._reach_minutes(minutes)
        place = bisect_left(self._before, minutes) - 1
        return self._local(self._begins[place] + minutes - self._before[place])

    def start_after(self, minutes: int) -> datetime:
        """Give the last such moment: where the next working minute begins."""
        minutes = max(minutes, 0)
        self._reach_minutes(minutes + 1)
        place = bisect_right(self._before, minutes) - 1
        return self._local(self._begins[place] + minutes - self._before[place])

    def due_min(self, day: date) -> int:
        """Count working minutes up to a day's end; a shift over midnight is cut there [min]."""
        return self._midnight_min(day + timedelta(1) if day < date.max else day)

    def ready_min(self, day: date) -> int:
        """Count working minutes before a day begins [min]."""
        return self._midnight_min(day)

    def _midnight_min(self, day: date) -> int:
        first = self.now.astimezone(self.rules.zone).date()
        day = max(min(day, first + timedelta(MOST_DAYS)), first)
        return self.working_min(datetime.combine(day, time(), self.rules.zone))

    def spans(self, upto: datetime) -> tuple[tuple[datetime, datetime], ...]:
        """Give the shifts, or what is left of them, that begin before a moment."""
        self.working_min(upto)
        last = _minute(upto)
        return tuple(
            (self._local(begin), self._local(begin + self._length(place)))
            for place, begin in enumerate(self._begins)
            if begin < last
        )

    def _length(self, place: int) -> int:
        after = self._before[place + 1] if place + 1 < len(self._before) else self._total
        return after - self._before[place]

    def _reach_minutes(self, minutes: int) -> None:
        while self._total < minutes:
            if self._day > self._last:
                raise BadInput(
                    Fault(
                        say("not enough working time in ten years for such a plan"),
                        say("worked days and shifts that are not all closed, and fewer balls"),
                        section="plan",
                        key="worked_days",
                    )
                )
            self._extend()

    def _extend(self) -> None:
        for _ in range(_STEP_DAYS):
            for begin, upto in self.rules.spans_of(self._day):
                begin_left = max(begin, self._from)
                if upto > begin_left:
                    self._begins.append(begin_left)
                    self._before.append(self._total)
                    self._total += upto - begin_left
            self._day += timedelta(1)

    def _local(self, minute: int) -> datetime:
        return datetime.fromtimestamp(minute * 60, UTC).astimezone(self.rules.zone)


def _minute(moment: datetime) -> int:
    return int(moment.timestamp() // 60)


def _day_of(minute: int) -> date:
    return datetime.fromtimestamp(minute * 60, UTC).date()


def work_time_of(mill: Mill, line_name: str) -> WorkTime:
    """Read off a mill when a line works.

    Parameters
    ----------
    mill : Mill
        The mill: shift starts, time zone, worked days and shifts, closed dates.
    line_name : str
        The line; empty for the only one.

    Returns
    -------
    WorkTime
        The rules.

    Notes
    -----
    A shift lasts the line's ``shift_time``, and never beyond the start of the next, worked or not.
    It belongs to the day on which it begins, also where it ends on the next. Its length is real
    time: the night in which the clocks go forward is an hour shorter where the next shift cuts it.
    Source: common practice, no published source.
    """
    from zoneinfo import ZoneInfo

    starts = tuple(time.fromisoformat(one) for one in mill.mill.shift_starts)
    worked = mill.plan.worked_shifts
    return WorkTime(
        zone=ZoneInfo(mill.mill.time_zone),
        starts=starts,
        worked=starts if worked is None else tuple(time.fromisoformat(one) for one in worked),
        weekdays=tuple(DAYS.index(day) for day in mill.plan.worked_days),
        closed=frozenset(mill.plan.closed),
        shift_min=int(mill.find_line(line_name).shift_time_s // 60),
    )
