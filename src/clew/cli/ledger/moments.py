"""Moments on the command line: a day or a moment, by the mill's clock."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault


def day_or_moment(said: str, zone: str, option: str, *, end: bool = False) -> int:
    """Read a day or a moment.

    Parameters
    ----------
    said : str
        ``2026-03-29``, or a moment in that day.
    zone : str
        The mill's time zone.
    option : str
        Where it stood.
    end : bool
        Whether a day means its last moment.

    Returns
    -------
    int
        UTC, microseconds since 1970.

    Raises
    ------
    BadInput
        When it is neither; the fault names the option.
    """
    from clew.ledger.events.moments import read_moment, us_of

    if re.fullmatch(r"\d{4}-\d\d-\d\d", said.strip(), re.ASCII):
        try:
            day = date.fromisoformat(said.strip()) + timedelta(days=1 if end else 0)
        except (ValueError, OverflowError):
            raise _no_moment(said, option) from None
        return us_of(datetime.combine(day, time(), ZoneInfo(zone))) - (1 if end else 0)
    try:
        return read_moment(said, zone).at_us
    except BadInput as bad:
        what = bad.faults[0].what
        expected = "such as 2026-03-29, or 2026-03-29 05:41"
        raise BadInput(Fault(what, expected, key=option, value=repr(said)[:60])) from None


def _no_moment(said: str, option: str) -> BadInput:
    return BadInput(Fault("no such day", "such as 2026-03-29", key=option, value=repr(said)[:60]))
