"""`clew ship case`: close a case, record it, print its label."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, mill_folder, options_named
from clew.cli.output import print_json, write_whole

if TYPE_CHECKING:
    from clew.ledger.shipping.case import CaseClosing, CaseQuestion
    from clew.ledger.shipping.packed import CaseKept
    from clew.ledger.store.ledger import Ledger
    from clew.mill.model import Mill
    from clew.plan.orders.asked import OrderAsked


@click.command()
@click.option("--lot", "lots", multiple=True, help="Dye lot of its balls.")
@click.option("--balls", type=int, default=0, help="Balls in it.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--run", default="", help="Run; the lot's last one when left out.")
@click.option("--ball", "ball_name", default="", help="Ball, where no run tells it.")
@click.option("--order", "number", default="", help="Order it is packed for.")
@click.option(
    "--orders", type=click.Path(path_type=Path), help="CSV file of orders; else mill.toml."
)
@click.option("--from", "first", default="", help="When its first ball was banded.")
@click.option("--upto", "last", default="", help="When its last ball was banded.")
@click.option("--token", "tokens", multiple=True, help="Token of a ball in it, one each time.")
@click.option("--name", "package", default="", help="A name of its own; else the next SSCC.")
@click.option(
    "--anyway", default="", metavar="WHY", help="Close it with more balls than were told."
)
@click.option("--label", type=click.Path(path_type=Path), help="PDF to print its label to.")
@click.option(
    "--again", default="", metavar="CASE", help="Only print the label of this case again."
)
@click.option("--by", "author", default="", metavar="NAME", help="Who closes it.")
@mill_folder
@as_json
def case(
    lots: tuple[str, ...],
    balls: int,
    line_name: str,
    run: str,
    ball_name: str,
    number: str,
    orders: Path | None,
    first: str,
    last: str,
    tokens: tuple[str, ...],
    package: str,
    anyway: str,
    label: Path | None,
    again: str,
    author: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Close a case: it gets the next SSCC, a record in the ledger, and a label.

    A case may be closed before its lot is released; it may not ship before.
    """
    from clew.cli.ledger.mill_ledger import opened
    from clew.cli.run.recording import new_key
    from clew.cli.ship.placing import SHIP_OPTIONS, SOURCE, order_asked, record_with_papers
    from clew.ledger.shipping.case import CaseQuestion, close_case
    from clew.papers.labels.of_record import closed_case_pdf

    with opened(mill_folder, make=not again) as (mill, ledger):
        order = order_asked(mill, number, orders)
        if again:
            _print_again(mill, ledger, again, order, label, as_json=as_json)
            return
        asked = CaseQuestion(
            lots, balls, ledger.clock(), author, SOURCE, new_key(), line_name, run, ball_name,
            first, last, tokens, order, package, anyway,
        )  # fmt: skip

        def print_label(made: CaseClosing, papers: Any) -> None:
            if label is not None:
                papers.write(label, closed_case_pdf(mill, _kept(made), order))

        with options_named(SHIP_OPTIONS):
            closing, (taken,) = record_with_papers(
                ledger, lambda: close_case(ledger, mill, asked), lambda made: [made.message],
                print_label,
                lambda made: f"clew ship case --again {made.message.package} prints it",
            )  # fmt: skip
    if as_json:
        print_json(_plain(closing, asked, taken.seq, label))
        return
    message = closing.message
    click.echo(
        f"Case {message.package} is closed on {message.line}: {message.body['balls']} "
        f"{message.body['ball_name']} of {', '.join(_kept(closing).all_lots)}."
    )
    left = closing.made.left - int(message.body["balls"])
    click.echo(f"{max(left, 0)} balls of it are left on {message.line}.")
    for words in closing.mind:
        click.echo(f"Mind: {words}.")
    if label is not None:
        click.echo(f"wrote {label}")


def _plain(
    closing: CaseClosing, asked: CaseQuestion, seq: int, label: Path | None
) -> dict[str, Any]:
    from clew.ledger.events.moments import show_utc

    message = closing.message
    return {
        "package": message.package, "line": message.line, "lot": message.lot, "run": message.run,
        "seq": seq, "at": show_utc(message.at_us), "by": message.author, **message.body,
        "order": asked.order.number if asked.order else "", "left_balls": max(
            closing.made.left - asked.balls, 0
        ),
        "mind": list(closing.mind), "label": str(label) if label else "",
    }  # fmt: skip


def _kept(closing: CaseClosing) -> CaseKept:
    from clew.ledger.shipping.packed import CaseKept

    message = closing.message
    return CaseKept(
        message.package, message.line, message.run, message.lot, str(message.body["ball_name"]),
        int(message.body["balls"]), str(message.body.get("gtin") or ""), message.at_us, 0,
        tuple(str(one) for one in message.body.get("lots") or ()),
    )  # fmt: skip


def _print_again(
    mill: Mill, ledger: Ledger, again: str, order: OrderAsked | None, label: Path | None, *,
    as_json: bool,
) -> None:  # fmt: skip
    from clew.faults import BadInput, Fault
    from clew.ledger.shipping.case import known_case
    from clew.ledger.trace.records import KeptInLedger
    from clew.papers.labels.of_record import closed_case_pdf

    if label is None:
        raise BadInput(Fault("nowhere to print it", "--label FILE.pdf", key="--again"))
    with ledger.reading() as connection:
        found = known_case(KeptInLedger(connection, mill.mill.time_zone), again, "--again")
    write_whole(label, closed_case_pdf(mill, found, order))
    if as_json:
        print_json({"package": found.package, "label": str(label)})
        return
    click.echo(
        f"Case {found.package}: {found.balls} {found.ball_name} of {', '.join(found.all_lots)}."
    )
    click.echo(f"wrote {label}")
