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


_MOST_ROWS = 40
"""Of more balls only those are listed that say something; the answer stays on the screen."""


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
    from clew.checks.packages.verdict import mean_and_limit
    from clew.papers.certificate_rows import decimals_of

    plan = sheet.plan
    unit = "g" if plan.quantity == "mass" else "m"
    click.echo(sheet.sample.condition)

    def shown(value: float | None, digits: int = 6) -> str:
        return "–" if value is None else f"{value:.{digits}g} {unit}"

    def rounded(value: float | None, places: int = 3) -> str:
        return "–" if value is None else f"{value:.{places}f} {unit}"

    mean, limit = mean_and_limit(sheet, 3)
    inch_pound = (
        f"{plan.declared / POUND_G:.6g} lb" if unit == "g" else f"{plan.declared / YARD_M:.6g} yd"
    )
    rows = [
        (f"declared {plan.quantity}", f"{shown(plan.declared)} ({inch_pound})"),
        ("balls in the lot", f"{sheet.lot_size}"),
        ("balls asked for, given", f"{sheet.n_required}, {sheet.n_given}"),
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
        ("total error", rounded(sheet.total_error)),
        ("mean error", rounded(sheet.mean_error)),
        ("mean", f"{mean} {unit}"),
        ("standard deviation", rounded(sheet.sd, 4)),
        ("factor", f"{plan.factor:g}"),
        ("sample error limit", rounded(sheet.sample_error_limit, 4)),
        ("lowest mean that passes", "–" if sheet.limit is None else f"{limit} {unit}"),
    ]
    if plan.stages:
        rows += [
            ("a ball is short below", shown(plan.declared - plan.deficiency)),
            ("short balls, allowed", f"{sheet.short_count}, {sheet.allowed}"),
        ]
        if sheet.far_used < float("inf"):
            rows.append(("no ball below", shown(plan.declared - plan.far_deficiency)))
    print_rows(rows)
    head = ["ball", "gross", "net", "error", "units", ""]
    if sheet.sample.gross is None:
        head.remove("gross")
    table = []
    shown_balls = sheet.balls
    if len(shown_balls) > _MOST_ROWS:
        shown_balls = tuple(ball for ball in shown_balls if ball.short or ball.at_limit)
    places = decimals_of(sheet)
    for ball in shown_balls:
        said = "far short" if ball.far_short else "short" if ball.short else ""
        row = [
            ball.name,
            f"{ball.gross:.{places}f}" if ball.gross is not None else "",
            f"{ball.content:.{places}f}",
            f"{ball.error:+.{places}f}",
            "" if ball.units is None else f"{round(ball.units, 3):+g}",
            said or ("at the limit" if ball.at_limit else ""),
        ]
        if sheet.sample.gross is None:
            del row[1]
        table.append(row)
    if table:
        print_table(head, table)
    more = len(sheet.balls) - len(shown_balls)
    if more:
        what = "more that are not short" if table else "balls, none short"
        click.echo(f"{'And ' if table else ''}{more} {what}; --json lists them all.")
