"""The mill file as a whole: what a mill is, in frozen plain values."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, Field

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.agreement import clashes_of_mill
from clew.mill.balls import Ball
from clew.mill.check_rules import CheckRules
from clew.mill.fields import (
    MOST_ENTRIES,
    Clash,
    Frac,
    MassG,
    Money,
    Name,
    NoiseDba,
    Number,
    PressureKpa,
    Section,
    Whole,
    fault,
    key_or_fault,
)
from clew.mill.fields import Line as TextLine
from clew.mill.gs1_keys import company_prefix_of, gln_of
from clew.mill.knot_rules import KnotRules
from clew.mill.ledger_rules import LedgerRules
from clew.mill.lines import Line
from clew.mill.lots import Colour, DyeLot, Order
from clew.mill.pack_rules import PackRules
from clew.mill.plan_rules import Emissions, PlanRules
from clew.mill.yarns import FibreBlend, Yarn


def _version(value: Any) -> Any:
    if type(value) is not int or value != 1:
        raise fault(
            say("a mill file of a version that this program does not read"), say("version = 1")
        )
    return value


def _time_zone(name: str) -> str:
    from zoneinfo import ZoneInfo, available_timezones

    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):  # KeyError is the ordinary "no such zone"
        from difflib import get_close_matches

        zones = {zone.casefold(): zone for zone in available_timezones()}
        if not zones:
            raise fault(
                say("this computer knows no time zones"), say("the tzdata package beside Python")
            ) from None
        close = get_close_matches(name.casefold(), zones, n=1, cutoff=0.75)
        wanted = zones[close[0]] if close else "Europe/London"
        raise fault(
            say("no such time zone"),
            say('a name of the time zone database such as "{wanted}"', wanted=wanted),
        ) from None
    return name


def _clock_time(text: str) -> str:
    if re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text) is None:
        raise fault(say("no time of day"), say('hours and minutes such as "05:40"'))
    return text


ClockTime = Annotated[str, Field(strict=True, max_length=5), AfterValidator(_clock_time)]


def _rising(times: tuple[str, ...]) -> tuple[str, ...]:
    if list(times) != sorted(set(times)):
        raise fault(say("shifts out of order"), say("each start once, from midnight on"))
    return times


def _prefix(text: str) -> str:
    return key_or_fault(company_prefix_of, text)


def _gln(text: str) -> str:
    return key_or_fault(gln_of, text)


class MillInfo(Section):
    """The mill itself: its name, its clock, its habits of units and paper.

    ``language`` is what pages and papers speak where a reader has not chosen; pages otherwise
    follow the browser, papers English. ``shift_starts`` are the times at which a shift begins, by
    the mill's own clock. ``maker`` and ``origin`` stand on the band; ``gs1_prefix`` is the company
    prefix that GS1 gave the mill, and ``gln`` its own number as a place.
    """

    version: Annotated[Literal[1], BeforeValidator(_version)]
    name: Name
    time_zone: Annotated[Name, AfterValidator(_time_zone)]
    units: Literal["metric", "yard"] = "metric"
    language: Literal["en", "de", "fr", "es"] | None = None
    paper: Literal["A4", "Letter"] = "A4"
    shift_starts: Annotated[
        tuple[ClockTime, ...], Field(min_length=1, max_length=8), AfterValidator(_rising)
    ] = ("06:00", "14:00", "22:00")
    maker: TextLine | None = None
    origin: TextLine | None = None
    gs1_prefix: Annotated[str, Field(strict=True), AfterValidator(_prefix)] | None = None
    gln: Annotated[str, Field(strict=True), AfterValidator(_gln)] | None = None


class Prices(Section):
    """Prices, in the mill's own currency.

    ``overhead_per_hour`` is what an hour of a line costs beside yarn, hands and heat: rent,
    machines, office.
    """

    currency: Annotated[str, Field(strict=True, pattern=r"^[A-Z]{3}$")]
    yarn_per_kg: Money = Field(alias="yarn_per_kg")  # a rate: its unit stays in the key
    hand_per_hour: Money
    band_each: Money = 0.0
    second_quality_share_frac: Frac = 0.5
    weigh_each: Money = 0.0
    waste_per_kg: Money = Field(default=0.0, alias="waste_per_kg")
    shelf_multiple: Annotated[Number, Field(ge=1, le=20)] = 1.0
    fuel_per_kwh: Money | None = Field(default=None, alias="fuel_per_kwh")
    power_per_kwh: Money | None = Field(default=None, alias="power_per_kwh")
    overhead_per_hour: Money = 0.0


class Safety(Section):
    """What this mill's own rules add to the cautions on every card."""

    local_rules: Annotated[tuple[TextLine, ...], Field(max_length=8)] = ()
    noise_dba: NoiseDba | None = None
    steam_gauge_kpa: PressureKpa | None = None
    heaviest_lift_g: MassG | None = None
    first_aid: TextLine = say("your first-aider")
    lock_out_keys: Whole = 0


