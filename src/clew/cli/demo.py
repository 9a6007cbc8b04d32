"""`clew demo`: the main job, once through, on the demo mill."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.play.share import Share

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard

BALL, DYE_LOT = "Querl 100", "SL-207"


@click.command()
@click.option(
    "--mill",
    "folder",
    type=click.Path(path_type=Path),
    default=Path("demo-mill"),
    show_default=True,
    help="Folder for the demo mill; kept as it is when it is there.",
)
@click.option("--serve/--no-serve", default=False, help="Open the workbench afterwards.")
@click.option(
    "--live",
    is_flag=True,
    help="Open the workbench and let a line play a shift to it, until Ctrl-C.",
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
    type=click.IntRange(min=0),
    default=7,
    show_default=True,
    help="With --live: which shift.",
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
def demo(
    folder: Path, serve: bool, live: bool, speed: float, seed: int, share: float, port: int
) -> None:
    """Make the demo mill, work out a run card and say what came out."""
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.ball.run_card import run_card_of
    from clew.cli.ball.cards import write_card
    from clew.mill import read_mill, write_demo

    if not (folder / "mill.toml").exists():
        write_demo(folder)
        click.echo(f"The demo mill is in {folder}; every name and number in it is invented.\n")
    mill = read_mill(folder, MILL_CHECKS)
    card = run_card_of(mill, BALL, DYE_LOT)
    written = write_card(card, mill, folder / "cards", mill.mill.units)
    for line in summary(card):
        click.echo(line)
    click.echo(f"\nRun card: {written.pdf} and {written.html}")
    if live:
        from clew.cli.play.live import Play, play_live

        click.echo()
        play_live(Play(folder, port, mill.ledger.watch, speed, seed, share), click.echo)
    elif serve:
        from clew.web.serve import serve as open_workbench

        click.echo()
        open_workbench(folder, port=port)


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
