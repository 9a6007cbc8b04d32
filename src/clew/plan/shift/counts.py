"""Times and numbers of a shift plan in words."""

from __future__ import annotations

from datetime import datetime

from clew.languages import moment, say, say_many, weekday_clock
from clew.plan.shift.pace_draws import Expected
from clew.plan.shift.terms import Moment, ShiftPlan

_WEEK_DAYS = 7


def count_runs(count: int) -> str:
    """Count runs."""
    return say_many("{n} run", "{n} runs", count)


def count_cones(count: int) -> str:
    """Count cones."""
    return say_many("{n} cone", "{n} cones", count)


def count_lanes(count: int) -> str:
    """Count lanes."""
    return say_many("{n} lane", "{n} lanes", count)


def count_hands(count: int) -> str:
    """Count hands."""
    return say_many("{n} hand", "{n} hands", count)


def clock(when: datetime, plan: ShiftPlan) -> str:
    """Write a time: ``09:06`` on the shift's day, ``Fri 07:21`` near it, else with its date."""
    days = (when.date() - plan.shift_from.date()).days
    if days == 0:
        return f"{when:%H:%M}"
    return weekday_clock(when) if abs(days) < _WEEK_DAYS else moment(when)


def between(when: Moment, plan: ShiftPlan) -> str:
    """Write a time with its interval: ``09:06 (09:02 to 09:11)``."""
    at, early, late = (clock(one, plan) for one in (when.at, when.early, when.late))
    if early == at == late:
        return at
    if early[:1].isalpha() and late.startswith(early[:4]):  # of one day, told once
        late = f"{when.late:%H:%M}"
    return say("{at} ({early} to {latest})", at=at, early=early, latest=late)


def counted(one: Expected) -> str:
    """Write a number of balls with its interval: ``741 (701 to 775)``."""
    mean, low, high = (f"{value:.0f}" for value in (one.mean, one.low, one.high))
    if mean == low == high:
        return mean
    return say("{mean} ({low} to {high})", mean=mean, low=low, high=high)
