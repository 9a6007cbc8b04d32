"""`clew run start`: start a run from its run card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, ball_argument, mill_folder, options_named
from clew.cli.output import print_json, print_table
from clew.cli.run.recording import RUN_OPTIONS, by_and_at, open_line

if TYPE_CHECKING:
    from clew.ledger.runs.start import Started


@click.command()
@ball_argument
@click.option("--lot", "lot_name", required=True, help="Its dye lot.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@by_and_at
@click.option("--trial", is_flag=True, help="Its balls are not for sale.")
@click.option("--order", "order", default="", help="Order it is made for.")
@click.option("--note", default="", help="What else is worth knowing.")
@mill_folder
@as_json
def start(
    ball_name: str,
    lot_name: str,
    line_name: str,
    author: str,
    at: str,
    trial: bool,
    order: str,
    note: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Start a run of BALL from its run card.

    Turns, counter settings, target and call-out limits go into the ledger with the card's
    fingerprint.
    """
    from clew.cli.run.recording import SOURCE, new_key
    from clew.ledger.runs.start import StartQuestion, start_message
    from clew.ledger.store.reading import records_naming
    from clew.papers.fingerprint import inputs_fingerprint

    with open_line(mill_folder, line_name) as line:
        with options_named(RUN_OPTIONS):
            question = StartQuestion(
                ball_name, lot_name, line.line.name, line.moment(at), author, SOURCE, new_key(),
                card=inputs_fingerprint(line.mill, ball_name, lot_name, line.line.name),
                trial=trial, order=order, note=note,
            )  # fmt: skip
            started = start_message(
                line.mill, question, line.running,
                lambda name: bool(list(records_naming(line.ledger, "run", name))),
                last_run=line.live.catch_up().state.last_run,
            )  # fmt: skip
        seq = line.keep(started.message)
        zone = line.mill.mill.time_zone
    if as_json:
        print_json(_plain(started, seq))
    else:
        _tell(started, zone)


def _plain(started: Started, seq: int) -> dict[str, Any]:
    from clew.ledger.events.moments import show_utc

    message = started.message
    return {
        "run": message.run, "line": message.line, "lot": message.lot, "seq": seq,
        "at": show_utc(message.at_us), "by": message.author, **message.body,
    }  # fmt: skip


def _tell(started: Started, zone: str) -> None:
    from clew.ledger.events.moments import show_local

    message, card, body = started.message, started.card, started.message.body
    what = f"{card.ball_name} of {card.colour_name} {message.lot}"
    trial = ", a trial: its balls are not for sale" if body.get("trial") else ""
    at = show_local(message.at_us, zone, seconds=False)
    click.echo(f"{message.run} is started on {message.line}: {what}, {at}{trial}.")
    click.echo(
        f"Aim at {body['target_g']:.1f} g; call the lead below {body['call_low_g']:.1f} g or above "
        f"{body['call_high_g']:.1f} g. Card {body['card']}."
    )
    print_table(
        ("winder", "lane", "set", "counts"),
        [
            (str(one.winder), str(one.lane), str(one.counts), one.counter_words)
            for one in card.settings
        ],
    )
