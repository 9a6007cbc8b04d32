"""Rows of settings on a run card: what is set on belt and winder, and what the ball comes to."""

from __future__ import annotations

from dataclasses import dataclass

from clew.ball.run_card import RunCard
from clew.ball.size.shape import FlatSize, Range, RoundSize
from clew.languages import figure, joined, say
from clew.mill.lines import Line
from clew.papers import floor_numbers as floor
from clew.papers.ball_words import cover_words
from clew.papers.paper_data import Row
from clew.quantities import UnitSystem

MOST_TILT_POINTS = 4
"""Tilt points written out; a longer schedule is named with its ends and read from the mill file."""

SIZES_NOT_MEASURED = say("trend only: ranges over stated constants, until three balls are measured")
SIZES_MEASURED = say("from measured balls: the mean ball, with 95 % bounds")

RULE_WORDS = {
    "eu-average": say("EU, Directive 76/211/EEC"),
    "uk-2006": say("UK, SI 2006/659"),
    "us-category-a": say("USA, NIST Handbook 133, Category A"),
    "us-thread-states": say("USA, thread and yarn laws of four states"),
    "oiml-r87": say("OIML R 87"),
    "de-2020": say("Germany, Fertigpackungsverordnung 2020"),
    "none": say("none named in the mill file"),
}


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that belong together, under their title."""

    title: str
    rows: tuple[Row, ...]


def belt_rows(card: RunCard, units: UnitSystem) -> Group:
    """Settings of the belt, the steamer and the dryer.

    Parameters
    ----------
    card : RunCard
        What was worked out.
    units : {"metric", "yard"}
        System of units to print in.

    Returns
    -------
    Group
        In the order the strand passes.
    """
    belt = card.belt
    rows = [
        Row(say("Feed"), floor.speed(card.feed_m_per_s, units)),
        Row(say("Belt"), floor.speed(card.belt_m_per_s, units)),
        Row(say("Take-off"), floor.speed(belt.take_off_m_per_s, units)),
        Row(say("Overfeed"), floor.percent(belt.overfeed_frac, 1)),
    ]
    if belt.coil_pitch_m is not None:
        rows.append(Row(say("Coil pitch"), floor.pitch(1000.0 * belt.coil_pitch_m, units)))
    rows += [
        Row(say("Steam"), floor.temperature(card.steam_temperature_c, units)),
        Row(say("Dryer"), floor.temperature(card.dryer_temperature_c, units)),
    ]
    if belt.dwell_s is not None:
        rows.append(Row(say("Time in steam"), floor.seconds(belt.dwell_s)))
    rows.append(Row(say("Time in dryer"), floor.seconds(card.dryer_dwell_s)))
    rows.append(Row(say("Longest in steam"), floor.longest(card.longest_dwell_s)))
    return Group(say("Belt, steam, dryer"), tuple(rows))


def wind_rows(card: RunCard, line: Line, units: UnitSystem) -> Group:
    """Settings of the winder, the same for every one of the line.

    Parameters
    ----------
    card : RunCard
        What was worked out.
    line : Line
        The line the card is for.
    units : {"metric", "yard"}
        System of units to print in.

    Returns
    -------
    Group
        Mandrel, wind ratio, tilt, tension, winding speed.
    """
    winding = card.terms.winding
    setting = winding.setting
    diameter = floor.size_figure(setting.mandrel_diameter_mm, units)
    width = floor.size_figure(setting.mandrel_width_mm, units)
    rows = (
        Row(say("Mandrel"), f"{diameter} × {width} {floor.size_unit(units)}"),
        Row(say("Wind ratio"), figure(f"{setting.wind_ratio:g}")),
        Row(say("Tilt"), _tilt_words(setting.tilt_turns, setting.tilt_deg, setting.tilt_repeats)),
        Row(say("Tension"), floor.tension(winding.tension_cn, units)),
        Row(say("Winding speed"), floor.speed(line.wind_speed_m_per_s, units)),
    )
    return Group(say("Every winder"), rows)


def _tilt_words(turns: tuple[float, ...], tilt_deg: tuple[float, ...], repeats: bool) -> str:
    again = say(", over and over") if repeats else ""
    if len(turns) == 1:
        return figure(f"{tilt_deg[0]:g}°")
    if len(turns) > MOST_TILT_POINTS:
        low, high = min(tilt_deg), max(tilt_deg)
        return say(
            "{low:g}° to {high:g}° by {n} points of the mill file{again}",
            low=low,
            high=high,
            n=len(turns),
            again=again,
        )
    points = joined(
        ", ",
        (
            say("{tilt:g}° at {turn:g}", tilt=tilt, turn=turn)
            for turn, tilt in zip(turns, tilt_deg, strict=True)
        ),
    )
    return say("{points} turns{again}", points=points, again=again)


def ball_rows(card: RunCard, units: UnitSystem) -> Group:
    """What the ball comes to: size from the mandrel to the band, cover, knots, the rules.

    Parameters
    ----------
    card : RunCard
        What was worked out.
    units : {"metric", "yard"}
        System of units to print in.

    Returns
    -------
    Group
        Sizes are ranges, and called so, as long as no constants were measured.
    """
    shape = card.shape
    rows = [
        Row(say("On the mandrel"), _round_words(shape.on_mandrel, units)),
        Row(say("Off the mandrel"), _round_words(shape.off_mandrel, units)),
        Row(say("At rest"), _round_words(shape.relaxed, units)),
    ]
    if shape.pressed is not None:
        rows.append(Row(say("Pressed"), _flat_words(shape.pressed, units)))
    rows += [
        Row(say("Sizes"), SIZES_MEASURED if shape.measured else SIZES_NOT_MEASURED),
        Row(say("Ribbons"), cover_words(card.coverage, units)),
        Row(say("Knots"), _knot_words(card.knot_limit)),
        Row(say("Declared under"), RULE_WORDS[card.rule_set]),
    ]
    return Group(say("The ball"), tuple(rows))


def _round_words(size: RoundSize, units: UnitSystem) -> str:
    across, wide, bore = (
        _span(part, units) for part in (size.diameter_mm, size.width_mm, size.bore_mm)
    )
    return say(
        "across {across}, wide {wide}, bore {bore} {size_unit}",
        across=across,
        wide=wide,
        bore=bore,
        size_unit=floor.size_unit(units),
    )


def _flat_words(size: FlatSize, units: UnitSystem) -> str:
    thick, broad, long = (
        _span(part, units) for part in (size.thickness_mm, size.breadth_mm, size.length_mm)
    )
    return say(
        "thick {thick}, broad {broad}, long {long} {size_unit}",
        thick=thick,
        broad=broad,
        long=long,
        size_unit=floor.size_unit(units),
    )


def _span(part: Range, units: UnitSystem) -> str:
    low, high = floor.size_figure(part.low, units), floor.size_figure(part.high, units)
    if low == high:
        return low
    if part.central is None:
        return say("{low} to {high}", low=low, high=high)
    return say(
        "{size_figure} ({low} to {high})",
        size_figure=floor.size_figure(part.central, units),
        low=low,
        high=high,
    )


def _knot_words(limit: int) -> str:
    if limit == 0:
        return say("none in a first-quality ball")
    return say("{limit} at most in a first-quality ball", limit=limit)
