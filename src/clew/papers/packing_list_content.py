"""The texts of a packing list: pallet by pallet, case by case, with what they weigh."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from clew.languages import joined, moment, say, say_many
from clew.ledger.events.moments import local_of
from clew.ledger.shipping.consignment import Consignment, Parcel
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.packed import CaseKept
from clew.mill.model import Mill
from clew.papers.floor_numbers import kilograms
from clew.papers.paper_data import Paper, Row

UNKNOWN = "–"
"""Stands where a mass is not known."""
MASS_WORDS = say(
    "Net mass is what the bands declare. Gross mass is worked out: balls wound "
    "to their target, bands, bags, cases and pallets; nothing was put on a "
    "scale for it."
)


@dataclass(frozen=True, slots=True)
class PackedRow:
    """A case on the list.

    Attributes
    ----------
    case, ball, lot, balls, net, gross : str
        Its columns.
    """

    case: str
    ball: str
    lot: str
    balls: str
    net: str
    gross: str


@dataclass(frozen=True, slots=True)
class PackedGroup:
    """A pallet, or the cases on none.

    Attributes
    ----------
    title : str
        Its name.
    rows : tuple of PackedRow
        Its cases.
    total : PackedRow
        Its sum; the gross mass of a pallet is with its deck.
    """

    title: str
    rows: tuple[PackedRow, ...]
    total: PackedRow


@dataclass(frozen=True, slots=True)
class PackingListContent:
    """A packing list ready for printing.

    Attributes
    ----------
    title, mill : str
        What it is, and whose.
    about : tuple of Row
        Delivery, order, customer, day.
    groups : tuple of PackedGroup
        Pallets, then cases on none.
    total : PackedRow
        Everything.
    words : str
        What the masses mean.
    footer : str
        What stands under every page.
    paper : {"A4", "Letter"}
        Its size.
    """

    template: ClassVar[str] = "packing_list"

    title: str
    mill: str
    about: tuple[Row, ...]
    groups: tuple[PackedGroup, ...]
    total: PackedRow
    words: str
    footer: str
    paper: Paper


def packing_list_content(
    mill: Mill, consignment: Consignment, *, paper: Paper | None = None
) -> PackingListContent:
    """Arrange a packing list.

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
    PackingListContent
        All of its texts.
    """
    masses = Masses(mill)
    groups = [_group(masses, one) for one in consignment.parcels if one.pallet]
    loose = tuple(one for parcel in consignment.parcels if not parcel.pallet
                  for one in parcel.cases)  # fmt: skip
    if loose:
        title = say("Cases on no pallet") if groups else say("Cases")
        groups.append(
            PackedGroup(
                title,
                _rows(masses, loose),
                _total(say("Sum"), loose, masses, masses.gross_g(loose)),
            )
        )
    gross = [
        masses.pallet_gross_g(one.cases) if one.pallet else masses.gross_g(one.cases)
        for one in consignment.parcels
    ]
    known = [one for one in gross if one is not None]
    whole = sum(known) if len(known) == len(gross) else None
    return PackingListContent(
        say("Packing list {delivery}", delivery=consignment.delivery),
        mill.mill.name,
        consignment_rows(mill, consignment),
        tuple(groups),
        _total(packages_words(consignment), consignment.cases, masses, whole),
        MASS_WORDS,
        say(
            "{mill} · packing list {delivery}",
            mill=mill.mill.name,
            delivery=consignment.delivery,
        ),
        paper or mill.mill.paper,
    )


def consignment_rows(mill: Mill, consignment: Consignment) -> tuple[Row, ...]:
    """Say what a consignment is: the head of both of its papers."""
    at, by = local_of(consignment.at_us, mill.mill.time_zone), consignment.author
    return (
        Row(say("Delivery"), consignment.delivery), Row(say("Customer"), consignment.customer),
        Row(say("Order"), consignment.order or say("none was told")),
        Row(say("Shipped"), say("{moment} by {author}", moment=moment(at), author=by)),
        Row(say("From"), mill.mill.maker or mill.mill.name),
    )  # fmt: skip


def packages_words(consignment: Consignment) -> str:
    """Count what leaves: pallets, and cases."""
    pallets = sum(one.pallet for one in consignment.parcels)
    cases = len(consignment.cases)
    words = say_many("{n} case", "{n} cases", cases)
    if not pallets:
        return words
    loose = sum(not one.pallet for one in consignment.parcels)
    on = say_many("{n} pallet", "{n} pallets", pallets)
    if loose:
        return say(
            "{pallets}, {cases}, {loose} of them on none", pallets=on, cases=words, loose=loose
        )
    return joined(", ", (on, words))


def mass_words(mass_g: float | None) -> str:
    """Write a mass [g]; a dash where it is not known."""
    return UNKNOWN if mass_g is None else kilograms(mass_g)


def _group(masses: Masses, parcel: Parcel) -> PackedGroup:
    gross = masses.pallet_gross_g(parcel.cases)
    return PackedGroup(
        say("Pallet {package}", package=parcel.package), _rows(masses, parcel.cases),
        _total(say("With the pallet"), parcel.cases, masses, gross),
    )  # fmt: skip


def _rows(masses: Masses, cases: tuple[CaseKept, ...]) -> tuple[PackedRow, ...]:
    return tuple(
        PackedRow(
            one.package, one.ball_name or UNKNOWN, joined(", ", one.all_lots), str(one.balls),
            mass_words(masses.net_g([one])), mass_words(masses.gross_g([one])),
        )
        for one in cases
    )  # fmt: skip


def _total(
    words: str, cases: tuple[CaseKept, ...], masses: Masses, gross_g: float | None
) -> PackedRow:
    return PackedRow(
        words, "", "", str(sum(one.balls for one in cases)), mass_words(masses.net_g(cases)),
        mass_words(gross_g),
    )  # fmt: skip
