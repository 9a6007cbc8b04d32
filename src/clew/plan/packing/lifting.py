"""How heavy a case may be for the lift it gets: the revised NIOSH lifting equation.

It is a guide for two-handed lifts under plain conditions, written for the United States. It does
not call any lift harmless, and the rules of the place and the mill's own limit come first.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Literal

from clew.languages import figure, joined, say
from clew.mill.lines import Line
from clew.mill.pack_rules import Lift
from clew.plan.packing.ball_block import Box
from clew.quantities import LENGTH, TEMPERATURE, UnitSystem, in_unit

LOAD_CONSTANT_KG = 23.0
"""What may be lifted where every multiplier is 1 [kg]."""
Grip = Literal["good", "fair", "poor"]

MOST_HEIGHT_CM = 175.0
"""Height of the hands above which the equation recommends nothing [cm]."""
_SAME_INDEX = 0.005
_HIP_CM = 75.0
_HOURS = (1.0, 2.0, 8.0)
_PER_MIN = (0.2, 0.5, *(float(rate) for rate in range(1, 16)))
# a row a rate; up to 1, 2 and 8 hours, each with the hands below 75 cm, and at 75 cm or above
_FREQUENCY: tuple[tuple[float, ...], ...] = (
    (1.00, 1.00, 0.95, 0.95, 0.85, 0.85),
    (0.97, 0.97, 0.92, 0.92, 0.81, 0.81),
    (0.94, 0.94, 0.88, 0.88, 0.75, 0.75),
    (0.91, 0.91, 0.84, 0.84, 0.65, 0.65),
    (0.88, 0.88, 0.79, 0.79, 0.55, 0.55),
    (0.84, 0.84, 0.72, 0.72, 0.45, 0.45),
    (0.80, 0.80, 0.60, 0.60, 0.35, 0.35),
    (0.75, 0.75, 0.50, 0.50, 0.27, 0.27),
    (0.70, 0.70, 0.42, 0.42, 0.22, 0.22),
    (0.60, 0.60, 0.35, 0.35, 0.18, 0.18),
    (0.52, 0.52, 0.30, 0.30, 0.00, 0.15),
    (0.45, 0.45, 0.26, 0.26, 0.00, 0.13),
    (0.41, 0.41, 0.00, 0.23, 0.00, 0.00),
    (0.37, 0.37, 0.00, 0.21, 0.00, 0.00),
    (0.00, 0.34, 0.00, 0.00, 0.00, 0.00),
    (0.00, 0.31, 0.00, 0.00, 0.00, 0.00),
    (0.00, 0.28, 0.00, 0.00, 0.00, 0.00),
)
_COUPLING = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.9, 0.9)}


@dataclass(frozen=True, slots=True)
class Multipliers:
    """What each circumstance leaves of 23 kg.

    Attributes
    ----------
    reach, height, travel, twist, rate, grip : float
        HM, VM, DM, AM, FM and CM of the equation [-].
    """

    reach: float
    height: float
    travel: float
    twist: float
    rate: float
    grip: float

    @property
    def product(self) -> float:
        """All of them multiplied [-]."""
        return self.reach * self.height * self.travel * self.twist * self.rate * self.grip


@dataclass(frozen=True, slots=True)
class LiftAnswer:
    """The lift of a case, judged.

    Attributes
    ----------
    load_kg : float
        The case [kg].
    at_start, at_end : Multipliers
        Where it is taken up, and where it is set down.
    judged_at_end : bool
        Whether it must be set down with care, so that the lower of the two counts.
    recommended_kg : float
        The recommended limit of the two that counts [kg].
    index : float or None
        Load over limit; None where the limit is 0 and the lift is outside the method.
    cautions, cautions_yard : tuple of str
        Why the equation may not hold here, or holds with another grip, in millimetres and degrees
        Celsius, or in inches and degrees Fahrenheit; there may be more than a mill file knows.
    """

    load_kg: float
    at_start: Multipliers
    at_end: Multipliers
    judged_at_end: bool
    recommended_kg: float
    index: float | None
    cautions: tuple[str, ...]
    cautions_yard: tuple[str, ...]

    @property
    def words(self) -> str:
        """What the index says; never that a lift is without risk."""
        if self.index is None:
            return say("outside what the equation recommends for anyone: change the lift")
        if self.index > 3.0:
            return say("a raised risk for nearly all who lift it")
        if self.index > 1.0:
            return say("a raised risk for some who lift it")
        return say("at or below the recommended limit; that is no promise for any one person")

    def cautions_in(self, units: UnitSystem) -> tuple[str, ...]:
        """Give the cautions in the reader's units."""
        return self.cautions if units == "metric" else self.cautions_yard


