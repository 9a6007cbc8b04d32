"""Balls, as the mill file describes them: what is promised and how it is wound."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from clew.languages import figure, say
from clew.mill.bands import Band
from clew.mill.fields import (
    AngleDeg,
    Clash,
    DensityKgM3,
    Flag,
    ForceCn,
    LengthM,
    LengthMm,
    Line,
    MassG,
    Money,
    Name,
    Number,
    Section,
    Several,
    Spread,
    Whole,
    key_or_fault,
)
from clew.mill.gs1_keys import gtin_of

Market = Literal[
    "eu-average", "uk-2006", "us-category-a", "us-thread-states", "oiml-r87", "de-2020"
]
RuleSet = Literal[Market, "none"]


_CASE_DIGITS = 14


class TiltPoint(Section):
    """The flyer's tilt at a turn of the ball."""

    turn: Whole
    tilt_deg: Annotated[AngleDeg, Field(ge=0, le=85)]


def _gtin(text: str) -> str:
    return key_or_fault(gtin_of, text)


Gtin = Annotated[str, Field(strict=True), AfterValidator(_gtin)]


class Packing(Section):
    """How many balls go into a bag, a case and onto a pallet, and which case of the mill's."""

    balls_per_bag: Several
    bags_per_case: Several
    cases_per_pallet: Several = 1
    case: Name | None = None


class MeasuredBall(Section):
    """One ball that was measured as wound, after its rest and, perhaps, after pressing.

    Three or more of them turn the size of the ball from a range into a number.
    """

    wound_diameter_mm: LengthMm
    wound_width_mm: LengthMm
    rest_diameter_mm: LengthMm
    rest_width_mm: LengthMm
    rest_bore_mm: LengthMm | None = None
    pressed_thickness_mm: LengthMm | None = None


class Ball(Section):
    """A ball: its declarations, its wind, its band.

    ``gtin`` is its trade number, of 8, 12 or 13 digits; ``case_gtin`` its case's, of 14: where left
    out, the ball's own behind the indicator 1.
    """

    name: Name
    yarn: Name
    declared_mass_g: MassG
    declared_length_m: LengthM
    target_mass_g: MassG | None = None
    target_length_m: LengthM | None = None
    mass_basis: Literal["as weighed", "commercial"] = "as weighed"
    rule_set: RuleSet
    other_rule_sets: Annotated[tuple[Market, ...], Field(max_length=5)] = ()
    tare_mass_g: MassG | None = None
    tare_sd_g: MassG | None = None
    mandrel_diameter_mm: Annotated[LengthMm, Field(ge=2, le=300)]
    mandrel_width_mm: Annotated[LengthMm, Field(ge=2, le=600)]
    wind_ratio: Annotated[Number, Field(ge=2, le=500)]
    tilt: Annotated[tuple[TiltPoint, ...], Field(min_length=1)]
    tilt_repeats: Flag = False
    slip_friction: Annotated[Number, Field(gt=0, le=1)] = 0.3
    pack_density_kg_m3: Annotated[DensityKgM3, Field(ge=20, le=1500)]
    pack_density_cv: Spread = 0.0
    tension_cn: ForceCn
    tension_sd_cn: ForceCn = 0.0
    turn_length_cv: Spread = 0.0
    press_gap_mm: LengthMm | None = None
    knot_limit: Whole
    price: Money | None = None
    made_a_year: Whole = 0
    band_text: Annotated[tuple[Line, ...], Field(max_length=12)] = ()
    packing: Packing
    gtin: Gtin | None = None
    case_gtin: Gtin | None = None
    band: Band = Band()
    measured: Annotated[tuple[MeasuredBall, ...], Field(min_length=3)] | None = None

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Targets lie at or above the declarations; rules stand once; the tilt can be followed."""
        for what, unit, wrong in (
            ("mass", "g", say("a target below the declared mass")),
            ("length", "m", say("a target below the declared length")),
        ):
            declared = getattr(have, f"declared_{what}_{unit}")
            target = getattr(have, f"target_{what}_{unit}")
            if declared is not None and target is not None and target < declared:
                yield Clash(
                    (f"target_{what}",),
                    wrong,
                    say("{limit} or more", limit=figure(f"{declared:g} {unit}")),
                )
        tension, spread = have.tension_cn, have.tension_sd_cn
        if tension is not None and spread is not None and spread > 0.5 * tension:
            yield Clash(
                ("tension_sd",),
                say("a tension that varies down to nothing"),
                say("at most half the tension, {limit}", limit=figure(f"{0.5 * tension:g} cN")),
            )
        others = have.other_rule_sets or ()
        for place, rule in enumerate(others):
            if rule is not None and (rule == have.rule_set or rule in others[:place]):
                yield Clash(
                    ("other_rule_sets", place),
                    say("a rule set that stands twice"),
                    say("each rule set once"),
                )
        if have.tare_sd_g is not None and have.tare_mass_g is None:
            yield Clash(
                ("tare_sd",),
                say("a spread of the tare without the tare"),
                say("tare_mass beside it"),
            )
        yield from _key_clashes(have)
        yield from _tilt_clashes(have)


def _key_clashes(have: Any) -> Iterator[Clash]:
    """See that a ball's number is one a till reads, and a case's one of a case."""
    if have.gtin is not None and len(have.gtin) == _CASE_DIGITS:
        yield Clash(("gtin",), say("the number of a case"), say("8, 12 or 13 digits"))
    if have.case_gtin is not None and len(have.case_gtin) != _CASE_DIGITS:
        yield Clash(("case_gtin",), say("no number of a case"), say("14 digits"))


def _tilt_clashes(have: Any) -> Iterator[Clash]:
    """See that the schedule starts at turn 0, rises, and begins on the mandrel.

    On the bare mandrel, of diameter d, a coil tilted by b reaches d tan(b) from edge to edge along
    it; beyond the mandrel's width the first turns fall off its end. Source: DERIVED, the section of
    a cylinder by a tilted plane.
    """
    points = have.tilt or ()
    turns = [point.turn for point in points]
    if turns and turns[0] not in (0, None):
        yield Clash(
            ("tilt", 0, "turn"),
            say("a tilt schedule that does not start at turn 0"),
            say("turn = 0 in the first point"),
        )
    for place, (before, turn) in enumerate(itertools.pairwise(turns), 1):
        if before is not None and turn is not None and turn <= before:
            yield Clash(
                ("tilt", place, "turn"),
                say("a tilt point out of order"),
                say("a turn after {turn}", turn=before),
            )
    if have.tilt_repeats and len(points) == 1:
        yield Clash(
            ("tilt_repeats",),
            say("a tilt that repeats and has one point"),
            say("two points or more, or false"),
        )
    width, diameter = have.mandrel_width_mm, have.mandrel_diameter_mm
    first = points[0].tilt_deg if points else None
    if width is not None and diameter is not None and first is not None:
        reach = diameter * math.tan(math.radians(first))
        if reach > width:
            most = math.degrees(math.atan(width / diameter))
            yield Clash(
                ("tilt", 0, "tilt"),
                say(
                    "a first coil {reach} wide, off the end of a mandrel of {width}",
                    reach=figure(f"{reach:.0f} mm"),
                    width=figure(f"{width:g} mm"),
                ),
                say("at most {tilt}° on the bare mandrel", tilt=math.floor(most)),
            )
