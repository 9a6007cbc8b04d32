"""Papers of what was closed and shipped: labels of a case and a pallet, note and packing list."""

from __future__ import annotations

import re
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.events.reading import is_plain
from clew.ledger.shipping.case import cases_on, known_case
from clew.ledger.shipping.consignment import consignment_kept
from clew.ledger.shipping.names import package_said
from clew.ledger.shipping.packed import pallet_kept
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.records import KeptInLedger
from clew.mill.model import Mill
from clew.plan.orders.asked import OrderAsked, orders_of_mill


def order_named(mill: Mill, number: str) -> OrderAsked | None:
    """Find an order of the mill file.

    Parameters
    ----------
    mill : Mill
        The mill.
    number : str
        Its number; empty for none.

    Returns
    -------
    OrderAsked or None
        None where no number is given.

    Raises
    ------
    BadInput
        When the mill file has no such order.
    """
    if not number:
        return None
    known = orders_of_mill(mill)
    for one in known:
        if one.number == number:
            return one
    names = joined(", ", (one.number for one in known)) or say("none is in the mill file")
    raise BadInput(
        Fault(
            say("no such order"),
            say("one of {names}", names=names),
            key="order",
            value=repr(number)[:80],
        )
    )


def label_pdf(ledger: Ledger, mill: Mill, said: str, number: str) -> tuple[str, bytes]:
    """Print the label of a case or a pallet.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    said : str
        Its name or SSCC, as typed or scanned.
    number : str
        The order whose number and customer stand on it; empty for that of the case's record.

    Returns
    -------
    str
        What the file is called.
    bytes
        The PDF.

    Raises
    ------
    BadInput
        When no such package was closed, or there is no such order.
    CannotKeep
        When the database does not answer.
    """
    from clew.papers.labels.of_record import closed_case_pdf, closed_pallet_pdf

    order, name = order_named(mill, number), package_said(said)
    if not is_plain(name):
        raise BadInput(Fault(say("no name of a package"), key="package", value=repr(name)[:80]))
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        if pallet_kept(kept, name) is None:
            found = known_case(kept, name, "package")
            if order is None:
                order = next(
                    (one for one in orders_of_mill(mill) if one.number == found.order), None
                )
            return _file_name(f"case {name}"), closed_case_pdf(mill, found, order)
        cases = cases_on(kept, name)
    return _file_name(f"pallet {name}"), closed_pallet_pdf(mill, name, cases, order)


def paper_pdf(
    ledger: Ledger, mill: Mill, delivery: str, *, what: Literal["note", "packing list"]
) -> bytes:
    """Print a delivery note, or the packing list that goes with it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    delivery : str
        Number of the note.
    what : {"note", "packing list"}
        Which of the two.

    Returns
    -------
    bytes
        The PDF.

    Raises
    ------
    BadInput
        When no such delivery was shipped.
    CannotKeep
        When the database does not answer.
    """
    from clew.papers.delivery_note_content import delivery_note_content
    from clew.papers.packing_list_content import packing_list_content
    from clew.papers.printing import made_now, pdf_of

    try:
        found = consignment_kept(ledger, mill, delivery)
    except BadInput as bad:
        raise BadInput(
            Fault(one.what, one.expected, key="delivery", value=one.value[:80])
            for one in bad.faults
        ) from None
    made = made_now(mill.mill.time_zone)
    if what == "note":
        return pdf_of(delivery_note_content(mill, found), made=made)
    return pdf_of(packing_list_content(mill, found), made=made)


def _file_name(words: str) -> str:
    """Name a file in plain letters, whatever a package is called."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") + ".pdf"
