"""Put-up lines, as the mill file describes them, in the order the strand passes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.mill.fields import (
    Clash,
    Frac,
    LengthM,
    LengthMm,
    MassG,
    Name,
    Number,
    Section,
    Several,
    SpeedMPerS,
    TemperatureC,
    TimeS,
    Whole,
)

MOST_LANES = 64
"""More lanes than any one line is walked with."""


class Winder(Section):
    """One winder and its own counter.

    A turn is one revolution of the flyer. A counter on the flyer counts flyer revolutions, one on
    the ball counts mandrel revolutions; ``turns_per_count`` is how many of them one count is.
    """

    number: Several
    lane: Several
    counter_on: Literal["flyer", "ball"] = "flyer"
    turns_per_count: Annotated[Number, Field(gt=0, le=1000)] = 1.0


class Line(Section):
    """A put-up line: creel, belt, steamer, dryer, buffer, winders and the hands who serve them.

    ``scale_sd`` and ``reel_cv`` say how well one ball is weighed and reeled; left out, they are
    0.1 g and 0.3 % (common practice, no published source).
    """

    name: Name
    lanes: Annotated[Several, Field(le=MOST_LANES)]
    cones_per_lane: Several
    feed_speed_m_per_s: SpeedMPerS
    wind_speed_m_per_s: SpeedMPerS
    belt_speed_m_per_s: SpeedMPerS
    belt_width_mm: LengthMm
    coil_diameter_mm: LengthMm
    lay_down_length_m: LengthM
    steamer_length_m: LengthM
    steam_temperature_c: Annotated[TemperatureC, Field(ge=60, le=140)]
    dryer_length_m: LengthM
    dryer_temperature_c: Annotated[TemperatureC, Field(ge=20, le=180)]
    belt_after_dryer_m: LengthM
    longest_dwell_s: Annotated[TimeS, Field(gt=0)]
    buffer_m: LengthM
    lane_spacing_m: LengthM
    walk_speed_m_per_s: SpeedMPerS
    doff_time_s: TimeS
    tie_time_s: TimeS
    cone_load_time_s: TimeS
    crew: Several
    shift_time_s: Annotated[TimeS, Field(gt=0, le=24 * 3600)]
    crew_break_s: TimeS = 0.0
    crew_breaks: Whole = 0
    scale_sd_g: MassG = 0.1
    reel_cv: Annotated[Frac, Field(lt=0.2)] = 0.003
    winder: Annotated[tuple[Winder, ...], Field(min_length=1, max_length=MOST_LANES)]

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Each lane has its one winder, coils lie on the belt, and breaks leave time to work."""
        yield from _winder_clashes(have)
        if (
            None not in (have.coil_diameter_mm, have.belt_width_mm)
            and have.coil_diameter_mm > have.belt_width_mm
        ):
            yield Clash(
                ("coil_diameter",),
                "coils wider than the belt",
                f"at most {have.belt_width_mm:g} mm",
            )
        if None not in (have.crew_break_s, have.crew_breaks, have.shift_time_s):
            breaks_h, shift_h = (
                have.crew_breaks * have.crew_break_s / 3600,
                have.shift_time_s / 3600,
            )
            if breaks_h >= shift_h:
                yield Clash(
                    ("crew_breaks",),
                    f"breaks of {breaks_h:.4g} h in a shift of {shift_h:.4g} h",
                    "fewer or shorter breaks",
                )


def _winder_clashes(have: Any) -> Iterator[Clash]:
    winders = have.winder or ()
    numbers: set[int] = set()
    lanes: set[int] = set()
    astray = False
    for place, winder in enumerate(winders):
        number, lane = winder.number, winder.lane
        if number is not None and number in numbers:
            yield Clash(
                ("winder", place, "number"),
                "two winders of one number",
                "each number once on a line",
            )
        astray = astray or lane is None or lane in lanes
        if lane is not None and have.lanes is not None and lane > have.lanes:
            astray = True
            yield Clash(
                ("winder", place, "lane"),
                "a lane that is not there",
                f"at most {have.lanes}, the lanes of this line",
            )
        elif lane is not None and lane in lanes:
            yield Clash(("winder", place, "lane"), "two winders in one lane", "one winder a lane")
        numbers.add(number)
        lanes.add(lane)
    if winders and have.lanes is not None and not astray:
        missing = [str(lane) for lane in range(1, have.lanes + 1) if lane not in lanes]
        if missing:
            yield Clash(("lanes",), f"no winder in lane {', '.join(missing)}", "one winder a lane")
