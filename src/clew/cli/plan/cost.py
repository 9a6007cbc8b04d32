"""`clew plan cost`: what a ball costs by the time it leaves."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, ball_argument, checked_mill, mill_folder, options_named
from clew.cli.output import print_json, print_table

if TYPE_CHECKING:
    from clew.plan.costing.ball_cost import BallCost
    from clew.plan.costing.emissions import BallEmissions
    from clew.plan.costing.sensitivities import CostStep

_KEYS = {"balls": "--balls", "dye lot": "--lot"}


@click.command()
@ball_argument
@mill_folder
@click.option("--lot", "lot_name", default="", help="Dye lot; the yarn as nominal if left out.")
@click.option("--line", "line_name", default="", help="Line; the only one if left out.")
@click.option(
    "--balls",
    type=click.IntRange(1),
    default=None,
    help="Balls of a run; the median of the mill's orders if left out.",
)
@click.option(
    "--sensitivities/--no-sensitivities",
    default=True,
    show_default=True,
    help="Also what one point, gram, break or change more is worth.",
)
@click.option(
    "--replications",
    type=click.IntRange(2, 10_000),
    default=100,
    show_default=True,
    help="Shifts to simulate.",
)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed.")
@as_json
def cost(
    ball_name: str,
    mill_folder: Path,
    lot_name: str,
    line_name: str,
    balls: int | None,
    sensitivities: bool,
    replications: int,
    seed: int,
    as_json: bool,
) -> None:
    """What a first-quality ball of BALL costs by the time it leaves.

    Yarn, giveaway, joins, changes, second quality, steam, hands, packing and overhead, stage by
    stage, with the yield of each.
    """
    from clew.mill.net_content import read_tables
    from clew.plan.costing.ball_cost import ball_cost
    from clew.plan.costing.emissions import emissions_of
    from clew.plan.costing.plain import plain_cost, plain_emissions, plain_steps
    from clew.plan.costing.sensitivities import cost_steps

    mill = checked_mill(mill_folder)
    line = mill.find_line(line_name).name
    with options_named(_KEYS):
        found = ball_cost(
            mill, ball_name, lot_name, line, run_balls=balls, seed=seed, replications=replications
        )
        steps = (
            cost_steps(
                mill,
                ball_name,
                lot_name,
                line,
                run_balls=balls,
                seed=seed,
                replications=replications,
                tables=read_tables(mill_folder),
            )
            if sensitivities
            else None
        )
    left = emissions_of(found, mill.emissions)
    if as_json:
        print_json(
            plain_cost(found)
            | {
                "sensitivities": None if steps is None else plain_steps(steps),
                "emissions": plain_emissions(left),
            }
        )
    else:
        _tell(found, steps, left)


def _tell(found: BallCost, steps: tuple[CostStep, ...] | None, left: BallEmissions) -> None:
    from clew.plan.costing.words import NOT_COUNTED, cost_words, emission_words, second_pays

    for line in cost_words(found):
        click.echo(line)
    click.echo("")
    money = found.figures.currency
    total = found.total
    rows = []
    for stage in found.stages:
        rows.append([f"{stage.words}, yield {100.0 * stage.yield_frac:.2f} %", "", "", ""])
        rows += [
            [
                f"  {part.words}",
                _money(part.money),
                _share(part.money, total),
                _money(part.money / found.figures.declared_g * 1000.0),
            ]
            for part in stage.parts
        ]
    rows.append(["a first-quality ball", _money(total), _share(total, total), _money(found.per_kg)])
    print_table(["", f"{money} a ball", "share", f"{money} a kg"], rows)
    click.echo("")
    print_table(
        ["how unsure, 95 times of 100", "from", "to"],
        [[one.words, _money(one.low), _money(one.high)] for one in found.doubts],
    )
    if steps is not None:
        click.echo("")
        _tell_steps(steps, money, second_pays(found))
    click.echo("")
    for line in (*emission_words(left), *found.notes, NOT_COUNTED):
        click.echo(line)
    click.echo(f"{found.replications} shifts, seed {found.seed}.")


def _tell_steps(steps: tuple[CostStep, ...], money: str, second_pays: bool) -> None:
    head = ["what it costs", f"{money} a ball"]
    year = any(one.money_per_year is not None for one in steps)
    priced = any(one.foregone_per_ball is not None for one in steps)
    head += [f"{money} a year"] if year else []
    head += ["foregone a ball"] if priced else []
    rows = []
    for one in steps:
        cells = [one.words, f"{one.money_per_ball:+.4f}"]
        cells += [f"{one.money_per_year or 0.0:+.0f}"] if year else []
        cells += [f"{round(one.foregone_per_ball or 0.0, 4) + 0.0:+.4f}"] if priced else []
        rows.append(cells)
    print_table(head, rows)
    if priced:
        click.echo(
            "Foregone: what more second-quality balls would have brought as first. The cost has\n"
            "what they fetch in it: look at both, do not add them up. What changes the ball also\n"
            "moves, by leaps, how many the line spoils."
        )
        if second_pays:
            click.echo(
                "A second-quality ball fetches more than one costs here: what spoils balls may\n"
                "look cheap, or even like a saving. It is none; go by what is foregone."
            )


def _share(part: float, total: float) -> str:
    # a cost of nothing, or one that second quality more than pays for, has no shares
    return f"{round(100.0 * part / total, 1) + 0.0:.1f} %" if total > 0.0 else ""


def _money(value: float) -> str:
    # adding zero takes the sign off a zero
    return f"{round(value, 4) + 0.0:.4f}"
