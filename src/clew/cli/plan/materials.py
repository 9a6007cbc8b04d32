"""`clew plan materials`: do the cones in stock suffice for the orders, and who gets which lot?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.orders.answer import Materials
    from clew.plan.orders.asked import OrderAsked

LARGEST_BYTES = 5_000_000


@click.command()
@click.argument(
    "orders_csv", metavar="[ORDERS.csv]", required=False, type=click.Path(path_type=Path)
)
@click.option("--sure", type=Quantity(FRACTION), help="How surely cones must suffice; the mill's.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the chance.")
@mill_folder
@as_json
def materials(
    orders_csv: Path | None, sure: float | None, seed: int, mill_folder: Path, as_json: bool
) -> None:
    """Allot the dye lots in stock to the orders, and say what is missing.

    ORDERS.csv has the columns order, customer, ball, colour, balls, due; if you like also dye_lots
    (one, case, any), priority, lines, ready. Left out, the orders of the mill file are taken. The
    exit code is 1 when an order cannot be met.
    """
    from clew.plan.orders.materials import materials_for
    from clew.plan.orders.plain import plain_materials

    mill = checked_mill(mill_folder)
    found = materials_for(mill, orders_from(mill, orders_csv), sure_frac=sure, seed=seed)
    if as_json:
        print_json(plain_materials(found))
    else:
        _print(found)
    if not found.met:
        raise SystemExit(1)


def orders_from(mill: Mill, path: Path | None) -> tuple[OrderAsked, ...]:
    """Read orders off a CSV file, or off the mill file where none is named; raises `BadInput`."""
    from clew.plan.orders.asked import orders_of_mill
    from clew.plan.orders.reading import orders_from_csv

    if path is None:
        orders = orders_of_mill(mill)
        if not orders:
            raise BadInput(Fault("no orders in the mill file", "[[order]] in it, or ORDERS.csv"))
        return orders
    file = str(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            most = f"at most {LARGEST_BYTES // 1_000_000} MB"
            raise BadInput(Fault("too large a file", most, file))
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            Fault("not UTF-8 text", "CSV in UTF-8", file, value=f"byte {error.start}")
        ) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or "not a name"
        raise BadInput(Fault("cannot be read", "a CSV file", file, value=reason)) from None
    return orders_from_csv(text, mill, file=file)


def _print(found: Materials) -> None:
    from clew.plan.orders.words import ask_words, chance_words, doubt_words, head_words, unmet_words

    click.echo(head_words(found))
    for order in found.orders:
        if not order.met:
            for line in unmet_words(order):
                click.echo(line)
    click.echo()
    print_table(
        ("order", "ball", "colour", "balls", "due", "dye lots", "mean", "fetch", "chance"),
        (
            (
                order.asked.number, order.asked.ball_name, order.asked.colour_name,
                str(order.asked.balls), f"{order.asked.due:%d %b}",
                ", ".join(f"{lot.lot_name}: {lot.cones}" for lot in order.lots) or "not met",
                str(order.cones_mean), str(order.cones_sure), chance_words(order),
            )
            for order in found.orders
        ),
    )  # fmt: skip
    click.echo("Mean, fetch: cones on average, and those that suffice at the chance beside them.")
    click.echo()
    print_table(
        ("dye lot", "yarn", "colour", "stock", "wanted", "left", "stock suffices"),
        (
            (
                lot.lot_name, lot.yarn_name, lot.colour_name, str(lot.stock_cones),
                str(lot.wanted_cones), str(lot.left_cones),
                f"{100.0 * min(lot.p_suffices, 0.999):.3g} %" if lot.wanted_cones else "-",
            )
            for lot in found.lots
        ),
    )  # fmt: skip
    if found.asks:
        click.echo("\nAsk the dyehouse for")
        for ask in found.asks:
            click.echo(f"  {ask_words(ask)}")
    click.echo()
    for words in (*found.shade_notes, doubt_words(found)):
        if words:
            click.echo(words)
    click.echo(
        f"Whole cones for each run; shifts simulated and lots allotted with seed {found.seed}"
        + ("." if found.proven else "; a better allotment may be there.")
    )
