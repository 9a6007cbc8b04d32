"""The words and the sheet that `clew lot test` prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from clew.cli.output import print_rows, print_table
from clew.quantities import POUND_G, YARD_M

if TYPE_CHECKING:
    from clew.checks.packages.verdict import Verdict
    from clew.checks.packages.worksheet import Worksheet
    from clew.mill.net_content import Tables


_MOST_ROWS = 200


def tell(verdict: Verdict, tables: Tables) -> None:
    """Print a verdict: the word and the sentences first, then every figure, then the sources."""
    word = verdict.word
    click.echo(f"{word[:1].upper()}{word[1:]}.")
    for sentence in verdict.sentences:
        click.echo(sentence)
    for sheet in verdict.sheets:
        click.echo("")
        _tell_sheet(sheet)
    click.echo("")
    click.echo(f"By {verdict.rule.title}; {verdict.rule.edition}.")
    for mark in verdict.marks:
        click.echo(f"  {mark}")
    click.echo(f"Tables: {tables.file}, sha256 {tables.sha256[:12]}.")
    click.echo("Mind:")
    for caution in verdict.cautions:
        click.echo(f"  {caution}")


def _tell_sheet(sheet: Worksheet) -> None:
    plan = sheet.plan
    unit = "g" if plan.quantity == "mass" else "m"
    click.echo(sheet.sample.condition)

    def shown(value: float | None, digits: int = 6) -> str:
        return "–" if value is None else f"{value:.{digits}g} {unit}"

    inch_pound = (
        f"{plan.declared / POUND_G:.6g} lb" if unit == "g" else f"{plan.declared / YARD_M:.6g} yd"
    )
    rows = [
        (f"declared {plan.quantity}", f"{shown(plan.declared)} ({inch_pound})"),
        ("lot, balls required, given", f"{sheet.lot_size}, {sheet.n_required}, {sheet.n_given}"),
    ]
    if sheet.tare_mean is not None:
        tare = f"mean tare of {sheet.tare_n}" if sheet.tare_n > 1 else "tare"
        rows.append((tare, shown(sheet.tare_mean)))
        rows.append(("nominal gross", shown(sheet.nominal_gross)))
    if sheet.allowance:
        rows.append((f"moisture allowance, {sheet.allowance_when}", shown(sheet.allowance)))
        rows += [("", step) for step in sheet.steps]
    rows += [
        ("unit of measure", shown(sheet.unit_of_measure)),
        ("total error", shown(sheet.total_error)),
        ("mean error", shown(sheet.mean_error)),
        ("mean", shown(sheet.mean)),
        ("standard deviation", shown(sheet.sd)),
        ("factor", f"{plan.factor:g}"),
        ("sample error limit", shown(sheet.sample_error_limit)),
        ("lowest mean that passes", shown(sheet.limit)),
    ]
    if plan.stages:
        rows += [
            ("a ball is short below", shown(plan.declared - plan.deficiency)),
            ("short, allowed", f"{sheet.short_count}, {sheet.allowed}"),
        ]
        if sheet.far_used < float("inf"):
            rows.append(("no ball below", shown(plan.declared - plan.far_deficiency)))
    print_rows(rows)
    head = ["ball", "gross", "net", "error", "units", ""]
    if sheet.sample.gross is None:
        head.remove("gross")
    table = []
    shown_balls = sheet.balls[:_MOST_ROWS]
    for ball in shown_balls:
        said = "far short" if ball.far_short else "short" if ball.short else ""
        row = [
            ball.name,
            f"{ball.gross:.6g}" if ball.gross is not None else "",
            f"{ball.content:.6g}",
            f"{ball.error:+.4g}",
            "" if ball.units is None else f"{round(ball.units, 3):+g}",
            said or ("at the limit" if ball.at_limit else ""),
        ]
        if sheet.sample.gross is None:
            del row[1]
        table.append(row)
    print_table(head, table)
    if len(sheet.balls) > _MOST_ROWS:
        click.echo(f"and {len(sheet.balls) - _MOST_ROWS} more; --json has them all")
