"""`clew line simulate`: a shift of a line, drawn many times over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from clew.cli.line.layout_terms import chance_options, layout_options
from clew.cli.line.sweep_progress import sweep_progress
from clew.cli.options import as_json
from clew.cli.output import print_json, print_table
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.layout import Layout
    from clew.line.simulate.answer import ShiftAnswer


@click.command()
@layout_options
@chance_options(200)
@click.option("--cores", type=click.IntRange(1, 256), default=None, help="Cores; all left out.")
@as_json
def simulate(
    layout: Layout, title: str, replications: int, seed: int, cores: int | None, as_json: bool
) -> None:
    """A shift of a line: balls, where every winder's second goes, hands, stops and ties.

    The line is a line of the mill file; options try other values on it. The same seed meets every
    line with the same cones, breaks and paces, and gives the same answer on any number of cores.
    """
    from clew.line.simulate.answer import shift_answer
    from clew.line.simulate.plain import plain_shift

    with sweep_progress("shifts") as progress:
        answer = shift_answer(
            layout, replications=replications, seed=seed, cores=cores, progress=progress
        )
    if as_json:
        print_json(plain_shift(answer))
    else:
        _tell(answer, title)


def _tell(answer: ShiftAnswer, title: str) -> None:
    from clew.line.simulate.words import (
        CAUSE_WORDS,
        FEED_WORDS,
        KIND_WORDS,
        percent,
        said,
        shift_words,
    )

    words = shift_words(answer)
    layout = answer.layout
    click.echo(
        f"{title}: {layout.lanes} lanes, {layout.hands} hands, a shift of "
        f"{layout.shift_s / 3600.0:g} h."
    )
    click.echo(words.headline)
    click.echo(words.holds_up)
    for line in (*words.to_do, "", *words.reasons, ""):
        click.echo(line)
    alone = answer.replications == 1
    print_table(
        ("winders", "of the time", "" if alone else "interval"),
        [
            (
                CAUSE_WORDS[cause],
                percent(one.mean, 3),
                ""
                if alone
                else f"{percent(max(one.low, 0.0), 3)} to {percent(min(one.high, 1.0), 3)}",
            )
            for cause, one in answer.winder_share.items()
            if one.mean > 0.0
        ],
    )
    click.echo("")
    print_table(
        ("feed stands", "of the time"),
        [(FEED_WORDS[cause], percent(one.mean)) for cause, one in answer.feed_share.items()],
    )
    click.echo("")
    print_table(
        ("a shift's calls", "mean"),
        [(KIND_WORDS[kind], f"{count:.1f}") for kind, count in answer.served.items() if count],
    )
    click.echo("")
    drawn = "1 shift" if alone else f"{answer.replications} shifts"
    sure = "" if alone else " Intervals hold the true mean 95 times in 100."
    click.echo(
        f"{drawn}, seed {answer.seed}.{sure} Strand is booked to the metre: the worst lane misses "
        f"{answer.books.missed_m:.1e} m."
    )
    waste = answer.measures["waste_m"]
    click.echo(f"Waste: {number(waste.mean) if alone else said(waste)} m a shift, before steam.")
    click.echo(words.caution)
