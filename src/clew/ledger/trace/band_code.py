"""The code on a band: dye lot, line, winder, and when it was put on, as the mill's clock showed.

``SL-207 L1 W4 251125-1432`` is dye lot SL-207, line L1, winder 4, 25 November 2025, 14:32.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.moments import TWICE, local_of, read_moment, us_of

_MINUTE_US = 60_000_000
FIRST_YEAR, LAST_YEAR = 2000, 2199
_EXPECTED = say("lot, line, winder and time such as SL-207 L1 W4 251125-1432")
_TAIL = re.compile(
    r"^(?P<names>.+?)[\s,;/]+W(?:INDER)?\s*(?P<winder>\d{1,3})[\s,;/]+"
    r"(?P<day>\d{6}|\d{8}|\d{4}-\d{2}-\d{2}|\d{2}-\d{2}-\d{2})[-\sT]*"
    r"(?P<hour>\d{2})[:.h]?(?P<minute>\d{2})$",
    re.IGNORECASE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class BandCode:
    """What a band says of its ball.

    Attributes
    ----------
    lot : str
        Dye lot.
    line : str
        Line.
    winder : int
        Winder that wound it.
    spans_us : tuple of (int, int)
        The minute in which the band was put on, first and last moment [us]: two where the mill's
        clock showed that minute twice.
    """

    lot: str
    line: str
    winder: int
    spans_us: tuple[tuple[int, int], ...]


def write_band_code(lot: str, line: str, winder: int, at_us: int, zone: str) -> str:
    """Write the code for a band.

    Parameters
    ----------
    lot, line : str
        Dye lot and line; a space within a name is written as ``_``.
    winder : int
        The winder.
    at_us : int
        When the band is put on [us].
    zone : str
        The mill's time zone.

    Returns
    -------
    str
        The code, to the minute.

    Raises
    ------
    BadInput
        When lot or line is empty.
    """
    if not lot.strip() or not line.strip():
        raise BadInput(Fault(say("a band code without its lot or line"), _EXPECTED))
    names = " ".join("_".join(name.split()) for name in (lot, line))
    return f"{names} W{winder} {local_of(at_us, zone):%y%m%d-%H%M}"


def read_band_code(text: str, zone: str, *, lines: tuple[str, ...] = ()) -> BandCode:
    """Read a code off a band: forgiving of case, spaces, commas and how the time is parted.

    Parameters
    ----------
    text : str
        What the band says.
    zone : str
        The mill's time zone.
    lines : tuple of str
        Lines of the mill: a name among them is taken as it is spelt there.

    Returns
    -------
    BandCode
        What it says.

    Raises
    ------
    BadInput
        When it is no code, or the mill's clock never showed that time.
    """
    found = _TAIL.match(" ".join(text.split()).replace("\u2013", "-")) if len(text) < 400 else None
    names = [] if found is None else [one for one in re.split(r"[\s,;/]+", found["names"]) if one]
    if found is None or len(names) < 2:
        raise BadInput(Fault(say("no code of a band"), _EXPECTED, value=repr(text[:60])))
    lot, line = _named(names, lines)
    day = found["day"].replace("-", "")
    day = day if len(day) == 8 else f"20{day}"
    try:
        stands = datetime.strptime(f"{day}{found['hour']}{found['minute']}", "%Y%m%d%H%M")
        if not FIRST_YEAR <= stands.year <= LAST_YEAR:  # nor could a zone be taken off year 1
            raise ValueError
    except ValueError:
        raise BadInput(
            Fault(say("no time on the band"), _EXPECTED, value=repr(text[:60]))
        ) from None
    return BandCode(lot, line, int(found["winder"]), minute_spans(stands, zone))


def _named(names: list[str], lines: tuple[str, ...]) -> tuple[str, str]:
    """Part lot and line: a known line may have spaces in its name, written or not."""
    for count in range(len(names) - 1, 0, -1):
        said = " ".join(names[count:]).replace("_", " ").casefold()
        for line in lines:
            if said == " ".join(line.replace("_", " ").split()).casefold():
                return " ".join(names[:count]).replace("_", " "), line
    return " ".join(names[:-1]).replace("_", " "), names[-1].replace("_", " ")


def minute_spans(stands: datetime, zone: str) -> tuple[tuple[int, int], ...]:
    """Say when the mill's clock showed a minute.

    Parameters
    ----------
    stands : datetime
        What it showed, without a zone.
    zone : str
        The mill's time zone.

    Returns
    -------
    tuple of (int, int)
        First and last moment [us], once or twice.

    Raises
    ------
    BadInput
        When it never showed that.
    """
    there = ZoneInfo(zone)
    found: list[tuple[int, int]] = []
    for fold in (0, 1):
        moment = stands.replace(tzinfo=there, fold=fold).astimezone(UTC)
        if moment.astimezone(there).replace(tzinfo=None) != stands:
            continue
        first = us_of(moment)
        span = (first, first + _MINUTE_US - 1)
        if span not in found:
            found.append(span)
    if not found:
        raise BadInput(
            Fault(
                say("a time that the clock leaps over"),
                say("a time that {zone} shows", zone=zone),
                value=f"{stands:%Y-%m-%d %H:%M}",
            )
        )
    return tuple(found)


def spans_of(text: str, zone: str) -> tuple[tuple[int, int], ...]:
    """Read the time of a band that is typed in: to the minute, or with seconds or an offset.

    Parameters
    ----------
    text : str
        ISO 8601; without an offset what the mill's clock showed, both times where it was two.
    zone : str
        The mill's time zone.

    Returns
    -------
    tuple of (int, int)
        First and last moment meant [us].

    Raises
    ------
    BadInput
        When it is no time, or the mill's clock never showed it.
    """
    moment = read_moment(text, zone)
    if TWICE in moment.flags or (moment.at_us % _MINUTE_US == 0 and len(text.strip()) <= 16):
        stands = local_of(moment.at_us, zone).replace(tzinfo=None, second=0, microsecond=0)
        return minute_spans(stands, zone)
    return ((moment.at_us, moment.at_us + 999_999),)
