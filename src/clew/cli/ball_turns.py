"""`clew ball turns`: how many turns, which declaration binds, how sure that is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, in_units, mill_folder
from clew.cli.output import print_json, print_rows, print_table
from clew.quantities import FRACTION, LENGTH, MASS, Kind, UnitSystem, show, show_count

if TYPE_CHECKING:
    from clew.ball.bounds import Interval
    from clew.ball.doubt import DrawnBalls
    from clew.ball.from_mill import Terms
    from clew.ball.turns import TurnsAnswer


@click.command()
@click.argument("ball_name", metavar="BALL")
@mill_folder
@click.option("--dye-lot", default="", help="Dye lot; its measured count replaces the nominal one.")
@click.option("--turns", type=click.IntRange(1), help="Answer for these turns, on target or not.")
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of the intervals, such as "95 %".'
)
@click.option(
    "--check", "drawn", type=click.IntRange(100, 10_000_000), help="Also draw so many balls."
)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of --check.")
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
    """Winder turns for BALL, which declaration binds, how sure that is and what it depends on."""
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
    other = (
        f"length alone would need {found.turns_length:.1f}"
        if found.binding == "mass"
        else f"mass alone would need {found.turns_mass:.1f}"
    )
    asked = "" if turns is None else " (as asked)"
    click.echo(
        f"{mill.find_ball(ball_name).name}: set {found.turns} turns{asked}. The declared "
        f"{found.binding} binds; {other}."
    )
    print_rows(_rows(found, terms, system))
    if balls is not None:
        low, high = balls.interval(balls.mass_g, confidence)
        between = f"{show(low, MASS, system)} to {show(high, MASS, system)}"
        click.echo(f"  {drawn} balls drawn (seed {seed}): {between}")
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
    first, last = found.length_per_turn_mm_first / 1000, found.length_per_turn_mm_last / 1000
    return [
        (
            f"mass {basis}",
            f"{show(found.mass_g, MASS, system)}; "
            f"one ball {_between(found.mass_g_interval, MASS, system)}, "
            f"the run's mean {_between(found.mean_mass_g_interval, MASS, system)}",
        ),
        (
            "length at rest",
            f"{show(found.length_m, LENGTH, system)}; "
            f"one ball {_between(found.length_m_interval, LENGTH, system)}, "
            f"the run's mean {_between(found.mean_length_m_interval, LENGTH, system)}",
        ),
        (
            "above the declaration",
            f"{show(found.over_mass_g, MASS, system, digits=3)} and "
            f"{show(found.over_length_m, LENGTH, system, digits=3)}",
        ),
        (
            "count in the ball",
            f"{show_count(found.rest_count_tex)}; both on target at {show_count(wanted)}",
        ),
        (
            "a turn lays",
            f"{show(first, LENGTH, unit='mm')} first, {show(last, LENGTH, unit='mm')} last",
        ),
        ("wound ball", f"{found.build.diameter_mm:.0f} x {found.build.width_mm:.0f} mm"),
    ]


def _between(interval: Interval, kind: Kind, system: UnitSystem) -> str:
    return f"{show(interval.low, kind, system)} to {show(interval.high, kind, system)}"


def _signed(value: float, kind: Kind, system: UnitSystem) -> str:
    text = show(value, kind, system, digits=3)
    return text if value < 0 else f"+{text}"
