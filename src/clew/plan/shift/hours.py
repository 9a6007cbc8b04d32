"""A line's working hours on the clock: counted between two moments, and laid out after one."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

from clew.languages import say
from clew.mill.model import Mill
from clew.plan.sequence.calendar import WorkCalendar, work_time_of


class LineHours:
    """The working hours of a line, to the minute.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name : str
        The line.
    since : datetime
        No moment before this one is asked for.
    """

    def __init__(self, mill: Mill, line_name: str, since: datetime) -> None:
        self.calendar = WorkCalendar(work_time_of(mill, line_name), since)

    def between_s(self, since: datetime, upto: datetime) -> float:
        """Count the time worked between two moments [s]."""
        gone_min = self.calendar.working_min(upto) - self.calendar.working_min(since)
        return 60.0 * max(gone_min, 0)

    def after(self, moment: datetime, worked_s: float) -> datetime:
        """Give the moment by which so much more time was worked [s]; the moment itself for none."""
        minutes = math.ceil(worked_s / 60.0 - 1e-6)
        if minutes <= 0:
            return moment
        return self.calendar.end_after(self.calendar.working_min(moment) + minutes)

    def begins_after(self, moment: datetime, worked_s: float) -> datetime:
        """Give the last moment with so much more time worked [s]: what comes then begins there."""
        minutes = math.ceil(worked_s / 60.0 - 1e-6)
        return self.calendar.start_after(self.calendar.working_min(moment) + max(minutes, 0))

    def due_end(self, due: date) -> datetime:
        """Give the end of a day, by the mill's clock."""
        following = due + timedelta(1) if due < date.max else due
        return datetime.combine(following, datetime.min.time(), self.calendar.rules.zone)


def later(moment: datetime, by_s: float) -> datetime:
    """Give the moment so many seconds of real time later [s], on the same clock."""
    return (moment.astimezone(UTC) + timedelta(seconds=by_s)).astimezone(moment.tzinfo)


def apart_s(since: datetime, upto: datetime) -> float:
    """Real time between two moments, whatever the clocks do in between [s]."""
    return upto.timestamp() - since.timestamp()


def time_words(time_s: float) -> str:
    """Write a time for the floor: ``27 min``, ``1 h 40 min``."""
    minutes = max(round(time_s / 60.0), 1)
    if minutes < 60:
        return f"{minutes} min"
    return (
        say("{hours} h {minutes} min", hours=minutes // 60, minutes=minutes % 60)
        if minutes % 60
        else f"{minutes // 60} h"
    )
