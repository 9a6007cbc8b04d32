"""Moments: what was written becomes UTC, and UTC becomes what the mill's clock shows."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault
from clew.languages import say

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FIRST, _LAST = datetime(2000, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
_US = timedelta(microseconds=1)
_FORM = re.compile(
    r"(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d{1,9})?)?)(Z|[+-]\d{2}:?\d{2})?",
    re.ASCII,
)
_EXPECTED = say("such as 2026-03-29T05:40:00Z, or +01:00 at its end")

TWICE = "clock read twice"
"""Flag of a moment that the mill's clock showed twice: the first of the two was taken."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment, and what is odd about how it was written.

    Attributes
    ----------
    at_us : int
        UTC, microseconds since 1970 [us].
    flags : tuple of str
        `TWICE`, or nothing.
    """

    at_us: int
    flags: tuple[str, ...] = ()


def read_moment(said: object, zone: str = "") -> Moment:
    """Read a moment.

    Parameters
    ----------
    said : object
        ISO 8601 with Z or an offset; without either, what the mill's clock showed.
    zone : str
        The mill's time zone; without it an offset must be there.

    Returns
    -------
    Moment
        In UTC. Of an hour that the clock shows twice, the first.

    Raises
    ------
    BadInput
        When it is none, lies outside 2000 to 2199, or the mill's clock never showed it.
    """
    form = _FORM.fullmatch(said.strip()) if isinstance(said, str) and len(said) < 60 else None
    if form is None:
        raise BadInput(Fault(say("no moment"), _EXPECTED, key="at"))
    day, clock, offset = form.groups()
    whole, dot, fraction = clock.partition(".")
    try:
        stands = datetime.fromisoformat(
            f"{day}T{whole}{dot}{fraction[:6].ljust(6, '0') if dot else ''}"
        )
        if offset:
            stands = datetime.fromisoformat(stands.isoformat() + offset.replace("Z", "+00:00"))
    except ValueError:
        raise BadInput(Fault(say("no moment"), _EXPECTED, key="at")) from None
    if stands.tzinfo is not None:
        return Moment(_checked(stands))
    if not zone:
        raise BadInput(Fault(say("a moment without an offset"), _EXPECTED, key="at"))
    first = stands.replace(tzinfo=ZoneInfo(zone))
    second = first.replace(fold=1)
    if first.utcoffset() != second.utcoffset():
        back = first.astimezone(UTC).astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        if back != stands:
            raise BadInput(
                Fault(
                    say("a moment that the clock leaps over"),
                    say("a time that {zone} shows", zone=zone),
                    key="at",
                )
            )
        return Moment(_checked(first), (TWICE,))
    return Moment(_checked(first))


def _checked(moment: datetime) -> int:
    if not _FIRST <= moment < _LAST:
        raise BadInput(Fault(say("a moment out of all time"), say("2000 to 2199"), key="at"))
    return (moment - _EPOCH) // _US


def utc_of(at_us: int) -> datetime:
    """Make a moment in UTC of microseconds since 1970."""
    return _EPOCH + timedelta(microseconds=at_us)


def local_of(at_us: int, zone: str) -> datetime:
    """Make a moment as the mill's clock shows it."""
    return utc_of(at_us).astimezone(ZoneInfo(zone))


def us_of(moment: datetime) -> int:
    """Make microseconds since 1970 of a moment that knows its zone."""
    return (moment - _EPOCH) // _US


def show_utc(at_us: int) -> str:
    """Write a moment as ISO 8601 in UTC, with Z and as many decimals as it has."""
    moment = utc_of(at_us)
    text = moment.strftime("%Y-%m-%dT%H:%M:%S")
    return text + (f".{moment.microsecond:06d}".rstrip("0") if moment.microsecond else "") + "Z"


def show_local(at_us: int, zone: str, *, seconds: bool = True) -> str:
    """Write a moment as the mill's clock shows it."""
    form = "%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M"
    return local_of(at_us, zone).strftime(form)
