"""The texts of a delivery note: to whom, what, by which certificates, and who signs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from clew.languages import joined, say
from clew.ledger.shipping.case import lots_in
from clew.ledger.shipping.consignment import Consignment
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.packed import CaseKept
from clew.mill.model import Mill
from clew.papers.packing_list_content import (
    UNKNOWN,
    consignment_rows,
    mass_words,
    packages_words,
)
from clew.papers.paper_data import Paper, Row

SIGNATURES = (say("Shipped by"), say("Carrier, and when"), say("Received by, and when"))
ANCHOR_WORDS = say(
    "Where the ledger stood: chain, row, hash, check digits. clew ledger "
    "verify --anchor proves by them that no case, pallet or decision named "
    "here was changed since."
)


@dataclass(frozen=True, slots=True)
class NoteLine:
    """Balls of one dye lot, or of cases with the same several.

    Attributes
    ----------
    ball, colour, lot, gtin, cases, balls, net : str
        Its columns.
    """

    ball: str
    colour: str
    lot: str
    gtin: str
    cases: str
    balls: str
    net: str


@dataclass(frozen=True, slots=True)
class DeliveryNoteContent:
    """A delivery note ready for printing.

    Attributes
    ----------
    title, mill : str
        What it is, and whose.
    about : tuple of Row
        Delivery, customer, order, day, sender.
    sentence : str
        What leaves, and how the order stands then.
    lines : tuple of NoteLine
        Balls by dye lot.
    total : NoteLine
        Their sum.
    packages : tuple of str
        Names of pallets and of cases on none.
    certificates : tuple of Row
        Each dye lot's certificate.
    anchors : tuple of str
        Where the ledger's chains stood.
    anchor_words : str
        What they are good for.
    signatures : tuple of str
        Who signs.
    footer : str
        What stands under every page.
    paper : {"A4", "Letter"}
        Its size.
    """

    template: ClassVar[str] = "delivery_note"

    title: str
    mill: str
    about: tuple[Row, ...]
    sentence: str
    lines: tuple[NoteLine, ...]
    total: NoteLine
    packages: tuple[str, ...]
    certificates: tuple[Row, ...]
    anchors: tuple[str, ...]
    anchor_words: str
    signatures: tuple[str, ...]
    footer: str
    paper: Paper


def delivery_note_content(
    mill: Mill, consignment: Consignment, *, paper: Paper | None = None
) -> DeliveryNoteContent:
    """Arrange a delivery note.

    Parameters
    ----------
    mill : Mill
        The mill.
    consignment : Consignment
        What leaves.
    paper : {"A4", "Letter"}, optional
        Its size; the mill's own where left out.

    Returns
    -------
    DeliveryNoteContent
        All of its texts; terms of sale are none of them.
    """
    masses = Masses(mill)
    by_lots: dict[tuple[str, tuple[str, ...]], list[CaseKept]] = {}
    for one in consignment.cases:
        by_lots.setdefault((one.ball_name, one.all_lots), []).append(one)
    colours = {lot.lot: colour.name for colour in mill.colour for lot in colour.dye_lot}
    gtins = {one.name: one.gtin or "" for one in mill.ball}
    lines = tuple(
        NoteLine(
            ball or UNKNOWN,
            joined(", ", dict.fromkeys(colours.get(lot, UNKNOWN) for lot in lots)),
            joined(", ", lots),
            gtins.get(ball) or UNKNOWN,
            str(len(cases)),
            str(sum(one.balls for one in cases)),
            mass_words(masses.net_g(cases)),
        )
        for (ball, lots), cases in by_lots.items()
    )
    total = NoteLine(
        say("Together"),
        "",
        "",
        "",
        str(len(consignment.cases)),
        str(consignment.balls),
        mass_words(masses.net_g(consignment.cases)),
    )
    certified = dict(consignment.certificates)
    shipped = lots_in(consignment.cases)
    certificates = [
        Row(say("{lot}, released", lot=lot), digits) for lot, digits in consignment.certificates
    ]
    certificates += [
        Row(say("{lot}, released", lot=lot), say("no certificate was told"))
        for lot in shipped
        if lot not in certified
    ]
    return DeliveryNoteContent(
        say("Delivery note {delivery}", delivery=consignment.delivery),
        mill.mill.name,
        consignment_rows(mill, consignment),
        joined(". ", (packages_words(consignment), consignment.count_words)),
        lines,
        total,
        tuple(
            say("Pallet {package}", package=one.package)
            if one.pallet
            else say("Case {package}", package=one.package)
            for one in consignment.parcels
        ),
        tuple(certificates),
        consignment.anchors,
        ANCHOR_WORDS,
        SIGNATURES,
        say(
            "{name} · delivery note {delivery}", name=mill.mill.name, delivery=consignment.delivery
        ),
        paper or mill.mill.paper,
    )
