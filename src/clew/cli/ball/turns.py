"""`clew ball turns`: how many turns, which declaration binds, how sure that is."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, ball_argument, checked_mill, in_units, mill_folder
from clew.cli.output import print_json, print_rows, print_table
from clew.papers import floor_numbers as floor
from clew.quantities import FRACTION, LENGTH, MASS, Kind, UnitSystem, in_unit, show_count

_PLACES = {"g": 2, "oz": 3, "m": 1, "yd": 1}
"""Places of a change: small ones must still show."""

if TYPE_CHECKING:
    from clew.ball.bounds import Interval
    from clew.ball.doubt import DrawnBalls
    from clew.ball.from_mill import Terms
    from clew.ball.turns import TurnsAnswer
    from clew.mill.balls import Ball
    from clew.mill.model import Mill


@click.command()
@ball_argument
@mill_folder
@click.option("--dye-lot", default="", help="Dye lot; its measured count replaces the nominal one.")
@click.option("--turns", type=click.IntRange(1), help="Answer for these turns, on target or not.")
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of intervals; "95 %" if not given.'
)
@click.option(
    "--check",
    "drawn",
    type=click.IntRange(100, 1_000_000),
    help="Also draw so many balls at random.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those balls."
)
@in_units
@as_json
def turns(
    ball_name: str,
    mill_folder: Path,
    dye_lot: str,
    turns: int | None,
    confidence: float,
    drawn: int | None,
    seed: int,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """Winder turns for BALL.

    Says which declaration binds, how sure the ball is, and what that depends on. A name with a
    space goes in quotes: "Querl 100".
    """
    from clew.ball.doubt import draw_balls
    from clew.ball.from_mill import terms_of
    from clew.ball.plain import turns_plain
    from clew.ball.turns import set_turns

    mill = checked_mill(mill_folder)
    terms = terms_of(mill, ball_name, dye_lot)
    strand, promise, winding = terms.strand, terms.promise, terms.winding
    found = set_turns(strand, promise, winding, turns=turns, confidence=confidence)
    balls = (
        None
        if drawn is None
        else draw_balls(found.law, strand, promise, winding, balls=drawn, seed=seed)
    )
    if as_json:
        print_json(turns_plain(found) | _drawn_plain(balls, confidence))
        return
    system: UnitSystem = units or mill.mill.units
    ball = mill.find_ball(ball_name)
    click.echo(f"{ball.name}, {_of_what(mill, ball, dye_lot)}")
    click.echo(_verdict(found, terms, system, asked=turns is not None))
    print_rows(_rows(found, terms, system))
    if balls is not None:
        low, high = balls.interval(balls.mass_g, confidence)
        click.echo(f"  {drawn} balls drawn (seed {seed}): {floor.mass_range(low, high, system)}")
    print_table(
        ["what makes the doubt", "of mass", "of length"],
        [
            [row.words, f"{100 * row.mass_share:.0f} %", f"{100 * row.length_share:.0f} %"]
            for row in found.contributions
        ],
    )
    print_table(
        ["at the same turns", "mass", "length", "turns to put it back"],
        [
            [
                row.words,
                _signed(row.mass_g, MASS, system),
                _signed(row.length_m, LENGTH, system),
                f"{row.turns:+.1f}" if row.turns else "",
            ]
            for row in found.sensitivities
        ],
    )
    for warning in found.build.warnings:
        click.echo(f"Note: {warning}")


def _of_what(mill: Mill, ball: Ball, dye_lot: str) -> str:
    from clew.ball.from_mill import lot_for, lots_of

    if dye_lot:
        lot = lot_for(mill, ball, dye_lot)
        if lot.count_measured_tex is None:
            return f"dye lot {lot.lot}, count not measured: nominal."
        return f"dye lot {lot.lot}, count measured on {lot.cones_measured} cones."
    lots = lots_of(mill, ball)
    known = f" --dye-lot takes the lot's own: {', '.join(lots)}." if lots else ""
    return f"no dye lot: nominal count.{known}"


def _verdict(found: TurnsAnswer, terms: Terms, system: UnitSystem, *, asked: bool) -> str:
    mass_binds = found.binding == "mass"
    need = math.ceil(max(found.turns_mass, found.turns_length) - 1e-9)
    alone = math.ceil((found.turns_length if mass_binds else found.turns_mass) - 1e-9)
    other = "length" if mass_binds else "mass"
    if not asked:
        target = (
            floor.mass(terms.promise.target_mass_g, system)
            if mass_binds
            else floor.length(terms.promise.target_length_m, system)
        )
        return (
            f"Set {found.turns} turns. The declared {found.binding} binds: one turn fewer falls "
            f"short of the target of {target}; {other} alone would need {alone}."
        )
    stands = "on both targets" if found.turns >= need else f"SHORT: {need} turns are needed"
    return f"{found.turns} turns, as asked: {stands}. The declared {found.binding} binds."


def _drawn_plain(balls: DrawnBalls | None, confidence: float) -> dict[str, object]:
    if balls is None:
        return {}
    return {
        "drawn": {
            "balls": balls.mass_g.size,
            "seed": balls.seed,
            "mass_g_interval": list(balls.interval(balls.mass_g, confidence)),
            "length_m_interval": list(balls.interval(balls.length_m, confidence)),
        }
    }


def _rows(found: TurnsAnswer, terms: Terms, system: UnitSystem) -> list[tuple[str, str]]:
    basis = "at the agreed regain" if terms.promise.commercial else "as weighed"
    wanted = found.balance.rest_count_tex
    first, last = found.length_per_turn_mm_first, found.length_per_turn_mm_last
    return [
        (
            f"mass {basis}",
            f"{floor.mass(found.mass_g, system)}; "
            f"one ball {_masses(found.mass_g_interval, system)}, "
            f"the run's mean {_masses(found.mean_mass_g_interval, system)}",
        ),
        (
            "length at rest",
            f"{floor.length(found.length_m, system)}; "
            f"one ball {_lengths(found.length_m_interval, system)}, "
            f"the run's mean {_lengths(found.mean_length_m_interval, system)}",
        ),
        (
            "against the declaration",
            f"{_signed(found.over_mass_g, MASS, system)} and "
            f"{_signed(found.over_length_m, LENGTH, system)} in the mean ball",
        ),
        (
            "runs that average short",
            f"of the mass {floor.percent(found.mass_short_frac)}, "
            f"of the length {floor.percent(found.length_short_frac)}",
        ),
        (
            "count in the ball",
            f"{show_count(found.rest_count_tex)}; both on target at {show_count(wanted)}",
        ),
        (
            "a turn lays",
            f"{floor.size_figure(first, system)} {floor.size_unit(system)} first, "
            f"{floor.size_figure(last, system)} {floor.size_unit(system)} last",
        ),
        (
            "on the mandrel",
            f"{floor.size_figure(found.build.diameter_mm, system)} across, "
            f"{floor.size_figure(found.build.width_mm, system)} wide, {floor.size_unit(system)}",
        ),
    ]


def _masses(found: Interval, system: UnitSystem) -> str:
    return floor.mass_range(found.low, found.high, system)


def _lengths(found: Interval, system: UnitSystem) -> str:
    return floor.length_range(found.low, found.high, system)


def _signed(value: float, kind: Kind, system: UnitSystem) -> str:
    unit = kind.metric if system == "metric" else kind.yard
    return f"{in_unit(value, kind, unit):+.{_PLACES[unit]}f} {unit}".replace("-", "−")
