"""A line's hours on the clock, at the ends of the calendar."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.mill import Mill
from clew.plan.shift.hours import LineHours


@pytest.mark.parametrize("due", [date(2026, 12, 4), date(2027, 3, 27), date.max])
def test_a_day_ends_where_the_next_begins(demo_mill: Mill, due: date) -> None:
    """The last day there is has no next one, and ends all the same."""
    zone = ZoneInfo("Europe/London")
    hours = LineHours(demo_mill, "Line 1", datetime(2026, 11, 26, 6, tzinfo=zone))
    following = due if due == date.max else due + timedelta(days=1)
    assert hours.due_end(due).replace(tzinfo=None) == datetime(*following.timetuple()[:3])
