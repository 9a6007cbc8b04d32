"""Days and times as a language writes them; the clock runs from 00:00 to 23:59 in all of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from clew.languages.told import Told

if TYPE_CHECKING:
    from clew.languages.tongues import Tongue


@dataclass(frozen=True, slots=True)
class _Form:
    """One way to write a moment: in English, and by the skeleton of the Unicode CLDR elsewhere."""

    english: str
    skeleton: str
    clock: str = ""


_FORMS = {
    "day": _Form("%Y-%m-%d", "yMMdd"),
    "moment": _Form("%Y-%m-%d %H:%M", "yMMdd", " %H:%M"),
    "weekday": _Form("%a %d %b", "MMMEd"),
    "weekday_moment": _Form("%a %d %b %H:%M", "MMMEd", " %H:%M"),
    "weekday_clock": _Form("%a %H:%M", "E", " %H:%M"),
    "weekday_name": _Form("%A", "EEEE"),
    "whole_weekday": _Form("%A %Y-%m-%d", "yMMMMEEEEd"),
}


class Dated(Told):
    """A day, or a moment of a day."""

    __slots__ = ()

    @classmethod
    def of(cls, when: date, form: str) -> Dated:
        """Write a moment in one of the forms."""
        return cls(format(when, _FORMS[form].english), when, form)

    def tell(self, tongue: Tongue) -> str:
        """Write it in the language's own order."""
        when, form = self._made_of
        clock = _FORMS[form].clock
        return tongue.date(when, _FORMS[form].skeleton) + (format(when, clock) if clock else "")

    def each(self, change: Any) -> Dated:
        """Stay as it is: a date has no pieces."""
        del change
        return self


def day(when: date) -> str:
    """Write a day: ``2026-11-25``."""
    return Dated.of(when, "day")


def moment(when: date) -> str:
    """Write a day and the clock: ``2026-11-25 07:46``."""
    return Dated.of(when, "moment")


def weekday(when: date) -> str:
    """Write a day with its name: ``Wed 25 Nov``."""
    return Dated.of(when, "weekday")


def weekday_moment(when: date) -> str:
    """Write a day with its name and the clock: ``Wed 25 Nov 07:46``."""
    return Dated.of(when, "weekday_moment")


def weekday_clock(when: date) -> str:
    """Write the name of a day and the clock: ``Wed 07:46``."""
    return Dated.of(when, "weekday_clock")


def weekday_name(when: date) -> str:
    """Write the whole name of a day: ``Wednesday``."""
    return Dated.of(when, "weekday_name")


def whole_weekday(when: date) -> str:
    """Write a day with its whole name: ``Wednesday 2026-11-25``."""
    return Dated.of(when, "whole_weekday")
