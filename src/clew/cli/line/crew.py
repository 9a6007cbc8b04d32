"""`clew line crew`: how many hands, and what else to change on a line."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

from clew.cli.line.layout_terms import chance_options, layout_options
from clew.cli.line.sweep_progress import sweep_progress
from clew.cli.options import Quantity, as_json, checked_mill, options_named
from clew.cli.output import print_json, print_table
from clew.quantities import FRACTION
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.improve.crew import CrewTable
    from clew.line.improve.feed_limits import FeedLimits
    from clew.line.improve.money import ShiftPrices
    from clew.line.improve.one_hand_lanes import OneHand
    from clew.line.improve.ranking import Ranking
    from clew.line.improve.targets import Target
    from clew.line.layout import Layout

_KEYS = {"wanted": "--wanted", "most_hands": "--most-hands", "may_lose_frac": "--may-lose"}


@click.command()
@layout_options
@chance_options(200)
@click.option("--cores", type=click.IntRange(1, 256), default=None, help="Cores; all left out.")
@click.option(
    "--most-hands",
    type=click.IntRange(1, 16),
    default=None,
    help="Largest crew tried; a hand a lane, or one more than there are, left out.",
)
@click.option(
    "--may-lose",
    "may_lose_frac",
    type=Quantity(FRACTION),
    default="5 %",
    show_default=True,
    help="Share of output that one hand's lanes may lose.",
)
@click.option(
    "--wanted",
    type=click.FloatRange(0.0, min_open=True),
    default=None,
    help="Balls wanted of a shift: the feed speed and the buffer that give them.",
)
@click.option("--first-quality", is_flag=True, help="Of --wanted, count first-quality balls only.")
@click.option("--no-changes", is_flag=True, help="Leave out what else to change.")
@as_json
def crew(
    layout: Layout,
    title: str,
    replications: int,
    seed: int,
    cores: int | None,
    most_hands: int | None,
    may_lose_frac: float,
    wanted: float | None,
    first_quality: bool,
    no_changes: bool,
    as_json: bool,
) -> None:
    """The crew for least cost per ball, the lanes one hand can serve, and what else to change.

    Crews, improvements and settings all meet the same shifts, so that small differences can be
    told. Money needs the ball's price in the mill file. Exit code 1: neither a feed speed nor a
    buffer gives the balls wanted.
    """
    from clew.line.improve.crew import crew_table
    from clew.line.improve.one_hand_lanes import lanes_of_one_hand
    from clew.line.improve.plain import plain_crew, plain_one_hand, plain_ranking, plain_target
    from clew.line.improve.ranking import what_to_change
    from clew.line.improve.targets import buffer_for, feed_for

    prices, limits = _asked()
    drawn: dict[str, Any] = {"replications": replications, "seed": seed, "cores": cores}
    with options_named(_KEYS):
        with sweep_progress("crews") as progress:
            table = crew_table(layout, prices, most_hands=most_hands, progress=progress, **drawn)
        with sweep_progress("lanes of one hand") as progress:
            one_hand = lanes_of_one_hand(
                layout, may_lose_frac=may_lose_frac, progress=progress, **drawn
            )
        targets: list[Target] = []
        if wanted is not None:
            for words, find in (("feed", feed_for), ("buffer", buffer_for)):
                with sweep_progress(words) as progress:
                    targets.append(
                        find(
                            layout,
                            wanted,
                            output="first_balls" if first_quality else "balls",
                            progress=progress,
                            **drawn,
                        )
                    )
        ranking = None
        if not no_changes:
            with sweep_progress("what to change") as progress:
                ranking = what_to_change(
                    layout,
                    prices,
                    progress=progress,
                    fastest_feed_m_per_s=limits.fastest_feed_m_per_s,
                    **drawn,
                )
    if as_json:
        print_json(
            plain_crew(table)
            | {
                "one_hand": plain_one_hand(one_hand),
                "targets": {
                    one.setting: plain_target(one, layout.shrink_frac, limits) for one in targets
                }
                or None,
                "what_to_change": None if ranking is None else plain_ranking(ranking),
            }
        )
    else:
        _tell(title, table, one_hand, targets, ranking, limits)
    sys.exit(1 if targets and all(one.at is None for one in targets) else 0)


def _asked() -> tuple[ShiftPrices | None, FeedLimits]:
    """Read prices and limits of the feed that go with the line that was asked for."""
    from clew.line.improve.feed_limits import feed_limits_of
    from clew.line.improve.money import shift_prices_of

    asked = click.get_current_context().params
    mill, ball_name = checked_mill(asked["mill_folder"]), asked["ball_name"]
    limits = feed_limits_of(mill, asked["line_name"], ball_name, asked["lot_name"])
    return shift_prices_of(mill, ball_name), limits


def _tell(
    title: str,
    table: CrewTable,
    one_hand: OneHand,
    targets: Iterable[Target],
    ranking: Ranking | None,
    limits: FeedLimits,
) -> None:
    from clew.line.improve.feed_limits import feed_cautions
    from clew.line.improve.money import COUNTED, NOT_COUNTED
    from clew.line.improve.words import crew_words, one_hand_words, target_words

    layout = table.layout
    click.echo(
        f"{title}: {layout.lanes} lanes, {layout.hands} hands now, a shift of "
        f"{layout.shift_s / 3600.0:g} h."
    )
    for line in crew_words(table):
        click.echo(line)
    click.echo("")
    _crew_rows(table)
    click.echo("")
    for line in one_hand_words(one_hand):
        click.echo(line)
    told: tuple[str, ...] = ()
    for target in targets:
        click.echo("")
        for line in target_words(target, layout.shrink_frac):
            click.echo(line)
        if target.setting == "feed":
            feed = target.most_at if target.at is None else target.at
            told = feed_cautions(limits, feed, f"A feed of {number(60.0 * feed, 6)} m/min")
            for line in told:
                click.echo(line)
    if ranking is not None:
        click.echo("\nWhat to change")
        _tell_changes(ranking, limits, told)
    elif table.prices is not None:
        click.echo(f"\n{COUNTED}\n{NOT_COUNTED}")
    click.echo(f"\n{table.replications} shifts, seed {table.seed}.")


def _crew_rows(table: CrewTable) -> None:
    from clew.line.improve.words import place_value, plus_minus
    from clew.line.simulate.words import percent

    head = ["hands", "balls", "first-quality", "busy", "waits"]
    if table.prices is not None:
        head += ["spent a ball", "left over", "last hand adds"]
    rows = []
    for row in table.rows:
        cells = [
            str(row.hands),
            f"{row.balls.mean:.0f}",
            plus_minus(row.first_balls),
            percent(row.busy_frac.mean),
            percent(row.wait_frac.mean),
        ]
        if row.cost_per_ball is not None and row.money is not None:
            cells += [
                place_value(row.cost_per_ball.mean, 3),
                place_value(row.money.mean, 0),
                "" if row.more_money is None else plus_minus(row.more_money, signed=True),
            ]
        rows.append(cells)
    print_table(head, rows)
    click.echo(
        "Busy: of the hands' time, serving or walking. Waits: of the winders' time, waiting for a "
        "doff; waiting while every hand rests is apart."
    )


def _tell_changes(ranking: Ranking, limits: FeedLimits, told: tuple[str, ...]) -> None:
    from clew.line.improve.feed_limits import feed_cautions
    from clew.line.improve.words import NOTHING, plus_minus, ranking_words

    headline, *more = ranking_words(ranking)
    click.echo(headline)
    click.echo("")
    head = ["improvement", "first-quality balls", "balls"]
    if ranking.prices is not None:
        head.insert(1, f"{ranking.prices.currency} a shift")
    rows = []
    for one in ranking.worths:
        cells = [one.label, plus_minus(one.first_balls, signed=True), f"{one.balls.mean:+.0f}"]
        if one.money is not None:
            cells.insert(1, plus_minus(one.money, signed=True))
        if not one.told:
            cells[1] = NOTHING
        rows.append(cells)
    print_table(head, rows)
    click.echo("")
    for line in more:
        click.echo(line)
    for one in ranking.worths:
        if one.key == "faster_feed" and one.layout.feed_m_per_s > ranking.layout.feed_m_per_s:
            feed = one.layout.feed_m_per_s
            what = f"A feed of {number(60.0 * feed, 4)} m/min ({one.label})"
            for line in feed_cautions(limits, feed, what):
                if line not in told:
                    click.echo(line)
