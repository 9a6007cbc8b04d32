"""`clew plan shift`: what this shift does: cones, crew, changes, finish, and a lane down."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.cli.output import print_json, print_table, write_whole
from clew.faults import BadInput, Fault
from clew.quantities import TIME

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.shift.terms import ShiftPlan
    from clew.plan.shift.words import ShiftPlanWords

MOST_WITHIN_S = 3600.0
_FILE = click.Path(path_type=Path)


@click.command()
@click.option("--plan", "plan_csv", type=_FILE, help="Plan to keep; else made anew.")
@click.option("--orders", "orders_csv", type=_FILE, help="Orders; those of the mill file left out.")
@click.option("--in-line", "in_line", multiple=True, metavar="'LINE=BALL,LOT[,FREE FROM]'",
              help="What is in a line before the plan; else it is empty.")  # fmt: skip
@click.option("--line", "line_name", default="", help="Only this line.")
@click.option("--date", "on", default="", metavar="YYYY-MM-DD", help="Day the shift begins; today.")
@click.option("--shift", "starts", default="", metavar="HH:MM", help="When it begins; now.")
@click.option("--within", "within_s", type=Quantity(TIME), default="5 s", show_default=True,
              help="Time to make a plan in, without --plan.")  # fmt: skip
@click.option("--replications", type=click.IntRange(2, 100_000), default=200, show_default=True,
              help="Shifts to simulate.")  # fmt: skip
@click.option("--pdf", type=_FILE, help="Shift plan to write, as PDF.")
@click.option("--pick-list", type=_FILE, help="Pick list of the cone store to write, as PDF.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True,
              help="Seed of the chance.")  # fmt: skip
@mill_folder
@as_json
def shift(
    plan_csv: Path | None,
    orders_csv: Path | None,
    in_line: tuple[str, ...],
    line_name: str,
    on: str,
    starts: str,
    within_s: float,
    replications: int,
    pdf: Path | None,
    pick_list: Path | None,
    seed: int,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Say what a shift does, run by run.

    Which run when, the cones in tie order, the changes, the hands, the rests, and what to do if a
    lane is down. With --plan the plan's starts are kept; without it the orders are planned from the
    shift's start. The exit code is 1 when no run touches the shift.
    """
    from clew.cli.plan.materials import orders_from
    from clew.cli.plan.sequence import lines_kept, lines_said, present_from
    from clew.plan.orders.materials import materials_for
    from clew.plan.sequence.plan import sequence_plan
    from clew.plan.shift.from_present import timed_from_present
    from clew.plan.shift.plain import plain_shift_plan
    from clew.plan.shift.shift_plan import shift_plan
    from clew.plan.shift.which import read_shift
    from clew.plan.shift.words import shift_plan_words

    mill = checked_mill(mill_folder)
    if line_name:
        mill.find_line(line_name)
    if not 0.0 < within_s <= MOST_WITHIN_S:
        raise BadInput(
            Fault("no time to plan in", f"above 0, at most {MOST_WITHIN_S:g} s", key="--within",
                  value=f"{within_s:g} s")
        )  # fmt: skip
    now = datetime.now(UTC)
    shift_from, shift_upto = read_shift(mill, on, starts, now=now, keys=("--date", "--shift"))
    lines_now = {**lines_kept(mill_folder, mill), **lines_said(in_line, mill)}
    found = materials_for(mill, orders_from(mill, orders_csv), seed=seed)
    left_out = [
        f"Not planned: order {one.asked.number}: {one.conflict}"
        for one in found.orders
        if not one.met
    ]
    if plan_csv is not None:
        present = present_from(plan_csv, mill)
        timed = timed_from_present(
            mill, found.runs, present, lines_now=lines_now, file=str(plan_csv)
        )  # fmt: skip
    else:
        made = sequence_plan(
            mill, found.runs, now=shift_from, lines_now=lines_now, within_s=within_s, seed=seed
        )
        timed = made.timed
        left_out += [f"Not planned: run {one.run_name}: {one.why}" for one in made.cannot]
    plan = shift_plan(
        mill, timed, shift_from=shift_from, shift_upto=shift_upto, line_name=line_name,
        lines_now=lines_now, seed=seed, replications=replications,
    )  # fmt: skip
    written = _papers(mill, plan, pdf, pick_list)
    if as_json:
        paths = [str(one) for one in written]
        print_json({**plain_shift_plan(plan), "left_out": left_out, "written": paths})
    else:
        _print(plan, shift_plan_words(plan, mill.mill.units))
        for one in left_out:
            click.echo(one)
        for path in written:
            click.echo(f"wrote {path}")
    if not plan.lines:
        raise SystemExit(1)


def _papers(mill: Mill, plan: ShiftPlan, pdf: Path | None, pick_list: Path | None) -> list[Path]:
    """Write the papers that were asked for; both are made before either is written."""
    from clew.papers.pick_list_content import pick_list_content
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.shift_plan_content import shift_plan_content

    made = made_now(mill.mill.time_zone)
    papers: list[tuple[Path, bytes]] = []
    if pdf is not None:
        papers.append((pdf, pdf_of(shift_plan_content(plan, mill), made=made)))
    if pick_list is not None:
        papers.append((pick_list, pdf_of(pick_list_content(plan, mill), made=made)))
    for path, raw in papers:
        write_whole(path, raw)
    return [path for path, _ in papers]


def _print(plan: ShiftPlan, words: ShiftPlanWords) -> None:
    from clew.plan.shift.words import between, counted

    click.echo(words.headline)
    if words.idle:
        click.echo(words.idle)
    if not plan.lines:
        return
    for line, told in zip(plan.lines, words.lines, strict=True):
        click.echo(f"\n{told.headline}")
        for said in told.runs:
            click.echo(f"\n{said.title}")
            click.echo(f"  {said.balls}")
            if said.change:
                click.echo(f"  Change {said.change_when}:")
                for step in said.change:
                    click.echo(f"    - {step}")
            click.echo(f"  {said.settings}")
            click.echo(f"  {said.cones}")
            click.echo(f"  If a lane is down: {said.lane_down}")
        click.echo("")
        print_table(
            ("run", "begins", "ends", "balls", "cones"),
            [
                (run.name, "runs" if run.going else between(run.start, plan),
                 between(run.end, plan), counted(run.balls), str(len(run.cones.calls)))
                for run in line.runs
            ],
        )  # fmt: skip
        for one in told.crew:
            click.echo(f"Crew. {one}")
        click.echo(told.rests)
    click.echo(f"\n{words.lifting}\n{words.doubt}")
