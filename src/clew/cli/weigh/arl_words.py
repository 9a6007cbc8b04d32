"""The answers of `clew weigh arl` in words and as plain values."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from clew.cli.output import print_rows, print_table
from clew.cli.weigh.arl_terms import USES
from clew.faults import BadInput
from clew.quantities import number

if TYPE_CHECKING:
    from clew.checks.charts.choose_terms import Choice
    from clew.checks.charts.run_length_asked import AskedChart, AskedRun
    from clew.checks.charts.run_length_cones import ConeRun
    from clew.checks.charts.run_length_estimated import UnsureLimits

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)


def tell_choice(choice: Choice) -> None:
    """Say which chart does it best; then the table, then how each is set."""
    from clew.checks.charts.choose_words import (
        SHORT_NAMES,
        chart_name,
        choice_words,
        settings_words,
    )

    for line in choice_words(choice):
        click.echo(line)
    print_table(
        ["chart", "group", "balls to call", "9 in 10", "later", "in time", "weighed"],
        (
            [
                SHORT_NAMES[one.chart] + ("" if one.apart else " *"),
                str(one.group_size),
                f"{one.balls_mean:.1f}",
                f"{one.balls_ninety:.0f}",
                f"{one.balls_mean_later:.1f}",
                f"{100.0 * one.chance_within:.0f} %",
                f"{one.weighed_a_week:.0f}",
            ]
            for one in choice.table
        ),
    )
    print_rows(
        [(chart_name(one), settings_words(one)) for one in (choice.best, *choice.others)],
        title="Set so:",
    )
    if choice.sharing is not None:
        click.echo("* Groups in a row share a cone: more false alarms than allowed.")
    click.echo("Every chart is set to the false alarms allowed. In the table:")
    print_rows(
        [
            ("balls to call", "made after a shift that comes just after a group was weighed"),
            ("9 in 10", "within so many nine times in ten"),
            ("later", "balls to call where the chart has long been quiet"),
            ("in time", "chance of a call within the balls wished"),
            ("weighed", "balls a week"),
        ]
    )


def one_plain(
    asked: AskedChart,
    shift: float,
    found: AskedRun,
    unsure: UnsureLimits | None,
    cones: ConeRun | None,
) -> dict[str, Any]:
    """One chart's answer as plain values."""
    from clew.checks.charts.run_length_chain import CLOSE_REL

    plain: dict[str, Any] = {"chart": asked.chart, "shift_sd": shift} | asdict(found)
    plain["converged"] = found.change_rel < CLOSE_REL
    used = USES[asked.chart] | (frozenset({"runs", "seed"}) if asked.rules else frozenset())
    plain["terms"] = {name: value for name, value in asdict(asked).items() if name in used}
    if unsure is not None:
        plain["set_on"] = asdict(unsure)
    if cones is not None:
        plain["cones"] = asdict(cones)
    return plain


def tell_one(
    asked: AskedChart,
    shift: float,
    found: AskedRun,
    unsure: UnsureLimits | None,
    cones: ConeRun | None,
) -> None:
    """Say how long one chart runs, and tabulate it over shifts."""
    from clew.checks.charts.run_length_chain import CLOSE_REL

    points = f"{number(found.arl)} points"
    if found.standard_error > 0.0:
        points += f" (drawn, ± {number(found.standard_error, 2)} standard error)"
    if cones is not None:
        drawn = f" ± {number(cones.standard_error, 2)}" if cones.standard_error > 0.0 else ""
        click.echo(
            f"One false alarm in {number(cones.arl)}{drawn} points on average. Balls of one cone "
            f"are alike; independent ones would give one in {number(cones.believed_arl)}, and what "
            "follows holds for those."
        )
    elif shift == 0.0:
        click.echo(f"One false alarm in {points} on average.")
    else:
        click.echo(f"A shift of {number(shift)} sd is called after {points} on average.")
    if found.ninety is not None:
        click.echo(
            f"Half the runs end within {found.median} points, nine in ten within {found.ninety}."
        )
    if shift != 0.0 and found.arl_later is not None:
        click.echo(f"Where it has long been quiet before: {number(found.arl_later)} points.")
    if unsure is not None:
        _unsure_words(unsure)
    if found.change_rel >= CLOSE_REL:
        click.echo(f"Not converged: doubling the nodes changed it {100 * found.change_rel:.2g} %.")
    shifts = sorted({*SHIFTS, shift})
    if found.standard_error > 0.0:
        shifts = sorted({0.0, 1.0, 2.0, shift})
    print_table(
        ["shift in sd", "points to the call"],
        ([f"{one:g}", _row(asked, one)] for one in shifts),
    )


def _row(asked: AskedChart, shift: float) -> str:
    from clew.checks.charts.run_length_asked import asked_run_length
    from clew.checks.charts.run_length_chain import NEVER

    try:
        return number(asked_run_length(asked, shift, more=False).arl, 5)
    except BadInput as bad:
        if bad.faults[0].what != NEVER:
            raise
        return "practically never"


def _unsure_words(unsure: UnsureLimits) -> None:
    click.echo(
        f"Set on {unsure.groups} groups of {unsure.group_size}, the chart you get gives a false "
        f"alarm in {number(unsure.low_arl, 3)} to {number(unsure.high_arl, 3)} points eight times "
        f"in ten (middle {number(unsure.middle_arl, 3)})."
    )
    if unsure.mean_arl is None:
        click.echo("Over all charts so set there is no steady average: take more groups.")
    else:
        click.echo(f"Over all charts so set: {number(unsure.mean_arl, 4)} on average.")