def reach_multiplier(reach_cm: float) -> float:
    """HM = 25 / H, 1 below 25 cm, 0 beyond 63 cm. Source: NIOSH 94-110 (2021), READ in copy."""
    return 0.0 if reach_cm > 63.0 else 25.0 / max(reach_cm, 25.0)


def height_multiplier(height_cm: float) -> float:
    """VM = 1 - 0.003 |V - 75|, 0 above 175 cm. Source: NIOSH 94-110 (2021), READ in copy."""
    return 0.0 if height_cm > MOST_HEIGHT_CM else 1.0 - 0.003 * abs(height_cm - _HIP_CM)


def travel_multiplier(travel_cm: float) -> float:
    """DM = 0.82 + 4.5 / D, 1 below 25 cm, 0 beyond 175 cm. Source: NIOSH 94-110, READ in copy."""
    return 0.0 if travel_cm > 175.0 else 0.82 + 4.5 / max(travel_cm, 25.0)


def twist_multiplier(twist_deg: float) -> float:
    """AM = 1 - 0.0032 A, 0 beyond 135 degrees. Source: NIOSH 94-110 (2021), READ in copy."""
    return 0.0 if twist_deg > 135.0 else 1.0 - 0.0032 * twist_deg


def rate_multiplier(per_min: float, hours: float, height_cm: float) -> float:
    """FM of Table 5, straight lines between its rows; 0 above 15 lifts a minute or 8 hours.

    Parameters
    ----------
    per_min, hours, height_cm : float
        Lifts a minute, length of the spell [h], height of the hands at the start [cm].

    Returns
    -------
    float
        The multiplier [-].

    Source: NIOSH 94-110 (2021), Table 5, READ in two public code tables that agree.
    """
    if per_min > _PER_MIN[-1] or hours > _HOURS[-1]:
        return 0.0
    column = 2 * sum(hours > limit for limit in _HOURS) + (height_cm >= _HIP_CM)
    rates = list(zip(_PER_MIN, (row[column] for row in _FREQUENCY), strict=True))
    if per_min <= rates[0][0]:
        return rates[0][1]
    for (low, at_low), (high, at_high) in itertools.pairwise(rates):
        if per_min <= high:
            return at_low + (at_high - at_low) * (per_min - low) / (high - low)
    return rates[-1][1]


def grip_multiplier(grip: Grip, height_cm: float) -> float:
    """CM of Table 7, at the height judged. Source: NIOSH 94-110 (2021), READ in copy."""
    return _COUPLING[grip][height_cm >= _HIP_CM]


