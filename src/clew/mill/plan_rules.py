"""The mill's own rules for planning: what a change takes, when the lines run, what late costs."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import say
from clew.mill.fields import Clash, Date, Frac, Money, Number, Section, TimeS

Day = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
DAYS: tuple[Day, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class PlanRules(Section):
    """How this mill plans.

    The times are how long a line stands, or makes nothing that can be sold. ``colour_time`` is a
    change from colour to colour; ``ball_time`` another ball of the same yarn; ``yarn_time``
    another yarn. After a dark colour a lighter one asks for cleaning: ``clean_time`` in full at
    ``clean_full_de00`` (CIEDE2000) and more, a share of it below. ``late_per_day`` is what a day
    late costs, for an order of priority 1. ``worked_days`` and ``worked_shifts`` (times at which
    they begin) say when lines run, ``closed`` when not; ``frozen`` is how much of the present plan
    is not touched. ``sure`` is the chance with which a dye lot must suffice.
    """

    colour_time_s: TimeS = 300.0
    ball_time_s: TimeS = 1200.0
    yarn_time_s: TimeS = 2400.0
    clean_time_s: TimeS = 1200.0
    clean_full_de00: Annotated[Number, Field(gt=0, le=150)] = 40.0
    late_per_day: Money = 50.0
    worked_days: Annotated[tuple[Day, ...], Field(min_length=1, max_length=7)] = DAYS[:5]
    worked_shifts: Annotated[
        tuple[Annotated[str, Field(strict=True)], ...] | None, Field(max_length=8)
    ] = None
    closed: Annotated[tuple[Date, ...], Field(max_length=1000)] = ()
    frozen_s: TimeS = 0.0
    sure_frac: Annotated[Frac, Field(ge=0.5, le=0.9999)] = 0.95

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """A day stands once."""
        days: set[str] = set()
        for place, day in enumerate(have.worked_days or ()):
            if day in days:
                yield Clash(
                    ("worked_days", place), say("a day that stands twice"), say("each day once")
                )
            days.add(day)
        seen: set[datetime.date] = set()
        for place, date in enumerate(have.closed or ()):
            if date in seen:
                yield Clash(
                    ("closed", place), say("a date that stands twice"), say("each date once")
                )
            seen.add(date)


class Emissions(Section):
    """Factors of the mill's own for what goes into the air; none is shown where none is stated.

    They are for this mill's fuel, power and waste: ask the supplier, and say the year in
    ``source``.
    """

    heat_kg_per_kwh: Annotated[Number, Field(ge=0, le=10)] | None = Field(
        default=None, alias="heat_kg_per_kwh"
    )
    power_kg_per_kwh: Annotated[Number, Field(ge=0, le=10)] | None = Field(
        default=None, alias="power_kg_per_kwh"
    )
    waste_kg_per_kg: Annotated[Number, Field(ge=0, le=100)] | None = Field(
        default=None, alias="waste_kg_per_kg"
    )
    source: Annotated[str, Field(strict=True, max_length=200)] = ""
