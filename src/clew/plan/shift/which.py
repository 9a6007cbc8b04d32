"""Which shift is meant: by its day and when it begins; and the shifts that a plan reaches into."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.hours import LineHours

Span = tuple[datetime, datetime]


def shift_span(mill: Mill, day: date, place: int) -> Span:
    """Say from when to when a shift is.

    Parameters
    ----------
    mill : Mill
        The mill with its shift starts and its clock.
    day : date
        The day it begins on.
    place : int
        Which of the day's shifts, from 0.

    Returns
    -------
    (datetime, datetime)
        By the mill's clock, up to the start of the next.
    """
    starts, zone = mill.mill.shift_starts, ZoneInfo(mill.mill.time_zone)
    last = place + 1 == len(starts)
    begins = datetime.combine(day, time.fromisoformat(starts[place]), zone)
    after = time.fromisoformat(starts[0] if last else starts[place + 1])
    return begins, datetime.combine(day + timedelta(days=last), after, zone)


def read_shift(
    mill: Mill, on: str, start: str, *, now: datetime, keys: tuple[str, str] = ("date", "shift")
) -> Span:
    """Read which shift is asked for.

    Parameters
    ----------
    mill : Mill
        The mill with its shift starts and its clock.
    on, start : str
        The day, and when the shift begins; empty for today, and for the shift that runs.
    now : datetime
        Now, with a time zone.
    keys : (str, str)
        What the two are called where they were typed.

    Returns
    -------
    (datetime, datetime)
        From when to when it is, by the mill's clock.

    Raises
    ------
    BadInput
        When the day is none, or no shift begins then.
    """
    starts, here = mill.mill.shift_starts, now.astimezone(ZoneInfo(mill.mill.time_zone))
    faults = []
    if start and start not in starts:
        expected = say("one of {starts}", starts=joined(", ", starts))
        faults.append(
            Fault(say("no shift begins then"), expected, key=keys[1], value=repr(start)[:80])
        )
    day = here.date()
    if on:
        try:
            day = date.fromisoformat(on)
            if not 2000 <= day.year <= 2199:
                raise ValueError
        except ValueError:
            faults.append(
                Fault(say("no day"), say("such as 2026-11-26"), key=keys[0], value=repr(on)[:80])
            )
    if faults:
        raise BadInput(faults)
    begun = [place for place, one in enumerate(starts) if one <= f"{here:%H:%M}"]
    if start:
        place = starts.index(start)
    elif on:
        place = 0
    else:
        place = (begun or [len(starts) - 1])[-1]
        if not begun:  # after midnight, in the shift of the day before
            day -= timedelta(days=1)
    return shift_span(mill, day, place)


def shifts_reached(mill: Mill, timed: Sequence[TimedRun]) -> tuple[Span, ...]:
    """Give the shifts in which a plan has something to do.

    Parameters
    ----------
    mill : Mill
        The mill.
    timed : sequence of TimedRun
        The plan.

    Returns
    -------
    tuple of (datetime, datetime)
        From when to when each is, in order; not those in which no line works that has a run.
    """
    if not timed:
        return ()
    zone = ZoneInfo(mill.mill.time_zone)
    since = min(one.change_from for one in timed)
    hours = {one.line_name: LineHours(mill, one.line_name, since) for one in timed}
    day = min(one.change_from.astimezone(zone) for one in timed).date() - timedelta(days=1)
    last = max(one.end.astimezone(zone) for one in timed).date()
    found = []
    while day <= last:
        for place in range(len(mill.mill.shift_starts)):
            begins, ends = shift_span(mill, day, place)
            if any(
                hours[one.line_name].between_s(max(begins, one.change_from), min(ends, one.end))
                for one in timed
            ):
                found.append((begins, ends))
        day += timedelta(days=1)
    return tuple(found)