# the first bad entry is enough here: every fault is found by `clew.mill.finding`
_ANY = Field(max_length=MOST_ENTRIES, fail_fast=True)
_SOME = Field(min_length=1, max_length=MOST_ENTRIES, fail_fast=True)


class Mill(Section):
    """A mill file, read and checked."""

    mill: MillInfo
    fibre_blend: Annotated[tuple[FibreBlend, ...], _SOME]
    yarn: Annotated[tuple[Yarn, ...], _SOME]
    ball: Annotated[tuple[Ball, ...], _SOME]
    line: Annotated[tuple[Line, ...], _SOME]
    colour: Annotated[tuple[Colour, ...], _ANY] = ()
    order: Annotated[tuple[Order, ...], _ANY] = ()
    knots: KnotRules = KnotRules()
    checks: CheckRules = CheckRules()
    ledger: LedgerRules = LedgerRules()
    plan: PlanRules = PlanRules()
    pack: PackRules = PackRules()
    emissions: Emissions = Emissions()
    prices: Prices
    safety: Safety = Safety()

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Names stand once, every reference leads somewhere, and what rests on them can be made."""
        return clashes_of_mill(have)

    def find_ball(self, name: str) -> Ball:
        """Find a ball by name; raises `BadInput` with the names there are."""
        return _find(self.ball, name, say("no such ball"))

    def find_yarn(self, name: str) -> Yarn:
        """Find a yarn by name; raises `BadInput` with the names there are."""
        return _find(self.yarn, name, say("no such yarn"))

    def find_blend(self, name: str) -> FibreBlend:
        """Find a fibre blend by name; raises `BadInput` with the names there are."""
        return _find(self.fibre_blend, name, say("no such fibre_blend"))

    def find_line(self, name: str) -> Line:
        """Find a line by name; an empty name means the only one. Raises `BadInput`."""
        if not name and len(self.line) == 1:
            return self.line[0]
        if not name:
            names = joined(", ", (one.name for one in self.line))
            raise BadInput(
                Fault(
                    say("no line is named, and there are several"),
                    say("one of {choices}", choices=names),
                )
            )
        return _find(self.line, name, say("no such line"))

    def find_dye_lot(self, lot: str) -> tuple[Colour, DyeLot]:
        """Find a dye lot and its colour by the lot's name; raises `BadInput`."""
        for colour in self.colour:
            for dye_lot in colour.dye_lot:
                if dye_lot.lot.casefold() == lot.strip().casefold():
                    return colour, dye_lot
        names = [dye_lot.lot for colour in self.colour for dye_lot in colour.dye_lot]
        raise _unknown(say("no such dye lot"), lot, names)


_Named = TypeVar("_Named", Ball, Yarn, FibreBlend, Line)


def _unknown(what: str, name: str, names: list[str]) -> BadInput:
    expected = say("none is in the mill file")
    if names:
        expected = say("one of {choices}", choices=joined(", ", names))
    return BadInput(Fault(what, expected, value=repr(name)))


def _find(entries: tuple[_Named, ...], name: str, what: str) -> _Named:
    wanted = name.strip().casefold()
    for entry in entries:
        if entry.name.casefold() == wanted:
            return entry
    raise _unknown(what, name, [entry.name for entry in entries])
