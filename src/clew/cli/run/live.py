"""`clew run live`: what the line does now, in words and a table."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json, print_table
from clew.cli.run.recording import open_line
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.state.answer import LaneNow, LiveAnswer

EVERY_S = 2.0
"""How often a line that is watched is looked at [s]."""


@click.command()
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--watch", is_flag=True, help="Go on until Ctrl-C.")
@click.option("--at", "at", default="", help="How it stood then: 05:41, or with its day; or now.")
@mill_folder
@as_json
def live(line_name: str, watch: bool, at: str, mill_folder: Path, as_json: bool) -> None:
    """Say what the line does now: alarms first, then its lanes and its ties."""
    from clew.ledger.state.live import live_answer
    from clew.ledger.state.live_plain import plain_live

    if watch and (at or as_json):
        other = "--at" if at else "--json"
        raise BadInput(Fault(f"not together with {other}", "one of them", key="--watch"))
    with open_line(mill_folder, line_name, make=False) as line:
        if at:
            found = live_answer(line.ledger, line.mill, line.line.name, line.moment(at))
        else:
            found = line.live.answer()
        if as_json:
            print_json(plain_live(found))
            return
        tell(found)
        while watch:
            try:
                time.sleep(EVERY_S)
                found = line.live.answer()
            except KeyboardInterrupt:
                return
            click.clear()
            tell(found)


def tell(found: LiveAnswer) -> None:
    """Print a live view."""
    from clew.ledger.events.moments import show_local

    click.echo(f"{show_local(found.now_us, found.zone)}, {found.mill}")
    for words in found.words:
        click.echo(words)
    if found.alarms:
        click.echo("")
        for one in found.alarms:
            mark = {1: "AT ONCE", 2: "soon", 3: "know"}[one.urgency]
            click.echo(f"{mark:<8}{one.words}: {one.todo}.")
    click.echo("")
    print_table(
        ("lane", "does", "cone", "left", "next tie, min", "ball", "counts", "joins", "last mean"),
        [_row(one) for one in found.lanes],
    )
    if found.ties:
        click.echo("")
        for tie in found.ties:
            click.echo(tie.words)
    for note in found.notes:
        click.echo(f"Note: {note}")
    if found.head_seq:
        from clew.ledger.audit.anchors import anchor_at

        stands = anchor_at(found.line, found.head_seq, bytes.fromhex(found.head_hash))
        click.echo(f"The record stands at {stands.text()}")


def _row(one: LaneNow) -> tuple[str, ...]:
    from clew.ledger.state.live_words import to_tie_words

    counts = "-" if one.counts is None else f"{one.counts:g}"
    if one.counts_set is not None:
        counts += f" of {one.counts_set:g}"
    joins = "-" if one.joins is None else f"{one.joins} of {one.joins_limit}"
    mean = "-" if one.mean_g is None else f"{one.mean_g:.1f} g"
    if one.off_target_g is not None:
        mean += f" ({one.off_target_g:+.1f})".replace("-", "−")
    return (
        str(one.lane),
        one.state_words,
        one.cone or "-",
        str(one.cones_left),
        to_tie_words(one).replace(" min", "") or "-",
        "-" if one.ball is None else str(one.ball),
        counts,
        joins,
        mean,
    )
