"""Which shift a moment belongs to, by the mill's clock, through midnight and clock changes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from clew.ledger.events.moments import local_of, us_of
from clew.ledger.state.answer import Shift


def shift_of(at_us: int, starts: Sequence[str], zone: str) -> Shift:
    """Say which shift a moment belongs to.

    Parameters
    ----------
    at_us : int
        The moment, UTC, microseconds since 1970 [us].
    starts : sequence of str
        Times at which a shift begins, by the mill's clock: ``("06:00", "14:00", "22:00")``.
    zone : str
        The mill's time zone.

    Returns
    -------
    Shift
        It holds the moment: its first moment belongs to it, the next one's first does not.

    Notes
    -----
    A shift begins when the mill's clock shows its time: on the night the clock goes forward it is
    an hour shorter, on the night it goes back an hour longer. A time that the clock shows twice
    begins its shift the first time; one that it leaps over begins it at the leap.
    """
    day = local_of(at_us, zone).date()
    # a start may lie hours off its day's, where a zone changed sides of the date line: two days
    days = [day + timedelta(days=days) for days in range(-2, 3)]
    begins = sorted(
        {(_begin_us(one, start, zone), f"{one} {start}") for one in days for start in starts}
    )
    for (from_us, name), (upto_us, _) in pairwise(begins):
        if from_us <= at_us < upto_us:
            return Shift(name, from_us, upto_us)
    raise AssertionError("five days of shifts hold every moment of the middle one")


def _begin_us(day: date, start: str, zone: str) -> int:
    hours, minutes = (int(part) for part in start.split(":"))
    there = ZoneInfo(zone)
    wanted = datetime.combine(day, time(hours, minutes))
    first = wanted.replace(tzinfo=there)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return us_of(first)
    back = local_of(us_of(first), zone).replace(tzinfo=None)
    if back == wanted:  # shown twice: fold 0 is the first time
        return us_of(first)
    return _leap_us(us_of(second), us_of(first), zone)


def _leap_us(low_us: int, high_us: int, zone: str) -> int:
    """Find the moment between two at which the clock leaps; to the second [us]."""
    before = local_of(low_us, zone).utcoffset()
    while high_us - low_us > 1_000_000:
        middle = (low_us + high_us) // 2
        if local_of(middle, zone).utcoffset() == before:
            low_us = middle
        else:
            high_us = middle
    return high_us - high_us % 1_000_000
