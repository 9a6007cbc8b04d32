"""`clew ship note`: ship pallets and cases, with delivery note and packing list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, mill_folder, options_named
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.shipping.consignment import Consignment
    from clew.ledger.shipping.note import Shipping
    from clew.mill.model import Mill


@click.command()
@click.option("--order", "number", default="", help="Order it is for.")
@click.option(
    "--orders", type=click.Path(path_type=Path), help="CSV file of orders; else mill.toml."
)
@click.option("--pallet", "pallets", multiple=True, help="A pallet that leaves, one each time.")
@click.option("--case", "cases", multiple=True, help="A case on no pallet, one each time.")
@click.option("--customer", default="", help="To whom: checked against the order.")
@click.option("--note", type=click.Path(path_type=Path), help="PDF of the delivery note.")
@click.option("--packing-list", type=click.Path(path_type=Path), help="PDF of the packing list.")
@click.option("--again", default="", metavar="DELIVERY", help="Only print its papers again.")
@click.option("--by", "author", default="", metavar="NAME", help="Who ships.")
@mill_folder
@as_json
def note(
    number: str,
    orders: Path | None,
    pallets: tuple[str, ...],
    cases: tuple[str, ...],
    customer: str,
    note: Path | None,
    packing_list: Path | None,
    again: str,
    author: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Ship pallets and cases for an order, and record that they left.

    Exit code 0: shipped; 1: they may not leave, and nothing is recorded; 2: bad input.
    """
    from clew.cli.ledger.mill_ledger import opened
    from clew.cli.run.recording import new_key
    from clew.cli.ship.placing import SHIP_OPTIONS, SOURCE, order_asked, record_with_papers
    from clew.ledger.shipping.consignment import consignment_kept
    from clew.ledger.shipping.note import ShipQuestion, ship

    with opened(mill_folder) as (mill, ledger):
        order = order_asked(mill, number, orders)
        if again:
            asked_balls = order.balls if order else None
            found = consignment_kept(ledger, mill, again.strip(), asked_balls=asked_balls)
            for path, content in _papers(mill, found, note, packing_list):
                write_whole(path, content)
            _tell(found, (), note, packing_list, already=True, as_json=as_json)
            return
        if order is None:
            raise BadInput(Fault("no order is named", "the order it is for", key="--order"))
        asked = ShipQuestion(
            order, (*pallets, *cases), ledger.clock(), author, SOURCE, new_key(), customer
        )

        def print_papers(made: Shipping, papers: Any) -> None:
            if made.consignment is not None:
                for path, content in _papers(mill, made.consignment, note, packing_list):
                    papers.write(path, content)

        with options_named(SHIP_OPTIONS):
            shipping, taken = record_with_papers(
                ledger, lambda: ship(ledger, mill, asked), lambda made: made.messages,
                print_papers, lambda _made: "the same command prints it again",
            )  # fmt: skip
    if shipping.consignment is None:
        if as_json:
            print_json({"shipped": False, "order": order.number, "reasons": list(shipping.reasons)})
        else:
            click.echo(f"Not shipped for order {order.number}; nothing is recorded:")
            for words in shipping.reasons:
                click.echo(f"  {words}")
        raise SystemExit(1)
    _tell(
        shipping.consignment, tuple(one.seq for one in taken), note, packing_list,
        already=shipping.already, as_json=as_json,
    )  # fmt: skip


def _papers(
    mill: Mill, found: Consignment, note: Path | None, packing_list: Path | None
) -> list[tuple[Path, bytes]]:
    from clew.papers.delivery_note_content import delivery_note_content
    from clew.papers.packing_list_content import packing_list_content
    from clew.papers.printing import made_now, pdf_of

    made = made_now(mill.mill.time_zone)
    papers = []
    if note is not None:
        papers.append((note, pdf_of(delivery_note_content(mill, found), made=made)))
    if packing_list is not None:
        content = packing_list_content(mill, found)
        papers.append((packing_list, pdf_of(content, made=made)))
    return papers


def _tell(
    found: Consignment,
    seqs: tuple[int, ...],
    note: Path | None,
    packing_list: Path | None,
    *,
    already: bool,
    as_json: bool,
) -> None:
    from clew.ledger.events.moments import show_utc
    from clew.ledger.shipping.case import lots_in
    from clew.papers.packing_list_content import packages_words

    wrote = [one for one in (note, packing_list) if one is not None]
    if as_json:
        print_json(
            {"shipped": True, "already": already, "delivery": found.delivery,
             "order": found.order, "customer": found.customer, "by": found.author,
             "at": show_utc(found.at_us), "seqs": list(seqs),
             "packages": [one.package for one in found.parcels],
             "cases": [one.package for one in found.cases],
             "lots": list(lots_in(found.cases)), "balls": found.balls,
             "before_balls": found.before_balls, "asked_balls": found.asked_balls,
             "certificates": [
                 {"lot": lot, "sha256": digits} for lot, digits in found.certificates
             ],
             "anchors": list(found.anchors),
             "wrote": [str(one) for one in wrote]}
        )  # fmt: skip
        return
    said = "has left already; nothing new is recorded" if already else "has left"
    click.echo(f"Delivery {found.delivery} {said}: {packages_words(found)} to {found.customer}.")
    click.echo(f"Order {found.order}: {found.count_words}")
    for path in wrote:
        click.echo(f"wrote {path}")
