"""`clew ball first-balls`: what the first balls of a run say, and what to set."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, checked_mill, in_units, mill_folder
from clew.cli.output import print_json, print_table, write_whole
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, MASS, UnitSystem, show

if TYPE_CHECKING:
    from clew.ball.first_run import FirstRun, WinderAdvice


@click.command("first-balls")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--ball", "ball_name", required=True, help="Name of the ball.")
@click.option("--dye-lot", required=True, help="Dye lot on the creel.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@mill_folder
@click.option("--belief", type=click.Path(path_type=Path), help="Belief to continue, from --save.")
@click.option("--save", type=click.Path(path_type=Path), help="Write the belief, to continue it.")
@in_units
@as_json
def first_balls(
    file: Path,
    ball_name: str,
    dye_lot: str,
    line_name: str,
    mill_folder: Path,
    belief: Path | None,
    save: Path | None,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """What the first balls of a run say, and what to set on each winder.

    FILE is a CSV file with the columns ball, winder, cone, counts, mass, length; length may be left
    empty. A ball across a tie names both cones with their shares: A-01 60 % + A-02 40 %.
    """
    from clew.ball.belief import Belief
    from clew.ball.first_run import balls_of_lot, read_first_balls
    from clew.ball.from_mill import lot_for, terms_of
    from clew.ball.plain_build import first_run_plain
    from clew.ball.turns import set_turns
    from clew.cli.weighed_file import read_weighed

    mill = checked_mill(mill_folder)
    terms = terms_of(mill, ball_name, dye_lot)
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    lot = lot_for(mill, ball, dye_lot)
    weighed = read_weighed(file)
    before = None if belief is None else Belief.from_plain(_json_file(belief))
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    cone_mass_g = mill.find_yarn(ball.yarn).cone_mass_g
    found = read_first_balls(
        terms,
        ball,
        line,
        mill.prices,
        answer,
        weighed,
        lot_balls=balls_of_lot(answer.as_weighed_g, max(lot.cones, 1), cone_mass_g),
        belief=before,
    )
    if save is not None:
        write_whole(save, (json.dumps(found.belief.to_plain(), indent=1) + "\n").encode())
    if as_json:
        print_json(first_run_plain(found))
        return
    system: UnitSystem = units or mill.mill.units
    click.echo(
        f"{ball.name}, dye lot {lot.lot}: {len(weighed)} "
        f"ball{'s' if len(weighed) > 1 else ''} weighed. The mean ball is to hold "
        f"{show(found.target_mass_g, MASS, system)} as weighed and "
        f"{show(found.target_length_m, LENGTH, system)}."
    )
    _print_advice(found, system)
    if save is not None:
        click.echo(f"wrote {save}")


def _print_advice(found: FirstRun, system: UnitSystem) -> None:
    print_table(
        ["winder", "now", "set to", "change", "mean ball then", "single ball then"],
        [_row(advice, system) for advice in found.advice],
    )
    click.echo("Counts are those of each winder's own counter.\n")
    for advice in found.advice:
        click.echo(advice.setting.words)
    click.echo()
    for line in yarn_words(found):
        click.echo(line)
    for check in found.checks:
        if check.odd:
            click.echo(f"Note: {check.words}")


def yarn_words(found: FirstRun) -> list[str]:
    """Say once, for all winders, what the balls tell of the yarn and what more would tell.

    Parameters
    ----------
    found : FirstRun
        What the first balls said.

    Returns
    -------
    list of str
        Lines for people.
    """
    count = found.advice[0].view.count_factor
    lines = [
        f"The lot's count stands {_off(count.middle)} what was expected "
        f"(95 %: {_off(count.low)} to {_off(count.high)})."
    ]
    unreeled = [str(one.winder) for one in found.advice if one.view.lengths == 0]
    if unreeled:
        lines.append(
            f"Only weighed: winder {', '.join(unreeled)}. Mass alone cannot part a winder that "
            "winds long from a yarn that is heavy: reel one of the balls already wound."
        )
    more = [one.weighing.words for one in found.advice if one.weighing.more > 0]
    lines += more
    if not more:
        widest = max(one.weighing.now.half_width_frac for one in found.advice)
        lines.append(
            f"Weigh no more: every winder's mean is known to ±{100 * widest:.1f} % or better, and "
            "a further ball would cost more than the yarn it saves."
        )
    one_cone = [str(one.winder) for one in found.advice if one.weighing.floor.second_cone_pays]
    if one_cone:
        lines.append(
            f"Winder {', '.join(one_cone)}: its balls share what is peculiar to their cone. One "
            "ball of a second cone would tell more of the lot than any number of this one."
        )
    return lines


def _off(factor: float) -> str:
    return f"{100 * abs(factor - 1):.1f} % {'above' if factor >= 1 else 'below'}"


def _row(advice: WinderAdvice, system: UnitSystem) -> list[str]:
    row = advice.setting
    changed = row.worth_it and row.change_counts != 0
    then = row.proposed if changed else row.present
    single = then.mass_ball_g
    return [
        str(advice.winder),
        str(row.present_counts),
        str(row.counts if changed else row.present_counts),
        f"{row.change_counts:+d}" if changed else "leave it",
        show(then.mass_mean_g.middle, MASS, system),
        f"{show(single.low, MASS, system)} to {show(single.high, MASS, system)}",
    ]


def _json_file(path: Path) -> dict[str, Any]:
    expected = "a belief that --save wrote"
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (UnicodeDecodeError, json.JSONDecodeError):
        raise BadInput(Fault("not JSON", expected, file=str(path))) from None
    if not isinstance(found, dict):
        raise BadInput(Fault("not a belief", expected, file=str(path)))
    return found