def multipliers(
    *,
    reach_cm: float,
    from_cm: float,
    to_cm: float,
    twist_deg: float,
    per_min: float,
    hours: float,
    grip: Grip,
    at_end: bool = False,
) -> Multipliers:
    """Work out the multipliers of a lift, where it begins or where it ends.

    The rate is always judged by the height of the hands at the start, the grip by the height at the
    end that is judged.

    Parameters
    ----------
    reach_cm : float
        Hands from the middle of the ankles, at the end judged [cm].
    from_cm, to_cm : float
        Height of the hands at start and end [cm].
    twist_deg : float
        Turn of the body at the end judged [°].
    per_min, hours : float
        Lifts a minute [1/min], for how long [h].
    grip : {"good", "fair", "poor"}
        How well it can be held.
    at_end : bool
        Whether the end is judged, not the start.

    Returns
    -------
    Multipliers
        Times 23 kg they give the recommended limit.

    Source: NIOSH publication 94-110, revised 9/2021, READ in a transcription.
    """
    judged = to_cm if at_end else from_cm
    return Multipliers(
        reach=reach_multiplier(reach_cm),
        height=height_multiplier(judged),
        travel=travel_multiplier(abs(to_cm - from_cm)),
        twist=twist_multiplier(twist_deg),
        rate=rate_multiplier(per_min, hours, from_cm),
        grip=grip_multiplier(grip, judged),
    )


def _size(size_mm: float, units: UnitSystem, places: str = "g") -> str:
    if units == "metric":
        return figure(f"{size_mm:{places}} mm")
    return figure(f"{in_unit(size_mm / 1000.0, LENGTH, 'in'):.1f} in")


def _warm(temperature_c: float, units: UnitSystem) -> str:
    return figure(f"{temperature_c:g} °C" if units == "metric"
                  else f"{in_unit(temperature_c, TEMPERATURE, '°F'):.0f} °F")  # fmt: skip


def room_warnings(lines: tuple[Line, ...], units: UnitSystem = "metric") -> tuple[str, ...]:
    """Say where the room is warmer, colder, damper or drier than the equation was made for.

    Source: NIOSH 94-110 (2021) p. 6, 19 to 26 °C and 35 to 50 % relative humidity, READ in copy.
    """
    return tuple(
        say(
            "The equation is not made for the room of {line}, {warm} and {damp:g} % relative "
            "humidity: {least} to {most}, 35 to 50 %.",
            line=line.name,
            warm=_warm(line.room_temperature_c, units),
            damp=100.0 * line.room_humidity_frac,
            least=figure("19" if units == "metric" else "66"),
            most=_warm(26.0, units),
        )
        for line in lines
        if not (19.0 <= line.room_temperature_c <= 26.0 and 0.35 <= line.room_humidity_frac <= 0.5)
    )


def grip_warning(
    lift: Lift, load_g: float, case_mm: Box, units: UnitSystem = "metric"
) -> tuple[str, ...]:
    """Say what a poor grip would make of a case that is too large for a better one.

    Source: NIOSH 94-110 (2021), Table 6 note 5 and decision tree pp. 17 to 18, READ in copy: no
    optimal container where longer than 40 cm or higher than 30 cm, and its grip then poor.
    """
    if lift.grip == "poor" or not _is_large(case_mm):
        return ()
    poor = judge_lift(lift.model_copy(update={"grip": "poor"}), load_g)
    told = {
        "long": _size(400.0, units), "high": _size(300.0, units),
        "index": say("none") if poor.index is None else figure(f"{poor.index:.2f}"),
    }  # fmt: skip
    if lift.grip == "good":
        return (
            say(
                "The mill file calls the grip good; the equation's manual calls it poor on a case "
                "longer than {long} or higher than {high}: the index is then {index}.",
                **told,
            ),
        )
    return (
        say(
            "The mill file calls the grip fair; the equation's manual calls it poor on a case "
            "longer than {long} or higher than {high}: the index is then {index}.",
            **told,
        ),
    )


def _is_large(case_mm: Box) -> bool:
    length, width, height = case_mm
    return max(length, width) > 400.0 or height > 300.0


