"""Put-up lines, as the mill file describes them, in the order the strand passes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import figure, joined, say
from clew.mill.fields import (
    Clash,
    DensityKgM3,
    Frac,
    LengthM,
    LengthMm,
    MassG,
    Name,
    Number,
    PressureKpa,
    RatePerKm,
    RegainFrac,
    Section,
    Several,
    SpeedMPerS,
    TemperatureC,
    TimeS,
    Whole,
)

MOST_LANES = 64
"""More lanes than any one line is walked with."""

Call = Literal["doff", "mend", "change", "feed", "load", "colour"]
"""What a hand can be called for: ball full, break at the winder, colour tie at the winder, break at
the feed, cone to load and tie, next colour at the creel."""

_RESTART_SHARE = 0.05
_RESTART_MOST_M = 50.0


def restart_m(stated_m: float | None, buffer_m: float) -> float:
    """How far the buffer fills or falls before winder or belt goes on again.

    Parameters
    ----------
    stated_m : float or None
        As the mill file states it [m]; none where it does not.
    buffer_m : float
        What the buffer holds [m].

    Returns
    -------
    float
        As stated; left out, 5 % of the buffer, at most 50 m, which is assumed [m].
    """
    return min(_RESTART_SHARE * buffer_m, _RESTART_MOST_M) if stated_m is None else stated_m


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

    What decides steam and drying may be left out too: it is then assumed, and the answers say so.
    ``steam_supply_gauge`` is what the gauge before the nozzle reads, ``steam_losses_kg_per_h`` and
    ``dryer_fixed_kw`` what slots, shell and belt take, ``fresh_air_kg_per_h`` the dry air renewed
    in the dryer, ``lay_density`` dry yarn in a volume of the lay, ``wet_pick_up`` water beside
    condensate on dry mass, ``drying_factor`` the true drying rate over that of the textbooks.

    What a shift is walked with may be left out as well. ``restart_buffer`` is the steamed strand
    at which a winder that ran dry goes on, ``belt_restart`` how far a full buffer falls before the
    belt goes on: 5 % of the buffer each, at most 50 m (assumed). ``hand_time_cv`` is the spread of
    a hand's times about their means (assumed 0.3). ``mend_time`` is a re-tie at the winder, as long
    as ``tie_time`` where not stated, ``mend_waste`` the steamed strand taken off at it (assumed
    1 m), ``change_time`` pulls the part ball at a colour tie, as long as ``doff_time``.
    ``feed_breaks`` are per km as it comes, ``winder_breaks`` per km after steam: one left out is
    what the other leaves of ``line_breaks`` under ``[knots]``; both left out, all are the winder's.
    ``serve_first`` names calls, most urgent first, and those left out come after them, alike;
    without it, loading a cone waits for all others (common practice, no published source).

    ``ball_identity`` is how a ball keeps its name between doff and band: a numbered ``token`` goes
    with it, it lies in a ``tray`` with ``tray_balls`` others, a ``rack`` gives each winder's balls
    out in the order they were doffed, or ``none``. ``doff_to_band_least`` and ``doff_to_band_most``
    are the shortest and longest time between the two (assumed 1 min and 2 h). ``power_kw`` is what
    the line's motors and fans draw while it runs.
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
    fastest_feed_m_per_s: SpeedMPerS | None = None
    room_temperature_c: Annotated[TemperatureC, Field(ge=0, le=50)] = 22.0
    room_humidity_frac: Frac = 0.5
    air_pressure_kpa: Annotated[PressureKpa, Field(ge=50, le=110)] = 101.325
    steam_supply_gauge_kpa: Annotated[PressureKpa, Field(le=2000)] | None = None
    steam_dryness_frac: Annotated[Frac, Field(ge=0.3)] = 0.97
    steam_losses_kg_per_h: Annotated[Number, Field(ge=0, le=10_000)] = 0.0
    wet_pick_up_frac: RegainFrac = 0.0
    full_bulk_temperature_c: Annotated[TemperatureC, Field(ge=40, le=140)] = 98.0
    bulk_time_constant_s: Annotated[TimeS, Field(gt=0, le=3600)] = 10.0
    dryer_air: Literal["over", "through"] = "over"
    dryer_air_speed_m_per_s: Annotated[SpeedMPerS, Field(le=50)] = 1.5
    fresh_air_kg_per_h: Annotated[Number, Field(gt=0, le=1e6)] = 150.0
    dryer_fixed_kw: Annotated[Number, Field(ge=0, le=10_000)] = 0.0
    lay_density_kg_m3: Annotated[DensityKgM3, Field(le=500)] = 30.0
    critical_regain_frac: Annotated[RegainFrac, Field(ge=0.001)] | None = None
    drying_factor: Annotated[Number, Field(gt=0, le=100)] = 1.0
    drying_factor_cv: Annotated[Number, Field(ge=0, le=1)] = 0.3
    heat_efficiency_frac: Annotated[Frac, Field(ge=0.05)] = 0.8
    longest_dryer_dwell_s: Annotated[TimeS, Field(gt=0)] | None = None
    restart_buffer_m: LengthM | None = None
    belt_restart_m: LengthM | None = None
    hand_time_cv: Annotated[Number, Field(ge=0, le=3)] = 0.3
    mend_time_s: TimeS | None = None
    mend_waste_m: LengthM = 1.0
    change_time_s: TimeS | None = None
    feed_breaks_per_km: RatePerKm | None = None
    winder_breaks_per_km: RatePerKm | None = None
    serve_rule: Literal["nearest", "longest", "patrol"] = "nearest"
    serve_first: Annotated[tuple[Call, ...], Field(max_length=6)] = ()
    ball_identity: Literal["token", "tray", "rack", "none"] = "none"
    tray_balls: Annotated[Several, Field(le=10_000)] = 20
    doff_to_band_least_s: TimeS = 60.0
    doff_to_band_most_s: TimeS = 7200.0
    power_kw: Annotated[Number, Field(ge=0, le=10_000)] | None = None
    winder: Annotated[tuple[Winder, ...], Field(min_length=1, max_length=MOST_LANES)]

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Each lane has its one winder, coils lie on the belt, and breaks leave time to work."""
        yield from _winder_clashes(have)
        yield from _buffer_clashes(have)
        named: set[str] = set()
        for place, call in enumerate(have.serve_first or ()):
            if call in named:
                yield Clash(
                    ("serve_first", place), say("a call named twice"), say("each call once")
                )
            named.add(call)
        least_s, most_s = have.doff_to_band_least_s, have.doff_to_band_most_s
        if None not in (least_s, most_s) and least_s > most_s:
            yield Clash(
                ("doff_to_band_most",),
                say("shorter than the shortest"),
                say("at least {limit}", limit=figure(f"{least_s:g} s")),
            )
        if (
            None not in (have.coil_diameter_mm, have.belt_width_mm)
            and have.coil_diameter_mm > have.belt_width_mm
        ):
            yield Clash(
                ("coil_diameter",),
                say("coils wider than the belt"),
                say("at most {limit}", limit=figure(f"{have.belt_width_mm:g} mm")),
            )
        if None not in (have.crew_break_s, have.crew_breaks, have.shift_time_s):
            breaks_h, shift_h = (
                have.crew_breaks * have.crew_break_s / 3600,
                have.shift_time_s / 3600,
            )
            if breaks_h >= shift_h:
                yield Clash(
                    ("crew_breaks",),
                    say(
                        "breaks of {breaks:.4g} h in a shift of {shift:.4g} h",
                        breaks=breaks_h,
                        shift=shift_h,
                    ),
                    say("fewer or shorter breaks"),
                )


