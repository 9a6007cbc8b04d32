"""`clew ball build`: how a ball builds up, how it is covered, how large it will be."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, ball_argument, checked_mill, mill_folder
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ball.size.shape import BallShape, Range
    from clew.ball.wind.build import Build


class WindRatio(click.ParamType[float]):
    """A wind ratio, within what a mill file may hold."""

    name = "ratio"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read the ratio; anything else is one line."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not 2 <= number <= 500:
            expected = "a number from 2 to 500, such as 20.38"
            raise BadInput(Fault("no wind ratio", expected, key="--wind-ratio", value=repr(value)))
        return number


@click.command()
@ball_argument
@mill_folder
@click.option("--dye-lot", default="", help="Dye lot; its measured count replaces the nominal one.")
@click.option("--wind-ratio", type=WindRatio(), help="Try another wind ratio.")
@as_json
def build(
    ball_name: str, mill_folder: Path, dye_lot: str, wind_ratio: float | None, as_json: bool
) -> None:
    """How BALL builds up.

    Turn by turn, how the strand covers it, and how large it will be.
    """
    from clew.ball.ball_answer import strand_width_mm
    from clew.ball.from_mill import terms_of
    from clew.ball.plain_build import build_plain
    from clew.ball.size.of_ball import size_of
    from clew.ball.turns import set_turns
    from clew.ball.wind.coverage import coverage

    mill = checked_mill(mill_folder)
    terms = terms_of(mill, ball_name, dye_lot)
    winding = terms.winding
    if wind_ratio is not None:
        winding = replace(winding, setting=replace(winding.setting, wind_ratio=wind_ratio))
    built = set_turns(terms.strand, terms.promise, winding).build
    cover = coverage(winding.setting, built, strand_width_mm(built.area_mm2))
    size = size_of(mill.find_ball(ball_name), terms.strand, winding, built)
    if as_json:
        print_json(build_plain(built, cover, size))
        return
    click.echo(
        f"{built.turns:.0f} turns, {built.length_m:.1f} m as laid, "
        f"{built.diameter_mm:.0f} x {built.width_mm:.0f} mm on the mandrel."
    )
    click.echo(cover.words)
    _print_turns(built)
    _print_size(size)
    for warning in built.warnings:
        click.echo(f"Note: {warning}")


def _print_turns(built: Build) -> None:
    last = built.turn_length_mm.size - 1
    chosen = sorted({round(share * last) for share in (0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0)})
    print_table(
        ["turn", "lays mm", "laid m", "diameter mm", "tilt °"],
        [
            [
                str(turn + 1),
                f"{built.turn_length_mm[turn]:.1f}",
                f"{built.cumulative_length_m[turn + 1]:.1f}",
                f"{built.diameter_of_turn_mm[turn]:.1f}",
                f"{built.tilt_of_turn_deg[turn]:.1f}",
            ]
            for turn in chosen
        ],
    )


def _print_size(size: BallShape) -> None:
    off, rest, flat = size.off_mandrel, size.relaxed, size.pressed
    rows = [
        (
            "off the mandrel",
            f"{_range(off.diameter_mm)} x {_range(off.width_mm)} mm, bore {_range(off.bore_mm)} mm",
        ),
        ("at rest", f"{_range(rest.diameter_mm)} x {_range(rest.width_mm)} mm"),
    ]
    if flat is not None:
        rows.append(
            (
                "pressed",
                f"{_range(flat.thickness_mm)} thick, {_range(flat.breadth_mm)} broad, "
                f"{_range(flat.length_mm)} long, mm",
            )
        )
    measured = "Size, from your measured balls:"
    stated = "Size, as a range; three balls measured, [[ball.measured]], make it a number:"
    print_rows(rows, title=measured if size.measured else stated)


def _range(found: Range) -> str:
    if found.central is not None:
        return f"{found.central:.0f} ({found.low:.0f} to {found.high:.0f})"
    return f"{found.low:.0f} to {found.high:.0f}"
