"""`clew line sweep`: a line's shift at every point of a grid of settings."""

from __future__ import annotations

import csv
import functools
import io
import itertools
import math
from collections.abc import Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.line.layout_terms import chance_options, layout_options, placed
from clew.cli.line.sweep_progress import sweep_progress
from clew.cli.line.sweep_terms import OVER, axes_of, layouts_over, spared
from clew.cli.line.sweep_words import Swept, tell
from clew.cli.options import as_json
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.campaign.sweep import Progress
    from clew.line.layout import Layout
    from clew.line.simulate.point import ShiftPoint

_KEYS = {"workers": "--cores", "cluster": "--cluster"}
_INSIDE = "first_balls_by_group"


@click.command()
@layout_options
@click.option(
    OVER,
    "over",
    multiple=True,
    required=True,
    metavar="NAME=VALUES",
    help='An axis: an option above and its values, "hands=1..4", "buffer=300 m..1200 m/10" (ten '
    'values evenly), "feed=280 m/min, 300 m/min". Up to three times.',
)
@chance_options(100)
@click.option("--cores", type=click.IntRange(1, 256), default=None, help="Cores; all left out.")
@click.option("--cluster", default=None, help="A dask scheduler whose workers do it: tcp://...")
@click.option(
    "--keep",
    type=click.Path(path_type=Path),
    default=None,
    help="File of finished points; the same command goes on with it.",
)
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(path_type=Path),
    default=None,
    help="File for all numbers, a point a row.",
)
@as_json
def sweep(
    layout: Layout,
    title: str,
    over: tuple[str, ...],
    replications: int,
    seed: int,
    cores: int | None,
    cluster: str | None,
    keep: Path | None,
    csv_file: Path | None,
    as_json: bool,
) -> None:
    """A line's shift at every point of a grid: the best, and what is nearly as good with less.

    Every point meets the same shifts, so that small differences can be told, and the results are
    the same on any number of cores or workers. Ctrl-C stops (exit code 130); with --keep the same
    command goes on.
    """
    from clew.line.simulate.point import standing
    from clew.line.simulate.shifts import checked_chance

    axes = axes_of(over, click.get_current_context().params)
    settings = tuple(itertools.product(*(axis.values for axis in axes)))
    layouts = layouts_over(layout, axes)
    if keep is not None and csv_file is not None and keep.resolve() == csv_file.resolve():
        raise BadInput(Fault("the file of --keep", "another file", key="--csv", value=str(keep)))
    try:
        checked_chance(seed, replications)
        points = _run(layouts, replications, seed, cores, cluster, keep)
    except BadInput as bad:
        faults = [replace(one, key=_KEYS.get(one.key, one.key)) for one in bad.faults]
        raise BadInput([placed(one) for one in faults]) from None
    order = sorted(range(len(points)), key=lambda number: spared(axes, settings[number]))
    stand = standing(points, replications, order)
    swept = Swept(axes, settings, points, stand, replications, seed)
    if csv_file is not None:
        write_whole(csv_file, _csv(swept))
    if as_json:
        print_json(_plain(swept, layout))
    else:
        tell(swept, layout, title)


def _run(
    layouts: Sequence[Layout],
    replications: int,
    seed: int,
    cores: int | None,
    cluster: str | None,
    keep: Path | None,
) -> tuple[ShiftPoint, ...]:
    from clew.campaign.checkpoint import Checkpoint
    from clew.campaign.sweep import sweep as over_grid
    from clew.line.simulate.point import ShiftPoint, point_of

    with sweep_progress("points") as shown:
        return over_grid(
            functools.partial(point_of, replications=replications, seed=seed),
            layouts,
            workers=cores,
            cluster=cluster,
            checkpoint=None if keep is None else Checkpoint.of(ShiftPoint, keep, seed=seed),
            progress=_telling_kept(shown, keep),
        )


def _telling_kept(shown: Progress | None, keep: Path | None) -> Progress:
    """Say at the start how many points a file holds already; then only show the progress."""
    started = False

    def told(done: int, total: int) -> None:
        nonlocal started
        if not started and done:
            click.echo(f"clew: {done} of {total} points were kept in {keep}", err=True)
        started = True
        if shown is not None:
            shown(done, total)

    return told


def _numbers(point: ShiftPoint) -> dict[str, float | None]:
    """Name a point's numbers, None for what is not known."""
    found = {one.name: getattr(point, one.name) for one in fields(point) if one.name != _INSIDE}
    return {name: None if math.isnan(value) else value for name, value in found.items()}


def _csv(swept: Swept) -> bytes:
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    names = list(_numbers(swept.points[0]))
    rows.writerow([*(axis.key for axis in swept.axes), *names, "replications", "seed"])
    for values, point in zip(swept.settings, swept.points, strict=True):
        numbers = ("" if one is None else one for one in _numbers(point).values())
        rows.writerow([*values, *numbers, swept.replications, swept.seed])
    return text.getvalue().encode("utf-8")


def _plain(swept: Swept, layout: Layout) -> dict[str, Any]:
    from clew.line.simulate.plain import interval
    from clew.line.simulate.point import WITHIN_FRAC

    stand = swept.stand
    known = swept.replications > 1
    return {
        "axes": [
            {
                "axis": axis.name,
                "key": axis.key,
                "of_strand_after_steam": axis.after_steam,
                "values": list(axis.values),
            }
            for axis in swept.axes
        ],
        "points": [
            {axis.key: value for axis, value in zip(swept.axes, values, strict=True)}
            | _numbers(point)
            | {
                "first_balls_less_than_best_mean": stand.less[number].mean,
                "first_balls_less_than_best_interval": interval(stand.less[number]),
                "told_from_best": number != stand.best and number not in stand.not_told,
                "surely_within": number in stand.within if known else None,
            }
            for number, (values, point) in enumerate(zip(swept.settings, swept.points, strict=True))
        ],
        "best_point": stand.best,
        "sparing_point": swept.sparing,
        "within_frac": WITHIN_FRAC,
        "shift_s": layout.shift_s,
        "replications": swept.replications,
        "seed": swept.seed,
    }
