"""`clew weigh correct`: who drifted, and by how many whole turns to correct each winder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, MASS

if TYPE_CHECKING:
    from clew.checks.components.corrections import Aim
    from clew.checks.components.drift_from_mill import DriftTerms
    from clew.checks.components.drifted import Drifted
    from clew.checks.components.unreel import Unreeling
    from clew.checks.weighings import Column

_WHOLE = click.IntRange(min=1)
_REEL_S = 180.0
"""Hand's time to reel and note one ball where no mill file says it [s]; assumed."""


@click.command("correct")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--ball", "ball_name", help="Name of the ball in the mill file.")
@mill_folder
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--dye-lot", default="", help="Dye lot in the mill file, for its count.")
@click.option("--target-mass", type=Quantity(MASS), help="Mean net mass aimed at; without a mill.")
@click.option("--target-length", type=Quantity(LENGTH), help="Mean length aimed at.")
@click.option("--declared-mass", type=Quantity(MASS), help="Declared mass.")
@click.option("--turns", type=_WHOLE, help="Turns a ball is wound with; without a mill.")
@click.option("--turns-per-count", type=click.FloatRange(min=0, min_open=True), default=1.0)
@click.option("--price-per-kg", type=click.FloatRange(min=0), help="Price of the yarn.")
@click.option("--change-cost", type=click.FloatRange(min=0), help="What one change costs.")
@click.option("--balls-ahead", type=click.IntRange(min=0), help="Balls ahead of each winder.")
@click.option(
    "--sure",
    type=float,
    default=0.9,
    show_default=True,
    help="Probability that a change helps, from which it is made.",
)
@as_json
def correct(
    file: Path,
    ball_name: str | None,
    mill_folder: Path,
    line_name: str,
    dye_lot: str,
    target_mass: float | None,
    target_length: float | None,
    declared_mass: float | None,
    turns: int | None,
    turns_per_count: float,
    price_per_kg: float | None,
    change_cost: float | None,
    balls_ahead: int | None,
    sure: float,
    as_json: bool,
) -> None:
    """Who drifted, and by how many whole turns to correct each winder.

    FILE is a CSV file, a row a ball: winder and mass_g, with lot, cone and length_m where known.
    With --ball the mill file says the rest; without it, --target-mass and --turns do.
    """
    from dataclasses import replace

    from clew.checks.components.drift_from_mill import drift_terms, unreel_for
    from clew.checks.components.drifted import who_drifted
    from clew.checks.components.drifted_plain import drifted_plain
    from clew.checks.condition import net_mass
    from clew.checks.reel_length import stated_length
    from clew.ledger.intake.weighings import read_weighings

    balls = read_weighings(
        file,
        need=("mass_g", "winder"),
        only=("mass_g", "winder", "lot", "cone", "length_m", "tension_cn"),
    )
    mass_g, condition = net_mass(balls)
    winders = balls.factors["winder"].names
    if ball_name is not None:
        asked = drift_terms(checked_mill(mill_folder), ball_name, dye_lot, line_name, winders)
    elif target_mass is not None and turns is not None:
        asked = _of_options(target_mass, target_length, turns, turns_per_count, winders)
    else:
        raise BadInput(
            Fault("nothing to aim at", "--ball of a mill file, or --target-mass and --turns")
        )
    aim = replace(asked.aim, sure_frac=sure)
    if target_mass is not None:
        aim = replace(aim, target_mass_g=target_mass)
    if target_length is not None:
        aim = replace(aim, target_length_m=target_length)
    if declared_mass is not None:
        aim = replace(aim, declared_mass_g=declared_mass)
    if price_per_kg is not None:
        aim = replace(aim, price_per_kg=price_per_kg)
    if change_cost is not None:
        aim = replace(aim, change_cost=change_cost)
    length_m: Column | None = None
    if "length_m" in balls.numbers:
        length_m, length_words, cautions = stated_length(balls, asked.reel_terms)
        condition = " ".join((condition, length_words, *cautions))
    ahead = asked.balls_ahead if balls_ahead is None else balls_ahead
    found = who_drifted(balls, mass_g, asked.counts, aim, length_m=length_m, ahead=ahead)
    unreel = unreel_for(found, asked)
    money = asked.currency or ("in your money" if aim.price_per_kg > 0 else "")
    if as_json:
        plain = drifted_plain(found, asked.currency)
        plain |= {
            "target_mass_g": aim.target_mass_g,
            "target_length_m": aim.target_length_m,
            "condition": condition,
            "counts_from": asked.how,
            "unreel": None
            if unreel is None
            else {
                "balls": unreel.balls,
                "half_width_m": unreel.half_width_m,
                "cost_money": unreel.cost,
            },
        }
        print_json(plain)
        return
    _print(found, aim, money, condition, asked, unreel)