def _buffer_clashes(have: Any) -> Iterator[Clash]:
    """Winder and belt go on within the buffer, or they stop each other without end."""
    if have.buffer_m is None:
        return
    buffer_m = have.buffer_m
    goes_on, falls = (
        restart_m(stated_m, buffer_m) for stated_m in (have.restart_buffer_m, have.belt_restart_m)
    )
    beyond = [
        key for key, m in (("restart_buffer", goes_on), ("belt_restart", falls)) if m >= buffer_m
    ]
    for key in beyond:
        yield Clash(
            (key,),
            say("not less than the buffer"),
            say("less than {limit}", limit=figure(f"{buffer_m:g} m")),
        )
    if not beyond and goes_on + falls > buffer_m:
        stated = have.restart_buffer_m is not None
        key, other_m = ("restart_buffer", falls) if stated else ("belt_restart", goes_on)
        what = say("more than the buffer holds, with the other restart")
        yield Clash((key,), what, say("at most {limit}", limit=figure(f"{buffer_m - other_m:g} m")))


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
                say("two winders of one number"),
                say("each number once on a line"),
            )
        astray = astray or lane is None or lane in lanes
        if lane is not None and have.lanes is not None and lane > have.lanes:
            astray = True
            yield Clash(
                ("winder", place, "lane"),
                say("a lane that is not there"),
                say("at most {lanes}, the lanes of this line", lanes=have.lanes),
            )
        elif lane is not None and lane in lanes:
            yield Clash(
                ("winder", place, "lane"), say("two winders in one lane"), say("one winder a lane")
            )
        numbers.add(number)
        lanes.add(lane)
    if winders and have.lanes is not None and not astray:
        missing = [str(lane) for lane in range(1, have.lanes + 1) if lane not in lanes]
        if missing:
            yield Clash(
                ("lanes",),
                say("no winder in lane {lanes}", lanes=joined(", ", missing)),
                say("one winder a lane"),
            )
