"""`clew line where`: where every tie is, which ball it lands in, which balls to pull."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder, options_named
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, LENGTH
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.tracker.answer import LaneAnswer, WhereAnswer
    from clew.line.tracker.colours import ColourChange

OWN_FILE = "line_events.csv"
"""What is read from the mill's own folder where no file is named."""


_OPTIONS = {
    "at": "--at", "turns": "--turns", "sure": "--sure", "content_m": "--content",
    "content_sd_m": "--content-sd", "feed_cv": "--feed-slip", "seen_sd_m": "--seen-within",
}  # fmt: skip
"""The option that gives what a fault names."""


@click.command()
@mill_folder
@click.option("--line", "line_name", default="", help="A line of the mill file.")
@click.option("--ball", "ball_name", required=True, help="The ball that is wound.")
@click.option("--lot", "lot_name", default="", help="Its dye lot; the yarn as spun if not.")
@click.option(
    "--events",
    "events_file",
    type=click.Path(path_type=Path),
    default=None,
    help=f"What the line reported, CSV or .jsonl; {OWN_FILE} of the mill's folder if left out.",
)
@click.option("--at", "at", default="", help="Time asked about, HH:MM:SS; the last event's if not.")
@click.option("--lane", type=click.IntRange(1), default=None, help="Only the ties of this lane.")
@click.option("--turns", type=click.IntRange(1), help="Flyer turns the winders are set to.")
@click.option(
    "--content",
    "content_m",
    type=Quantity(LENGTH),
    default=None,
    help="Strand in a lane at the log's start, before steam.",
)
@click.option(
    "--content-sd",
    "content_sd_m",
    type=Quantity(LENGTH),
    default=None,
    help="Its standard deviation.",
)
@click.option(
    "--feed-slip",
    "feed_cv",
    type=Quantity(FRACTION),
    default=None,
    help='Standard deviation of the feed\'s slip; "0.3 %" if not given.',
)
@click.option(
    "--seen-within",
    "seen_sd_m",
    type=Quantity(LENGTH),
    default=None,
    help='Standard deviation of where a hand sees a tie; "5 m" if not given.',
)
@click.option(
    "--sure", type=Quantity(FRACTION), default=0.95, help='Of balls to pull; "95 %" if not given.'
)
@as_json
def where(
    mill_folder: Path,
    line_name: str,
    ball_name: str,
    lot_name: str,
    events_file: Path | None,
    at: str,
    lane: int | None,
    turns: int | None,
    content_m: float | None,
    content_sd_m: float | None,
    feed_cv: float | None,
    seen_sd_m: float | None,
    sure: float,
    as_json: bool,
) -> None:
    """Where every tie is, which ball it lands in, and which balls to pull.

    Reads what the line reported: ties, feed, belt, turns and doffs. docs/line_where.md says how
    such a file looks.
    """
    from clew.cli.line.events_file import near, read_events
    from clew.line.tracker.answer import where_answer
    from clew.line.tracker.events import TIES, in_order
    from clew.line.tracker.from_mill import track_terms, with_content
    from clew.line.tracker.where_plain import plain_where
    from clew.mill.reading import mill_file

    mill = checked_mill(mill_folder)
    with options_named(_OPTIONS):
        terms, doubt, counters = track_terms(mill, line_name, ball_name, lot_name, turns)
        terms, doubt = with_content(terms, doubt, content_m, content_sd_m)
        given = {"feed_cv": feed_cv, "seen_sd_m": seen_sd_m}
        doubt = replace(doubt, **{key: value for key, value in given.items() if value is not None})
    events = read_events(events_file or mill_file(mill_folder).parent / OWN_FILE, counters)
    at_s = None
    if at:
        with options_named(_OPTIONS):
            at_s = near(_clock(at), max(one.at_s for one in events))
    if lane is not None and lane > terms.lanes:
        raise BadInput(Fault("no such lane", f"1 to {terms.lanes}", key="--lane", value=str(lane)))
    with options_named(_OPTIONS):
        found = where_answer(events, terms, doubt, at_s=at_s, sure=sure)
    if lane is not None:
        found = replace(
            found,
            ties=tuple(one for one in found.ties if one.lane == lane),
            lanes=tuple(one for one in found.lanes if one.lane == lane),
            told=sum(
                one.lane == lane and one.kind in TIES for one in in_order(events, found.now_s)
            ),
        )
    names = {
        "line": mill.find_line(line_name).name,
        "ball": mill.find_ball(ball_name).name,
        "lot": mill.find_dye_lot(lot_name)[1].lot if lot_name else None,
    }
    if as_json:
        print_json(names | plain_where(found))
    else:
        of = f"lot {names['lot']}" if lot_name else "yarn as spun"
        _tell(found, f"{names['line']}, {names['ball']}, {of}")


def _clock(text: str) -> float:
    from clew.cli.line.events_file import read_clock

    try:
        return read_clock(text)
    except BadInput as bad:
        raise BadInput(replace(bad.faults[0], key="at")) from None


def _tell(found: WhereAnswer, what: str) -> None:
    from clew.cli.line.events_file import show_clock
    from clew.line.tracker.answer import silence_words
    from clew.line.tracker.where_words import recent, tie_words, told_words

    silent = silence_words(found)
    if silent:
        click.echo(silent[0].upper() + silent[1:])
    click.echo(f"At {show_clock(found.now_s)}, {what}: {told_words(found)}.")
    for tie in recent(found):
        click.echo(tie_words(tie, show_clock, stale=found.stale))
    for change in found.changes:
        _tell_change(change, stale=found.stale)
    if found.lanes and not found.stale:
        click.echo("")
        print_table(
            (
                "lane", "winder", "ball on", "turns", "full in", "strand, before steam",
                "slip learned",
            ),
            [_lane_row(one) for one in found.lanes],
        )  # fmt: skip
    for note in found.notes:
        click.echo(f"Note: {note}")


def _tell_change(change: ColourChange, *, stale: bool) -> None:
    from clew.cli.line.events_file import show_clock
    from clew.line.tracker.where_words import ball_words, balls_named, change_words, minutes

    click.echo("")
    click.echo(change_words(change, stale=stale))
    pull = "perhaps" if stale else "pull"
    print_table(
        ("lane", "winder", "tied at", pull, "off in", "likeliest ball", "old + new colour"),
        [
            (
                str(one.lane),
                str(one.winder),
                show_clock(one.event.at_s),
                balls_named(one.landing.pull),
                "not known"
                if stale
                else "-"
                if one.off_s is None
                else "off"
                if one.off_s <= 0.0
                else minutes(one.off_s),
                str(one.landing.best.ball) if stale else ball_words(one.landing.best),
                f"{one.old_m:.0f} + {one.new_m:.0f} m",
            )
            for one in change.lanes
        ],
    )


def _lane_row(one: LaneAnswer) -> tuple[str, ...]:
    from clew.line.tracker.where_words import minutes

    spread = 1.96 * one.content_sd_m
    return (
        str(one.lane),
        str(one.winder),
        str(one.ball),
        f"{one.turns:.0f}",
        "stands" if one.doff_s is None else minutes(one.doff_s),
        f"{number(one.content_m, 3)} m ± {number(spread, 2)}",
        f"{100 * one.slip_frac:+.2f} % ± {196 * one.slip_sd_frac:.2f}".replace("-", "−"),
    )
