"""Cases, pallets, the delivery and a ball that comes back, as the packer keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clew.cli.day.keeping import SOURCE
from clew.cli.output import write_whole
from clew.ledger.events.message import Record
from clew.ledger.events.moments import show_utc
from clew.ledger.shipping.case import CaseQuestion, close_case, known_case
from clew.ledger.shipping.note import ShipQuestion, ship
from clew.ledger.shipping.pallet import PalletQuestion, close_pallet
from clew.ledger.trace.records import KeptInLedger

if TYPE_CHECKING:
    from clew.cli.day.keeping import DayKeeping
    from clew.ledger.shipping.consignment import Consignment
    from clew.ledger.trace.answer import BackTrace
    from clew.plan.orders.asked import OrderAsked

PACKER = "Mara Teal"


@dataclass(frozen=True, slots=True)
class ToPack:
    """Balls of one run that go into a case.

    Attributes
    ----------
    lot, run, line, key : str
        Their dye lot, run and line; the case's own key.
    balls : int
        How many.
    first_us, last_us : int
        When the first and the last of them were banded [us].
    order : OrderAsked
        The order they are packed for.
    """

    lot: str
    run: str
    line: str
    key: str
    balls: int
    first_us: int
    last_us: int
    order: OrderAsked


def pack_case(keeping: DayKeeping, asked: ToPack) -> str:
    """Close a case; gives its name."""
    keeping.clock.reach(asked.last_us + 20_000_000)
    question = CaseQuestion(
        (asked.lot,), asked.balls, keeping.ledger.clock(), PACKER, SOURCE, asked.key, asked.line,
        asked.run, first=show_utc(asked.first_us), last=show_utc(asked.last_us),
        order=asked.order,
    )  # fmt: skip
    made = keeping.in_turn(
        asked.key,
        lambda: close_case(keeping.ledger, keeping.mill, question),
        lambda one: [one.message],
    )
    return made.package if isinstance(made, Record) else made.message.package


def stack_pallet(keeping: DayKeeping, key: str, cases: Sequence[str], order: OrderAsked) -> str:
    """Close a pallet; gives its name."""
    question = PalletQuestion(
        tuple(cases), keeping.ledger.clock(), PACKER, SOURCE, key, order
    )  # fmt: skip
    made = keeping.in_turn(
        key,
        lambda: close_pallet(keeping.ledger, keeping.mill, question),
        lambda one: [one.message],
    )
    return made.package if isinstance(made, Record) else made.message.package


def send(
    keeping: DayKeeping, key: str, pallets: Sequence[str], order: OrderAsked, author: str
) -> Consignment | tuple[str, ...]:
    """Ship pallets for an order; gives what left, or why it may not."""
    question = ShipQuestion(order, tuple(pallets), keeping.ledger.clock(), author, SOURCE, key)
    made = keeping.in_turn(
        "", lambda: ship(keeping.ledger, keeping.mill, question), lambda one: one.messages
    )
    assert not isinstance(made, Record)
    return made.reasons if made.consignment is None else made.consignment


def write_labels(
    keeping: DayKeeping, folder: Path, cases: Sequence[str], pallets: Sequence[str],
    order: OrderAsked,
) -> list[tuple[str, Path]]:  # fmt: skip
    """Print the labels of closed cases and pallets."""
    from clew.ledger.shipping.case import cases_on
    from clew.papers.labels.of_record import closed_case_pdf, closed_pallet_pdf

    mill, written = keeping.mill, []
    with keeping.ledger.reading() as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        closed = [known_case(kept, one, "case") for one in cases]
        stacked = {one: cases_on(kept, one, "pallet") for one in pallets}
    for one in closed:
        path = folder / f"case-{one.package}.pdf"
        write_whole(path, closed_case_pdf(mill, one, order))
        written.append(("Case label", path))
    for name, on_it in stacked.items():
        path = folder / f"pallet-{name}.pdf"
        write_whole(path, closed_pallet_pdf(mill, name, on_it, order))
        written.append(("Pallet label", path))
    return written


def write_delivery(keeping: DayKeeping, folder: Path, left: Consignment) -> list[tuple[str, Path]]:
    """Print delivery note and packing list of what left."""
    from clew.papers.delivery_note_content import delivery_note_content
    from clew.papers.packing_list_content import packing_list_content
    from clew.papers.printing import made_now, pdf_of

    mill = keeping.mill
    made = made_now(mill.mill.time_zone)
    note, listed = (
        folder / f"delivery-note-{left.delivery}.pdf",
        folder / (f"packing-list-{left.delivery}.pdf"),
    )
    write_whole(note, pdf_of(delivery_note_content(mill, left), made=made))
    write_whole(listed, pdf_of(packing_list_content(mill, left), made=made))
    return [("Delivery note", note), ("Packing list", listed)]


def trace_returned(
    keeping: DayKeeping, folder: Path, code: str, joins: int, ball: str, lot: str
) -> tuple[BackTrace, list[tuple[str, Path]]]:
    """Trace a ball that came back by its band, and draft what to answer its buyer.

    Parameters
    ----------
    keeping : DayKeeping
        Mill and ledger.
    folder : Path
        Where to write.
    code : str
        What its band says.
    joins : int
        Joins that the buyer counts in it; no letter where none.
    ball, lot : str
        What it is.

    Returns
    -------
    (BackTrace, list of (str, Path))
        The trace, and what was written.
    """
    from clew.cli.lot.trace_words import back_words
    from clew.knots.answer_terms import full_answer, returned_ball
    from clew.knots.from_mill import knot_terms
    from clew.knots.letter import letter_paragraphs
    from clew.ledger.trace.backwards import back_from_band
    from clew.ledger.trace.band_code import read_band_code
    from clew.ledger.trace.tracing import Tracing

    mill = keeping.mill
    zone, names = mill.mill.time_zone, tuple(one.name for one in mill.line)
    found = back_from_band(
        Tracing(mill, keeping.ledger), read_band_code(code, zone, lines=names)
    )  # fmt: skip
    path = folder / "trace.txt"
    write_whole(path, ("\n".join(back_words(found, zone)) + "\n").encode("utf-8"))
    written: list[tuple[str, Path]] = [("Trace of the ball that came back", path)]
    if joins:
        terms = knot_terms(mill, ball, lot)
        answer: Any = full_answer(terms, returned_ball(terms, joins, seed=1))
        letter = letter_paragraphs(
            answer, ball_name=ball, lot_name=lot, joined_by=terms.joined_by, units=mill.mill.units
        )
        path = folder / "letter.txt"
        write_whole(path, ("\n\n".join(letter) + "\n").encode("utf-8"))
        written.append(("Draft of the letter to its buyer", path))
    return found, written
