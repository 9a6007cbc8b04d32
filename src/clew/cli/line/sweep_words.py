"""A sweep over a line in words and tables: the best point, and what is nearly as good with less."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from clew.cli.line.sweep_terms import SweptAxis, at_words, spared
from clew.cli.output import print_table

if TYPE_CHECKING:
    from clew.line.layout import Layout
    from clew.line.simulate.point import ShiftPoint, Standing

_BEST, _SAME, _WITHIN = "*", "=", "+"


@dataclass(frozen=True, slots=True)
class Swept:
    """A finished sweep.

    Attributes
    ----------
    axes : tuple of SweptAxis
        What was swept.
    settings : tuple of tuple
        Values at each point, one an axis, the last axis changing fastest.
    points : tuple of ShiftPoint
        What came out there.
    stand : Standing
        How they stand to the best.
    replications, seed : int
        Shifts of each point, and from what.
    """

    axes: tuple[SweptAxis, ...]
    settings: tuple[tuple[int | float, ...], ...]
    points: tuple[ShiftPoint, ...]
    stand: Standing
    replications: int
    seed: int

    @property
    def sparing(self) -> int | None:
        """Number of the point that spares most of those surely within 1 % of the best.

        Of several that spare as much, the one with the most first-quality balls; None where
        nothing that can be spared was swept, or one shift tells nothing.
        """
        if self.replications == 1 or not self.spared(self.stand.best):
            return None
        return min(
            self.stand.within,
            key=lambda number: (self.spared(number), -self.points[number].first_balls_mean),
        )

    def spared(self, number: int) -> tuple[int | float, ...]:
        """Give what a point takes of hands, feed, buffer and so on; less is better."""
        return spared(self.axes, self.settings[number])

    def at(self, number: int) -> str:
        """Name a point."""
        return at_words(self.axes, self.settings[number])


def tell(swept: Swept, layout: Layout, title: str) -> None:
    """Print a sweep for people: words first, then a table, or a grid for two axes.

    Parameters
    ----------
    swept : Swept
        The sweep.
    layout : Layout
        The line that it was over.
    title : str
        What the line is called.
    """
    taken = {axis.name for axis in swept.axes}
    fixed = [
        f"{count} {words}"
        for words, count in (("lanes", layout.lanes), ("hands", layout.hands))
        if words not in taken
    ]
    click.echo(f"{title}: {', '.join([*fixed, f'a shift of {layout.shift_s / 3600.0:g} h'])}.")
    for line in _words(swept):
        click.echo(line)
    click.echo("")
    if len(swept.axes) == 1:
        _table(swept)
    else:
        _grids(swept)
    click.echo(
        f"{_count(swept.replications, 'shift')} a point, seed {swept.seed}: every point meets the "
        "same shifts."
    )
    if swept.replications > 1:
        click.echo(
            "An interval of a point holds its true mean 95 times in 100; what is said of points "
            "against the best holds for all together 95 times in 100."
        )
    if any(axis.after_steam for axis in swept.axes):
        click.echo("Wind and buffer are metres after steam.")


def _words(swept: Swept) -> list[str]:
    from clew.line.simulate.words import percent

    stand = swept.stand
    best = swept.points[stand.best]
    wait = best.doff_wait_p95_s
    doffs = "" if math.isnan(wait) else f" 19 of 20 doffs begin within {wait:.0f} s."
    rests = ""
    if best.winder_resting_share >= 1e-4:
        rests = f" and while every hand rests {percent(best.winder_resting_share)}"
    found = [
        f"Most first-quality balls of {len(swept.points)} points: {swept.at(stand.best)}: "
        f"{_first(best)} a shift.",
        f"There the feed stands {percent(best.feed_stop_share)} of the time, the winders wait for "
        f"a doff {percent(best.winder_waiting_share)}{rests}, the hands are busy "
        f"{percent(best.hand_busy_frac)}.{doffs}",
    ]
    if len(swept.points) == 1:
        return found
    if swept.replications == 1:
        return [*found, "One shift shows no spread: nothing can be told apart."]
    if stand.not_told:
        others = _count(len(stand.not_told), "other point")
        found.append(f"These shifts cannot tell {others} from it ({_SAME}).")
    chosen = swept.sparing
    if chosen is not None:
        found.append(_sparing_words(swept, chosen))
    return [*found, *_edge_words(swept)]


def _sparing_words(swept: Swept, chosen: int) -> str:
    stand = swept.stand
    if chosen == stand.best:
        said = "No point that spares more is surely within 1 % of it."
    else:
        less = stand.less[chosen]
        said = (
            f"Surely within 1 % of it, and sparing most: {swept.at(chosen)}: "
            f"{_first(swept.points[chosen])}, less by {less.mean:.1f} ({less.low:.1f} to "
            f"{less.high:.1f})."
        )
    takes = swept.spared(chosen)
    perhaps = [number for number in stand.perhaps_within if swept.spared(number) < takes]
    if perhaps:
        least = min(perhaps, key=swept.spared)
        said += f" Perhaps also {swept.at(least)}: more shifts would tell."
    return said


def _edge_words(swept: Swept) -> list[str]:
    """Name the axes at whose end all the best points lie: beyond it may be better."""
    good = (swept.stand.best, *swept.stand.not_told)
    found = []
    for place, axis in enumerate(swept.axes):
        taken = {swept.settings[number][place] for number in good}
        low, high = min(axis.values), max(axis.values)
        if low < high and len(taken) == 1 and taken <= {low, high}:
            end = "less" if taken == {low} else "more"
            found.append(f"The best lies at the end of {axis.name}; {end} of it was not tried.")
    return found


def _first(point: ShiftPoint) -> str:
    from clew.line.simulate.answer import Estimate
    from clew.line.simulate.words import said

    nothing = float("nan")
    return said(
        Estimate(point.first_balls_mean, point.first_balls_low, point.first_balls_high, sd=nothing)
    )


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _mark(swept: Swept, number: int) -> str:
    if number == swept.stand.best:
        return _BEST
    if swept.replications == 1:
        return " "
    if number in swept.stand.not_told:
        return _SAME
    return _WITHIN if number in swept.stand.within else " "


def _table(swept: Swept) -> None:
    from clew.line.simulate.words import percent

    (axis,) = swept.axes
    words = {_BEST: "the best", _SAME: "as good", _WITHIN: "within 1 %", " ": ""}
    rows = []
    for number, ((value,), point) in enumerate(zip(swept.settings, swept.points, strict=True)):
        half = 0.5 * (point.first_balls_high - point.first_balls_low)
        doubt = "" if math.isnan(half) else f" ±{half:.1f}"
        wait = point.doff_wait_p95_s
        rows.append(
            [
                axis.shown(value),
                f"{point.first_balls_mean:.1f}{doubt}",
                f"{point.second_balls_mean:.1f}",
                percent(point.feed_stop_share),
                percent(point.winder_waiting_share),
                percent(point.hand_busy_frac),
                "-" if math.isnan(wait) else f"{wait:.0f} s",
                words[_mark(swept, number)],
            ]
        )
    print_table(
        (axis.name, "first-quality", "second", "feed stands", "waits", "busy", "doff in", ""), rows
    )
    click.echo(
        "Busy: of the hands' time, serving or walking. Waits: of the winders' time, waiting for a "
        "doff; waiting while every hand rests is apart.\n"
        "Feed stands: of its time. Doff in: 19 of 20 begin within it."
    )


def _grids(swept: Swept) -> None:
    """Print first-quality balls, the last axis across; one table for each value of a third."""
    *outer, down, across = swept.axes
    size = len(down.values) * len(across.values)
    for start in range(0, len(swept.points), size):
        if outer:
            click.echo(f"{at_words(outer, swept.settings[start][: len(outer)])}")
        _grid(swept, down, across, start)
    marks = f"First-quality balls a shift; {_BEST} the best"
    if swept.replications > 1:
        marks += f", {_SAME} not told from it, {_WITHIN} surely within 1 % of it"
    click.echo(f"{marks}.")


def _grid(swept: Swept, down: SweptAxis, across: SweptAxis, start: int) -> None:
    """Print one grid, from a point on; in several parts where it is too wide for the screen."""
    from rich.console import Console

    corner = f"{down.name} | {across.name}"
    labels = [down.shown(value) for value in down.values]
    heads = [f"{across.shown(value)}  " for value in across.values]
    width = len(heads)
    cells = [
        f"{swept.points[number].first_balls_mean:.0f} {_mark(swept, number)}"
        for number in range(start, start + width * len(labels))
    ]
    widest = max(len(one) for one in (*heads, *cells))
    room = Console().width - max(len(one) for one in (corner, *labels)) - 2
    at_once = max(room // (widest + 2), 1)
    for left in range(0, width, at_once):
        right = min(left + at_once, width)
        print_table(
            (corner, *heads[left:right]),
            [
                [label, *cells[row * width + left : row * width + right]]
                for row, label in enumerate(labels)
            ],
        )
        click.echo("")