def stack_warning(
    lift: Lift, load_g: float, ends_mm: tuple[float, float], case_mm: Box | None = None,
    units: UnitSystem = "metric",
) -> tuple[str, ...]:  # fmt: skip
    """Say what becomes of the index where a pallet's layers end lower or higher than the lift.

    Source: DERIVED, the equation at the undersides of the lowest and the highest layer, where hands
    under a case end, with a poor grip on a case too large for a better one; above 175 cm it
    recommends nothing.
    """
    now = judge_lift(lift, load_g).index
    if now is None:
        return ()
    poor = case_mm is not None and _is_large(case_mm) and lift.grip != "poor"
    there = [
        judge_lift(
            lift.model_copy(
                update={"to_height_mm": end, "grip": "poor" if poor else lift.grip},
            ),
            load_g,
        )
        for end in ends_mm
    ]
    most = max(math.inf if one.index is None else one.index for one in there)
    low, high = min(ends_mm), max(ends_mm)
    too_high = high > MOST_HEIGHT_CM * 10.0
    if most <= now + _SAME_INDEX and not too_high:
        return ()
    where = say("at {high}", high=_size(high, units, ".0f"))
    if high > low:
        least = _size(low, units, ".0f").rpartition(" ")[0]
        where = say("from {low} to {high}", low=figure(least), high=_size(high, units, ".0f"))
    told = {
        "end": _size(lift.to_height_mm, units), "where": where,
        "index": say("none") if math.isinf(most) else figure(f"{most:.2f}"),
    }  # fmt: skip
    if poor:
        clause = say(
            "The lift is judged to end at {end}; on this pallet cases stand with their undersides "
            "{where}: with the hands ending there the index is up to {index}, with a poor grip",
            **told,
        )
    else:
        clause = say(
            "The lift is judged to end at {end}; on this pallet cases stand with their undersides "
            "{where}: with the hands ending there the index is up to {index}",
            **told,
        )
    clauses = [clause]
    if too_high:
        height = _size(10.0 * MOST_HEIGHT_CM, units)
        clauses.append(
            say("the equation recommends no lift that ends above {height}", height=height)
        )
    return (say("{clauses}.", clauses=joined("; ", clauses)),)


def judge_lift(
    lift: Lift,
    load_g: float,
    lines: tuple[Line, ...] = (),
    case_mm: Box | None = None,
    ends_mm: tuple[float, float] | None = None,
) -> LiftAnswer:
    """Judge the lift of one case.

    Parameters
    ----------
    lift : Lift
        How it is lifted; reach and twist are taken to be the same at both ends.
    load_g : float
        What it weighs [g].
    lines : tuple of Line
        Lines whose room it is lifted in.
    case_mm : tuple of float, optional
        Outside of the case: length, width, height [mm].
    ends_mm : tuple of float, optional
        Underside of the lowest and of the highest case on the pallet [mm].

    Returns
    -------
    LiftAnswer
        Limit and index, and why they may not hold.
    """
    start, end = (
        multipliers(
            reach_cm=lift.reach_mm / 10.0,
            from_cm=lift.from_height_mm / 10.0,
            to_cm=lift.to_height_mm / 10.0,
            twist_deg=lift.twist_deg,
            per_min=lift.lifts_per_min,
            hours=lift.spell_s / 3600.0,
            grip=lift.grip,
            at_end=at_end,
        )
        for at_end in (False, True)
    )
    counts = min(start.product, end.product) if lift.careful_at_end else start.product
    limit = LOAD_CONSTANT_KG * counts

    def cautions(units: UnitSystem) -> tuple[str, ...]:
        return (
            *room_warnings(lines, units),
            *(() if case_mm is None or limit <= 0.0
              else grip_warning(lift, load_g, case_mm, units)),
            *(() if ends_mm is None else stack_warning(lift, load_g, ends_mm, case_mm, units)),
        )  # fmt: skip

    return LiftAnswer(
        load_kg=load_g / 1000.0,
        at_start=start,
        at_end=end,
        judged_at_end=lift.careful_at_end and end.product < start.product,
        recommended_kg=limit,
        index=load_g / 1000.0 / limit if limit > 0.0 else None,
        cautions=cautions("metric"),
        cautions_yard=cautions("yard"),
    )
