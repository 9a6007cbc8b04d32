"""`clew lot shade`: does a dye lot match its standard, and may it be mixed with another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, checked_mill
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.ledger.intake.shades import read_shades, shade_number

if TYPE_CHECKING:
    from clew.checks.attributes.shade_of_lot import LotPair, LotShade, ShadeLimits, ShadeReading
    from clew.mill.model import Mill

_MOST_LOTS = 200
_MOST_CONES = 40
_MOST_PAIRS = 12
_HOW = (
    "CIEDE2000 (ISO/CIE 11664-6), kL:kC:kH = {weights}; readings of a cone averaged, then cones. "
    "The limits are the mill's own; a difference equal to a limit passes."
)


@click.command()
@click.argument("readings", type=click.Path(path_type=Path))
@click.option(
    "--mill",
    "mill_folder",
    type=click.Path(path_type=Path),
    default=None,
    help="Take the standards and limits from a mill: each lot by the colour that names it.",
)
@click.option("--standard", default=None, help='The standard: L*, a*, b*, "24,8.5,-19".')
@click.option("--lot", "lots", multiple=True, help="Only this dye lot; once for each.")
@click.option("--limit", type=float, default=None, help="Greatest from the standard; 1.0.")
@click.option("--between", type=float, default=None, help="Greatest between two lots mixed; 0.8.")
@click.option("--weights", default="1:1:1", show_default=True, help="kL:kC:kH.")
@as_json
def shade(
    readings: Path,
    mill_folder: Path | None,
    standard: str | None,
    lots: tuple[str, ...],
    limit: float | None,
    between: float | None,
    weights: str,
    as_json: bool,
) -> None:
    """Shade of a dye lot against its standard.

    READINGS is a CSV file with lot, cone, lightness, a, b (D65, 10 degree observer).
    """
    from clew.checks.attributes.shade_of_lot import compare_lots, judge_shades

    mill = None if mill_folder is None else checked_mill(mill_folder)
    if mill is None and standard is None:
        raise BadInput(
            Fault("no standard", '--standard "24,8.5,-19", or --mill DIR', key="--standard")
        )
    limits = _limits(mill, limit, between, weights)
    by_standard = _by_standard(_chosen(read_shades(readings), lots), mill, standard, readings)
    judged = []
    for goal, group in by_standard.items():
        found = judge_shades(group, goal, limits)
        judged.append((goal, found, compare_lots(found, limits)))
    if as_json:
        print_json(_plain(judged, limits))
    else:
        _tell(judged, limits, weights)
    if any(one.decision != "pass" for _, found, _ in judged for one in found):
        click.get_current_context().exit(1)


def _limits(
    mill: Mill | None, limit: float | None, between: float | None, weights: str
) -> ShadeLimits:
    from clew.checks.attributes.shade_of_lot import ShadeLimits

    try:
        factors = [float(one) for one in weights.split(":")]
    except ValueError:
        factors = []
    if len(factors) != 3 or not all(0.0 < one <= 100.0 for one in factors):
        raise BadInput(
            Fault("not weights", 'three such as "2:1:1"', key="--weights", value=repr(weights[:20]))
        )
    limits = ShadeLimits(k_lightness=factors[0], k_chroma=factors[1], k_hue=factors[2])
    if mill is not None:
        rules = mill.checks
        limits = replace(
            limits, from_standard=rules.shade_limit, between_lots=rules.shade_between_lots
        )
    for key, value, name in (
        ("--limit", limit, "from_standard"),
        ("--between", between, "between_lots"),
    ):
        if value is None:
            continue
        if not 0.0 < value <= 20.0:
            raise BadInput(Fault("not a limit", "above 0, at most 20", key=key, value=f"{value:g}"))
        limits = replace(limits, **{name: value})
    return limits


def _chosen(readings: list[ShadeReading], lots: tuple[str, ...]) -> list[ShadeReading]:
    there = list(dict.fromkeys(one.lot for one in readings))
    missing = [name for name in lots if name not in there]
    if missing:
        raise BadInput(
            [
                Fault("no readings of it", f"one of {', '.join(there[:8])}", key="--lot", value=one)
                for one in missing
            ]
        )
    chosen = [one for one in readings if not lots or one.lot in lots]
    count = len({one.lot for one in chosen})
    if count > _MOST_LOTS:
        raise BadInput(
            Fault("too many dye lots at once", f"at most {_MOST_LOTS}", value=str(count))
        )
    return chosen


def _by_standard(
    readings: list[ShadeReading], mill: Mill | None, standard: str | None, path: Path
) -> dict[tuple[float, float, float], list[ShadeReading]]:
    """Part readings by the standard of their lot, so that only lots of one colour are compared."""
    if standard is not None:
        return {_standard(standard): readings}
    assert mill is not None
    goals = {
        own.lot: (colour.lab.lightness, colour.lab.a, colour.lab.b)
        for colour in mill.colour
        for own in colour.dye_lot
    }
    found: dict[tuple[float, float, float], list[ShadeReading]] = {}
    unknown = list(dict.fromkeys(one.lot for one in readings if one.lot not in goals))
    if unknown:
        raise BadInput(
            [
                Fault(
                    "a dye lot that no colour of the mill names",
                    expected="a [[colour.dye_lot]], or --standard",
                    file=str(path),
                    value=name,
                )
                for name in unknown[:20]
            ]
        )
    for one in readings:
        found.setdefault(goals[one.lot], []).append(one)
    return found


def _standard(text: str) -> tuple[float, float, float]:
    words = text.split(",")
    if len(words) != 3:
        raise BadInput(
            Fault(
                "not a standard",
                expected='L*, a*, b* such as "24,8.5,-19"',
                key="--standard",
                value=repr(text[:40]),
            )
        )
    values = []
    for word, name in zip(words, ("lightness", "a", "b"), strict=True):
        try:
            values.append(shade_number(word, name))
        except BadInput as bad:
            one = bad.faults[0]
            raise BadInput(
                Fault(one.what, one.expected, key="--standard", value=one.value)
            ) from None
    return values[0], values[1], values[2]


Judged = Sequence[tuple[tuple[float, float, float], list["LotShade"], list["LotPair"]]]


def _plain(judged: Judged, limits: ShadeLimits) -> dict[str, Any]:
    return {
        "limit_de00": limits.from_standard,
        "between_de00": limits.between_lots,
        "weights": [limits.k_lightness, limits.k_chroma, limits.k_hue],
        "pass": all(one.decision == "pass" for _, found, _ in judged for one in found),
        "lots": [_plain_lot(one, goal) for goal, found, _ in judged for one in found],
        "pairs": [
            {
                "first": pair.first,
                "second": pair.second,
                "de00": pair.apart,
                "may_mix": pair.may_mix,
            }
            for _, _, pairs in judged
            for pair in pairs
        ],
    }


def _plain_lot(lot: LotShade, goal: tuple[float, float, float]) -> dict[str, Any]:
    return {
        "lot": lot.lot,
        "standard_lab": list(goal),
        "mean_lab": list(lot.mean),
        "de00": lot.difference.de00,
        "de00_95": None if lot.interval is None else list(lot.interval),
        "d_lightness": lot.difference.lightness,
        "d_chroma": lot.difference.chroma,
        "d_hue": lot.difference.hue,
        "words": list(lot.difference.words),
        "decision": lot.decision,
        "sure": lot.sure,
        "spread_de00": lot.spread,
        "repeat_sd": lot.repeat_sd,
        "cones": [
            {
                "cone": one.cone,
                "readings": one.readings,
                "de00": one.from_standard,
                "from_lot_de00": one.from_lot,
            }
            for one in lot.cones
        ],
        "cones_off": list(lot.off),
    }


def _tell(judged: Judged, limits: ShadeLimits, weights: str) -> None:
    from clew.checks.attributes.shade_words import shade_words

    for _, found, pairs in judged:
        for one in found:
            click.echo(shade_words(one, pairs, limits))
        alike = [pair for pair in pairs if pair.may_mix]
        for pair in alike[:_MOST_PAIRS]:
            click.echo(
                f"{pair.first} and {pair.second} may be mixed: {pair.apart:.2f} apart, "
                f"within {limits.between_lots:g}."
            )
        if len(alike) > _MOST_PAIRS:
            click.echo(f"{len(alike) - _MOST_PAIRS} more pairs may be mixed: see --json.")
    click.echo()
    print_table(
        [
            "dye lot",
            "decision",
            "dE00",
            "95 %",
            "lightness",
            "chroma",
            "hue",
            "cones",
            "widest",
        ],
        [
            [
                one.lot,
                one.decision,
                f"{one.difference.de00:.2f}",
                "-" if one.interval is None else f"{one.interval[0]:.2f} to {one.interval[1]:.2f}",
                f"{one.difference.lightness:+.2f}",
                f"{one.difference.chroma:+.2f}",
                f"{one.difference.hue:+.2f}",
                str(len(one.cones)),
                f"{one.spread:.2f}",
            ]
            for _, found, _ in judged
            for one in found
        ],
    )
    cones = [(one.lot, cone) for _, found, _ in judged for one in found for cone in one.cones]
    if len(cones) <= _MOST_CONES:
        click.echo()
        print_table(
            ["cone", "dye lot", "readings", "from standard", "from its lot"],
            [
                [
                    cone.cone,
                    lot,
                    str(cone.readings),
                    f"{cone.from_standard:.2f}",
                    f"{cone.from_lot:.2f}",
                ]
                for lot, cone in cones
            ],
        )
    click.echo()
    click.echo(_HOW.format(weights=weights))
