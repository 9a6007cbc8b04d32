"""`clew run end`: end the run in progress."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.options import as_json, mill_folder, options_named
from clew.cli.output import print_json
from clew.cli.run.recording import RUN_OPTIONS, by_and_at, open_line


@click.command()
@click.option("--why", required=True, help="Why, in a few words.")
@by_and_at
@click.option("--note", default="", help="What else is worth knowing.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@mill_folder
@as_json
def end(
    why: str,
    author: str,
    at: str,
    note: str,
    line_name: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """End the run in progress on a line."""
    from clew.cli.run.recording import SOURCE, new_key
    from clew.ledger.events.moments import show_local, show_utc
    from clew.ledger.runs.end import EndQuestion, end_message

    with open_line(mill_folder, line_name) as line:
        state = line.live.catch_up().state
        with options_named(RUN_OPTIONS):
            question = EndQuestion(line.moment(at), author, SOURCE, new_key(), why, note)
            message = end_message(line.line.name, question, state.run)
        seq = line.keep(message)
        zone = line.mill.mill.time_zone
    doffed = sum(one.doffed for one in state.lanes)
    pulled = sum(one.pulled for one in state.lanes)
    if as_json:
        print_json(
            {
                "run": message.run, "line": message.line, "seq": seq,
                "at": show_utc(message.at_us), "by": message.author, "doffed": doffed,
                "pulled": pulled, "open_case_balls": len(state.open_case), **message.body,
            }
        )  # fmt: skip
        return
    at_words = show_local(message.at_us, zone, seconds=False)
    click.echo(
        f"{message.run} on {message.line} has ended, {at_words}: {doffed} balls off, "
        f"{pulled} pulled."
    )
    if state.open_case:
        left = len(state.open_case)
        balls = "1 ball lies" if left == 1 else f"{left} balls lie"
        click.echo(f"{balls} in a case that is not closed.")
