"""`clew demo`: one shift of the demo mill, from the order list to a ball that comes back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, checked_mill
from clew.cli.play.share import Share

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard
    from clew.mill.model import Mill

BALL, DYE_LOT = "Querl 100", "SL-207"
START = "2026-11-23 06:00"


@click.command()
@click.option(
    "--mill",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("demo-mill"),
    show_default=True,
    help="Folder for the demo mill; a mill or a played day that is there is kept.",
)
@click.option("--serve/--no-serve", default=False, help="Open the workbench afterwards.")
@click.option(
    "--live",
    is_flag=True,
    help="Open the workbench and let a line play a shift to it, until Ctrl-C.",
)
@click.option(
    "--hours",
    type=click.FloatRange(min=0.4, max=8.0),
    default=8.0,
    show_default=True,
    help="How much of the shift.",
)
@click.option(
    "--start",
    default=START,
    show_default=True,
    metavar="'YYYY-MM-DD HH:MM'",
    help="When the shift begins, by the mill's clock.",
)
@click.option(
    "--speed",
    type=click.FloatRange(min=1.0),
    default=600.0,
    show_default=True,
    help="With --live: how fast the shift's hours up to now are played; 1 begins a shift now.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0, max=1_000_000),
    default=7,
    show_default=True,
    help="Which shift.",
)
@click.option(
    "--unruly",
    "share",
    type=Share(),
    default="2%",
    show_default=True,
    help="With --live: share of messages late; as many doubled, out of order, lost.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8340,
    show_default=True,
    help="Port of the workbench; 0 for any.",
)
@as_json
def demo(
    folder: Path,
    serve: bool,
    live: bool,
    hours: float,
    start: str,
    speed: float,
    seed: int,
    share: float,
    port: int,
    as_json: bool,
) -> None:
    """Play one shift of the demo mill, from the order list to a ball that comes back.

    Ledger, papers and a report of one page lie in the folder afterwards. Stopped by Ctrl-C, the
    same command plays the day on; a day that was played to its end is told again, not played again.
    With --live nothing is played beforehand: a line plays to the open workbench.
    """
    from clew.cli.output import print_json
    from clew.mill import write_demo

    say = _say_nothing if as_json else click.echo
    if not (folder / "mill.toml").exists():
        write_demo(folder)
        say(f"The demo mill is in {folder}; every name and number in it is invented.\n")
    mill = checked_mill(folder)
    if live:
        from clew.cli.play.live import Play, play_live

        _first_card(folder, mill, say)
        say("")
        play_live(Play(folder, port, mill.ledger.watch, speed, seed, share), say)
        return
    others = _others_records(folder, mill) if serve else 0
    if others:
        say(f"The ledger in {folder} holds {others} records of something else, and no day is "
            "played over them; --mill names another folder.")  # fmt: skip
    else:
        found = _played(folder, mill, seed, start, hours, say)
        if as_json:
            print_json({"folder": str(folder), **found})
    if serve:
        from clew.web.serve import serve as open_workbench

        say("")
        open_workbench(folder, port=port)


def _say_nothing(_words: str) -> None:
    """Leave standard output to the JSON."""


def _others_records(folder: Path, mill: Mill) -> int:
    """Count the records that are there and of no played day."""
    from clew.cli.day.asked import read_mark
    from clew.cli.day.whole import records_there
    from clew.cli.ledger.mill_ledger import said_plainly

    with said_plainly():
        return 0 if read_mark(folder) else records_there(mill, folder)


def _first_card(folder: Path, mill: Mill, say: Callable[[str], None]) -> None:
    """Work out the first run card, write it, and say what it says."""
    from clew.ball.run_card import run_card_of
    from clew.cli.ball.cards import write_card

    card = run_card_of(mill, BALL, DYE_LOT)
    written = write_card(card, mill, folder / "cards", mill.mill.units)
    for line in summary(card):
        say(line)
    say(f"\nRun card: {written.pdf} and {written.html}")


def _played(
    folder: Path, mill: Mill, seed: int, start: str, hours: float, say: Callable[[str], None]
) -> dict[str, Any]:
    """Play a day, play it on, or read what came of the one that was played."""
    from clew.cli.day.asked import DayAsked, read_mark
    from clew.cli.day.progress import ctrl_c_between_steps, day_progress
    from clew.cli.day.whole import asked_of, play_day, report_lines, see_it_can_be_played
    from clew.cli.ledger.mill_ledger import said_plainly
    from clew.cli.line.sweep_progress import INTERRUPTED

    mark = read_mark(folder)
    if mark is not None and mark["done"]:
        say(f"A day is played in {folder} already (seed {mark['seed']}), and stays as it is; "
            "--mill names another folder for another one.\n")  # fmt: skip
        for line in report_lines(folder, mark):
            say(line)
        return mark
    asked = DayAsked(folder, seed, _moment(start, mill), hours)
    if mark is not None:
        asked = asked_of(folder, mark)
        say(f"The day of seed {asked.seed} that was stopped in {folder} is played on.\n")
    with said_plainly():
        see_it_can_be_played(mill, asked)
    _first_card(folder, mill, say)
    say("")
    try:
        with said_plainly(), day_progress() as shown, ctrl_c_between_steps(shown) as tell:
            found = play_day(asked, tell)
    except KeyboardInterrupt:
        click.echo(
            f"clew: stopped; what was kept is whole, and clew demo --mill {folder} plays it on",
            err=True,
        )
        raise click.exceptions.Exit(INTERRUPTED) from None
    for line in report_lines(folder, found):
        say(line)
    return {**asked.plain(), "done": True, **found}


def _moment(text: str, mill: Mill) -> datetime:
    """Read when the shift begins."""
    from zoneinfo import ZoneInfo

    from clew.faults import BadInput, Fault
    from clew.ledger.events.moments import read_moment, utc_of

    try:
        found = utc_of(read_moment(text, mill.mill.time_zone).at_us)
    except BadInput:
        raise BadInput(
            Fault("no moment", f"such as '{START}'", key="--start", value=repr(text)[:60])
        ) from None
    return found.astimezone(ZoneInfo(mill.mill.time_zone))


def summary(card: RunCard) -> list[str]:
    """Say in a few lines what a run card says."""
    from clew.papers.floor_numbers import percent
    from clew.quantities import show_count

    answer, strand = card.answer, card.terms.strand
    mass, length, call = answer.mass_g_interval, answer.length_m_interval, card.call_out_scale_g
    rest, doubt = card.shape.relaxed, answer.contributions[0]
    spun, steamed = show_count(strand.count_spun_tex), show_count(strand.count_tex)
    rows = (
        (
            "the yarn",
            f"{spun} on the cone, {steamed} when steamed; "
            f"fed {percent(card.belt.overfeed_frac)} faster than it leaves",
        ),
        ("set", f"{answer.turns} turns of the flyer; the declared {answer.binding} binds"),
        ("counters", ", ".join(f"winder {row.winder}: {row.counts}" for row in card.settings)),
        (
            "one ball",
            f"{answer.mass_g:.1f} g, 95 of 100 {mass.low:.1f} to {mass.high:.1f} g; "
            f"{answer.length_m:.1f} m, {length.low:.1f} to {length.high:.1f} m",
        ),
        ("call the lead", f"when a ball is outside {call.low:.1f} to {call.high:.1f} g"),
        (
            "its size",
            f"{answer.build.diameter_mm:.0f} x {answer.build.width_mm:.0f} mm wound; at rest "
            f"{rest.diameter_mm.low:.0f} to {rest.diameter_mm.high:.0f} x "
            f"{rest.width_mm.low:.0f} to {rest.width_mm.high:.0f} mm",
        ),
        ("most doubt", f"{doubt.words} ({percent(doubt.mass_share)} of it)"),
    )
    head = f"{card.ball_name} from dye lot {card.lot_name} ({card.colour_name}), {card.line_name}"
    return [head, *(f"  {name:<15}{words}" for name, words in rows)]
