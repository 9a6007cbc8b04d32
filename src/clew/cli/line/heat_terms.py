"""Options that say what decides steam and drying: a ball on a line, values by hand, or both."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Count, Quantity, checked_mill, mill_folder
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, GAIN, LENGTH, PRESSURE, SPEED, TEMPERATURE, TIME, Kind

if TYPE_CHECKING:
    from clew.line.heat.terms import HeatTerms

Command = Callable[..., Any]

_QUANTITIES: tuple[tuple[str, str, Kind, str], ...] = (
    ("--shrink", "shrink_frac", FRACTION, "Length lost in steam."),
    ("--regain-in", "regain_in_frac", GAIN, "Regain of the yarn as it comes."),
    ("--regain-wanted", "regain_wanted_frac", GAIN, "Regain wanted once cooled."),
    ("--feed", "feed_m_per_s", SPEED, "Speed of the strand before steam."),
    ("--belt-speed", "belt_m_per_s", SPEED, "Speed of the belt."),
    ("--belt-width", "belt_width_m", LENGTH, "Width of the belt."),
    ("--steamer", "steamer_m", LENGTH, "Length of the steam zone."),
    ("--dryer", "dryer_m", LENGTH, "Length of the dryer."),
    ("--steam-temperature", "steam_c", TEMPERATURE, "Temperature of the steam zone."),
    ("--dryer-temperature", "dryer_c", TEMPERATURE, "Temperature of the dryer's air."),
    ("--longest-dwell", "longest_dwell_s", TIME, "Longest dwell in steam."),
    ("--room", "room_c", TEMPERATURE, "Temperature of the room."),
    ("--room-humidity", "room_humidity", FRACTION, "Relative humidity of the room."),
    ("--supply-gauge", "supply_gauge_kpa", PRESSURE, "Steam supply, as the GAUGE reads."),
    ("--dryness", "dryness_frac", FRACTION, "Part of the supply that is steam."),
    ("--wet-pick-up", "wet_pick_up_frac", GAIN, "Water beside condensate, on dry mass."),
    ("--air-speed", "air_speed_m_per_s", SPEED, "Speed of the dryer's air."),
    ("--critical-regain", "critical_regain_frac", GAIN, "Where the drying rate begins to fall."),
)
_NUMBERS = (
    ("--steam-losses-kg-per-h", "steam_losses_kg_per_h", "Steam lost by slots, shell, pipes."),
    ("--fresh-air-kg-per-h", "fresh_air_kg_per_h", "Dry air renewed in the dryer."),
    ("--dryer-fixed-kw", "dryer_fixed_kw", "Heat of the dryer's shell, belt and openings."),
    ("--drying-factor", "drying_factor", "True drying rate over the textbook's."),
    ("--fuel-per-kwh", "fuel_per_kwh", "Price of a kWh of fuel."),
)
_OF_MILL = (
    click.option("--line", "line_name", default="", help="A line of the mill file."),
    click.option("--ball", "ball_name", default="", help="A ball of the mill file."),
    click.option("--lot", "lot_name", default="", help="The dye lot it is made from."),
)
_OTHERS = (
    click.option("--fibres", default=None, help='Blend, such as "55 % wool, 45 % acrylic".'),
    click.option("--lanes", type=click.IntRange(1, 64), default=None, help="Strands side by side."),
    click.option("--count", "count_tex", type=Count(), default=None, help="Count before steam."),
    click.option("--air", "air_way", type=click.Choice(["over", "through"]), default=None,
                 help="Way of the dryer's air."),
)  # fmt: skip
_NEEDED = {
    "fibres": "--fibres",
    "count_tex": "--count",
    "feed_m_per_s": "--feed",
    "belt_m_per_s": "--belt-speed",
    "belt_width_m": "--belt-width",
    "steamer_m": "--steamer",
    "dryer_m": "--dryer",
    "regain_in_frac": "--regain-in",
    "regain_wanted_frac": "--regain-wanted",
    "dryer_c": "--dryer-temperature",
}
_WITHOUT = {"lanes": 1, "shrink_frac": 0.0, "steam_c": 100.0}
_BY_HAND = {
    **{key: option for option, key, *_ in _QUANTITIES},
    **{key: option for option, key, _ in _NUMBERS},
    "fibres": "--fibres",
    "lanes": "--lanes",
    "count_tex": "--count",
    "air_way": "--air",
}
_OPTION_OF = _BY_HAND | {
    "measured_regain": "--measured-regain",
    "steam temperature": "--steam-temperature",
    "air temperature": "--dryer-temperature",
}


def heat_terms_options(command: Command) -> Command:
    """Add what decides steam and drying; the command gets ``terms``, a `HeatTerms`."""

    @functools.wraps(command)
    def called(
        mill_folder: Path, line_name: str, ball_name: str, lot_name: str, **rest: Any
    ) -> Any:
        given = {key: rest.pop(key) for key in list(rest) if key in _BY_HAND}
        by_hand = {key: value for key, value in given.items() if value is not None}
        terms = terms_from(mill_folder, (line_name, ball_name, lot_name), by_hand)
        named = {"line_name": line_name, "ball_name": ball_name, "lot_name": lot_name}
        try:
            return command(terms=terms, mill_folder=mill_folder, **named, **rest)
        except BadInput as bad:
            raise BadInput([placed_heat(fault) for fault in bad.faults]) from None

    whole: Command = called
    for option, key, words in reversed(_NUMBERS):
        whole = click.option(option, key, type=float, default=None, help=words)(whole)
    for option, key, kind, words in reversed(_QUANTITIES):
        whole = click.option(option, key, type=Quantity(kind), default=None, help=words)(whole)
    for other in reversed(_OF_MILL + _OTHERS):
        whole = other(whole)
    return mill_folder(whole)


def terms_from(folder: Path, names: tuple[str, str, str], by_hand: dict[str, Any]) -> HeatTerms:
    """Take the terms from the mill file and put what was given by hand in their place.

    Parameters
    ----------
    folder : Path
        Folder of the mill file; read only when a ball is named.
    names : tuple of str
        Line, ball and dye lot; empty for none.
    by_hand : dict
        Values of the options that were given, by the field's name.

    Returns
    -------
    HeatTerms
        The terms.

    Raises
    ------
    BadInput
        With faults that name the options.
    """
    from clew.line.heat.from_mill import heat_terms
    from clew.line.heat.terms import HeatTerms
    from clew.strand.blend import read_blend

    line_name, ball_name, lot_name = names
    if "fibres" in by_hand:
        try:
            by_hand = by_hand | {"fibres": read_blend(by_hand["fibres"])}
        except BadInput as bad:
            raise BadInput([replace(fault, key="--fibres") for fault in bad.faults]) from None
    if not ball_name and (line_name or lot_name):
        raise BadInput(Fault("a line or dye lot without a ball", "--ball NAME too", key="--ball"))
    try:
        if ball_name:
            return replace(heat_terms(checked_mill(folder), *names), **by_hand)
        missing = [option for key, option in _NEEDED.items() if key not in by_hand]
        if missing:
            raise BadInput(
                [Fault("left out", "a value, or --ball NAME", key=option) for option in missing]
            )
        return HeatTerms(**(_WITHOUT | by_hand))
    except BadInput as bad:
        raise BadInput([placed_heat(fault) for fault in bad.faults]) from None


def placed_heat(fault: Fault) -> Fault:
    """Name the option a fault of steam and drying is about."""
    return fault if fault.section else replace(fault, key=_OPTION_OF.get(fault.key, fault.key))
