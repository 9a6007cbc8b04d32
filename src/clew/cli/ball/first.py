"""`clew ball first-balls`: what the first balls of a run say, and what to set."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, checked_mill, in_units, mill_folder
from clew.cli.output import print_json, print_table, write_whole
from clew.faults import BadInput
from clew.quantities import LENGTH, MASS, UnitSystem, show

if TYPE_CHECKING:
    from clew.ball.first.first_run import FirstRun, WeighedBall, WinderAdvice
    from clew.ball.first.winder_setting import WinderSetting
    from clew.mill.model import Mill


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
    """What the first balls say to set.

    FILE is a CSV file with the columns ball, winder, cone, counts, mass, length; length may be left
    empty. A ball across a tie names both cones with their shares: A-01 60 % + A-02 40 %.
    """
    from clew.ball.first.about import about_of
    from clew.ball.first.first_run import read_first_balls
    from clew.ball.first.line_settings import balls_of_lot
    from clew.ball.from_mill import lot_for, terms_of
    from clew.ball.plain_build import first_run_plain
    from clew.ball.turns import set_turns
    from clew.cli.ball.belief_file import read_belief
    from clew.cli.ball.weighed_file import read_weighed

    mill = checked_mill(mill_folder)
    terms = terms_of(mill, ball_name, dye_lot)
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    lot = lot_for(mill, ball, dye_lot)
    weighed = read_weighed(file)
    note = _other_lot(weighed, mill, lot.lot)
    before = None if belief is None else read_belief(belief)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    cone_mass_g = mill.find_yarn(ball.yarn).cone_mass_g
    try:
        found = read_first_balls(
            terms,
            ball,
            line,
            mill.prices,
            answer,
            weighed,
            lot_balls=balls_of_lot(answer.as_weighed_g, lot.cones, cone_mass_g),
            about=about_of(mill, ball_name, dye_lot, line_name),
            belief=before,
        )
    except BadInput as bad:
        raise BadInput(
            fault if fault.line is None else replace(fault, file=str(file)) for fault in bad.faults
        ) from None
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
    for words in filter(None, (note, found.note)):
        click.echo(f"Note: {words}")
    _print_advice(found, system, mill.prices.currency)
    if save is not None:
        click.echo(f"wrote {save}")


def _other_lot(weighed: list[WeighedBall], mill: Mill, lot_name: str) -> str:
    """Say when every cone is named after one other dye lot: the wrong lot was asked for."""
    named = {cone.casefold() for ball in weighed for cone, _ in ball.cones}
    for colour in mill.colour:
        for lot in colour.dye_lot:
            if lot.lot != lot_name and all(name.startswith(lot.lot.casefold()) for name in named):
                named_after = f"every cone is named after dye lot {lot.lot}"
                return f"{named_after}; this is the answer for {lot_name}."
    return ""


def _print_advice(found: FirstRun, system: UnitSystem, currency: str) -> None:
    print_table(
        ["winder", "now", "set to", "change", "mean ball then", "single ball then"],
        [_row(advice, system) for advice in found.advice],
    )
    click.echo("Counts are those of each winder's own counter.\n")
    for advice in found.advice:
        click.echo(
            " ".join(
                filter(None, (advice.setting.words, cost_words(advice.setting, system, currency)))
            )
        )
    click.echo()
    for line in yarn_words(found):
        click.echo(line)
    for check in found.checks:
        if check.odd:
            click.echo(f"Note: {check.words}")


def cost_words(setting: WinderSetting, system: UnitSystem, currency: str) -> str:
    """Say what it costs to leave a winder that stands above its target.

    Parameters
    ----------
    setting : WinderSetting
        The advice.
    system : {"metric", "yard"}
        Units to say it in.
    currency : str
        The mill's money.

    Returns
    -------
    str
        One sentence; empty where nothing is to be taken off.
    """
    if setting.change_counts >= 0 or setting.odd_ball:
        return ""
    each = show(setting.giveaway_g, MASS, system, digits=2)
    amount = f"{each} a ball, {setting.saving:.0f} {currency}"
    if setting.worth_it:
        return f"That saves {amount} over its balls of the lot."
    return f"If it is so, leaving it gives away {amount} over its balls of the lot."


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
        f"The lot's count stands {_off(count.middle)} what was expected of it "
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
    if not more and not any(one.setting.odd_ball for one in found.advice):
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
    if abs(factor - 1) < 5e-4:
        return "at"
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
