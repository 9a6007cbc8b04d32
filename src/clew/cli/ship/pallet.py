"""`clew ship pallet`: close a pallet, record it, print its label."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, mill_folder, options_named
from clew.cli.output import print_json, write_whole

if TYPE_CHECKING:
    from clew.ledger.shipping.pallet import PalletClosing
    from clew.ledger.store.ledger import Ledger
    from clew.mill.model import Mill
    from clew.plan.orders.asked import OrderAsked


@click.command()
@click.option(
    "--case", "cases", multiple=True, help="A case on it, by name or SSCC, one each time."
)
@click.option("--order", "number", default="", help="Order it is stacked for.")
@click.option(
    "--orders", type=click.Path(path_type=Path), help="CSV file of orders; else mill.toml."
)
@click.option("--name", "package", default="", help="A name of its own; else the next SSCC.")
@click.option(
    "--anew", default="", metavar="WHY", help="Take cases off another pallet that is here."
)
@click.option("--label", type=click.Path(path_type=Path), help="PDF to print its label to.")
@click.option("--again", default="", metavar="PALLET", help="Only print this pallet's label again.")
@click.option("--by", "author", default="", metavar="NAME", help="Who closes it.")
@mill_folder
@as_json
def pallet(
    cases: tuple[str, ...],
    number: str,
    orders: Path | None,
    package: str,
    anew: str,
    label: Path | None,
    again: str,
    author: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Close a pallet of closed cases: it gets the next SSCC, a record, and a label.

    Without an order it holds one ball of one dye lot; with one, what the order's rule lets stand
    together.
    """
    from clew.cli.ledger.mill_ledger import opened
    from clew.cli.run.recording import new_key
    from clew.cli.ship.placing import SHIP_OPTIONS, SOURCE, order_asked, record_with_papers
    from clew.ledger.events.moments import show_utc
    from clew.ledger.shipping.case import lots_in
    from clew.ledger.shipping.pallet import PalletQuestion, close_pallet
    from clew.papers.labels.of_record import closed_pallet_pdf

    with opened(mill_folder) as (mill, ledger):
        order = order_asked(mill, number, orders)
        if again:
            _print_again(mill, ledger, again, order, label, as_json=as_json)
            return
        asked = PalletQuestion(
            cases, ledger.clock(), author, SOURCE, new_key(), order, package, anew
        )

        def print_label(made: PalletClosing, papers: Any) -> None:
            if label is not None:
                papers.write(
                    label, closed_pallet_pdf(mill, made.message.package, made.cases, order)
                )

        with options_named(SHIP_OPTIONS):
            closing, (taken,) = record_with_papers(
                ledger, lambda: close_pallet(ledger, mill, asked), lambda made: [made.message],
                print_label,
                lambda made: (
                    f"clew ship pallet --again {made.message.package} prints it"
                ),
            )  # fmt: skip
    name, balls = closing.message.package, sum(one.balls for one in closing.cases)
    lots = list(lots_in(closing.cases))
    if as_json:
        print_json(
            {"package": name, "seq": taken.seq, "at": show_utc(closing.message.at_us),
             "by": closing.message.author, "cases": [one.package for one in closing.cases],
             "balls": balls, "lots": lots, "gross_mass_g": closing.gross_mass_g,
             "mind": list(closing.mind), "label": str(label) if label else ""}
        )  # fmt: skip
        return
    mass = "" if closing.gross_mass_g is None else f", {closing.gross_mass_g / 1000:.1f} kg"
    what = "1 case" if len(closing.cases) == 1 else f"{len(closing.cases)} cases"
    click.echo(f"Pallet {name} is closed: {what}, {balls} balls of {', '.join(lots)}{mass}.")
    for words in closing.mind:
        click.echo(f"Mind: {words}.")
    if label is not None:
        click.echo(f"wrote {label}")


def _print_again(
    mill: Mill, ledger: Ledger, again: str, order: OrderAsked | None, label: Path | None, *,
    as_json: bool,
) -> None:  # fmt: skip
    from clew.faults import BadInput, Fault
    from clew.ledger.shipping.case import cases_on
    from clew.ledger.shipping.names import package_said
    from clew.ledger.shipping.packed import pallet_kept
    from clew.ledger.trace.records import KeptInLedger
    from clew.papers.labels.of_record import closed_pallet_pdf

    if label is None:
        raise BadInput(Fault("nowhere to print it", "--label FILE.pdf", key="--again"))
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        found = pallet_kept(kept, package_said(again))
        if found is None:
            raise BadInput(Fault("no such pallet was closed", "one that was told", key="--again",
                                 value=again))  # fmt: skip
        cases = cases_on(kept, found.package, "--again")
    write_whole(label, closed_pallet_pdf(mill, found.package, cases, order))
    if as_json:
        print_json({"package": found.package, "label": str(label)})
        return
    click.echo(f"Pallet {found.package}: {len(cases)} cases.")
    click.echo(f"wrote {label}")
