"""`clew ball card`: the run card as PDF and HTML."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.options import as_json, ball_argument, checked_mill, in_units, mill_folder
from clew.cli.output import print_json
from clew.quantities import UnitSystem


@click.command()
@ball_argument
@click.option("--dye-lot", default="", help="Dye lot on the creel; a card is for one.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option(
    "--belief", type=click.Path(path_type=Path), help="What first balls said, from their --save."
)
@mill_folder
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="Folder to write the card into."
)
@in_units
@as_json
def card(
    ball_name: str,
    dye_lot: str,
    line_name: str,
    belief: Path | None,
    mill_folder: Path,
    out: Path,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """Write the run card of BALL, as PDF and HTML."""
    from clew.ball.from_mill import lots_of
    from clew.ball.run_card import run_card_of
    from clew.cli.ball.cards import write_card
    from clew.faults import BadInput, Fault

    mill = checked_mill(mill_folder)
    if not dye_lot:
        ball = mill.find_ball(ball_name)
        raise BadInput(
            Fault(
                "a card without its dye lot",
                expected="one of " + ", ".join(lots_of(mill, ball)),
                key="--dye-lot",
            )
        )
    said = None
    if belief is not None:
        from clew.cli.ball.belief_file import read_belief

        said = read_belief(belief)
    found = run_card_of(mill, ball_name, dye_lot, line_name, said)
    written = write_card(found, mill, out, units or mill.mill.units)
    if as_json:
        answer = found.answer
        print_json(
            {
                "pdf": str(written.pdf),
                "html": str(written.html),
                "turns": answer.turns,
                "binding": answer.binding,
                "first_balls": found.first_balls,
                "winders": [{"winder": row.winder, "counts": row.counts} for row in found.settings],
            }
        )
        return
    if found.first_balls:
        counts = ", ".join(f"{row.winder}: {row.counts}" for row in found.settings)
        number = f"{found.first_balls} first ball{'s' if found.first_balls > 1 else ''}"
        click.echo(f"After {number}, counts by winder: {counts}.")
    did = "replaced" if written.replaced else "wrote"
    click.echo(f"{did} {written.pdf}\n{did} {written.html}")