def _of_options(
    target_mass_g: float,
    target_length_m: float | None,
    turns: int,
    turns_per_count: float,
    winders: tuple[str, ...],
) -> DriftTerms:
    from clew.checks.components.corrections import Aim, Count
    from clew.checks.components.drift_from_mill import DriftTerms

    length_m = target_length_m if target_length_m is not None else float(turns)
    count = Count(
        turns=turns_per_count,
        mass_g=target_mass_g / turns * turns_per_count,
        length_m=length_m / turns * turns_per_count,
    )
    how = (
        f"A turn is taken as the mean one, {target_mass_g / turns:.3g} g; those at the outside of "
        "a ball are longer, which a mill file knows."
    )
    aim = Aim(target_mass_g=target_mass_g, target_length_m=target_length_m)
    return DriftTerms(
        aim=aim,
        counts=dict.fromkeys(winders, count),
        currency="",
        ball_price=0.0,
        hand_s=_REEL_S,
        hand_per_hour=0.0,
        how=how,
    )


def _print(
    found: Drifted,
    aim: Aim,
    money: str,
    condition: str,
    asked: DriftTerms,
    unreel: Unreeling | None,
) -> None:
    from clew.checks.components.drifted_plain import (
        correction_words,
        funnel_words,
        signature_of,
    )

    for one in found.corrections:
        click.echo(correction_words(one, signature_of(found, one.standing.winder), money))
    made = [one for one in found.corrections if one.make and one.counts < 0]
    if money and made:
        click.echo(f"Together {sum(one.gain for one in made):.2f} {money}.")
    click.echo()
    rows = []
    for one in found.corrections:
        standing = one.standing
        length = "–" if standing.length_m is None else f"{standing.length_m:.1f} m"
        rows.append(
            [
                standing.winder,
                str(standing.balls),
                f"{standing.mass_g:.2f} g",
                f"±{1.96 * standing.mass_se_g:.2f} g",
                length,
                f"{one.counts:+d}",
                f"{100 * one.better_chance:.0f} %",
                "yes" if one.make else "no",
            ]
        )
    print_table(
        ["winder", "balls", "mean to come", "95 %", "length", "counts", "helps", "make it"], rows
    )
    _print_causes(found)
    click.echo(f"\n{funnel_words(found)}")
    if unreel is not None:
        cost = f", {unreel.cost:.2f} {money} a winder" if unreel.cost and money else ""
        click.echo(
            f"To know a winder's length to ±{unreel.half_width_m:.1f} m (95 %), unreel "
            f"{unreel.balls} of its balls a shift{cost}."
        )
    for caution in found.cautions:
        click.echo(f"Note: {caution}.")
    lot = f" of dye lot {found.lot}" if found.lot else ""
    click.echo(
        f"Target {aim.target_mass_g:.2f} g, taken as given: before you take yarn off, see by clew "
        "weigh target whether lots pass at it."
    )
    click.echo(f"Means are of balls to come{lot}, fresh cones.")
    click.echo(f"{asked.how} {condition}")


_CAUSE_WORDS = {
    "none": "as the others",
    "winds": "turns",
    "count": "count",
    "drew_back": "drew back",
    "winds and count": "turns, count",
    "winds and drew_back": "turns, drew back",
    "count and drew_back": "count, drew back",
}


def _percent(frac: float) -> str:
    return f"{round(100 * frac, 1) + 0.0:+.1f}"


def _print_causes(found: Drifted) -> None:
    if not found.signatures:
        return
    click.echo()
    rows = []
    for one in found.signatures:
        length = "–"
        if one.length_frac is not None and one.length_se_frac is not None:
            length = f"{_percent(one.length_frac)} ± {196 * one.length_se_frac:.1f} %"
        likely, chance = max(one.chances.items(), key=lambda pair: pair[1])
        rows.append(
            [
                one.winder,
                f"{_percent(one.mass_frac)} ± {196 * one.mass_se_frac:.1f} %",
                length,
                str(one.lengths),
                f"{_CAUSE_WORDS[likely]} {100 * chance:.0f} %",
            ]
        )
    print_table(["winder", "mass", "length", "reeled", "likeliest"], rows)
