"""The texts of a packing list: pallet by pallet, case by case, with what they weigh."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.ledger.events.moments import local_of
from clew.ledger.shipping.consignment import Consignment, Parcel
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.packed import CaseKept
from clew.mill.model import Mill
from clew.papers.card_content import Paper
from clew.papers.card_rows import Row

UNKNOWN = "–"
"""Stands where a mass is not known."""
MASS_WORDS = (
    "Net mass is what the bands declare. Gross mass is worked out: balls wound to their target, "
    "bands, bags, cases and pallets; nothing was put on a scale for it."
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

    title: str
    mill: str
    about: tuple[Row, ...]
    groups: tuple[PackedGroup, ...]
    total: PackedRow
    words: str
    footer: str
    paper: Paper


def packing_list_content(
    mill: Mill, consignment: Consignment, *, paper: Literal["A4", "Letter"] | None = None
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
        title = "Cases on no pallet" if groups else "Cases"
        groups.append(
            PackedGroup(
                title, _rows(masses, loose), _total("Sum", loose, masses, masses.gross_g(loose))
            )
        )
    gross = [
        masses.pallet_gross_g(one.cases) if one.pallet else masses.gross_g(one.cases)
        for one in consignment.parcels
    ]
    known = [one for one in gross if one is not None]
    whole = sum(known) if len(known) == len(gross) else None
    return PackingListContent(
        f"Packing list {consignment.delivery}", mill.mill.name, consignment_rows(mill, consignment),
        tuple(groups), _total(packages_words(consignment), consignment.cases, masses, whole),
        MASS_WORDS, f"{mill.mill.name} · packing list {consignment.delivery}",
        paper or mill.mill.paper,
    )  # fmt: skip


def consignment_rows(mill: Mill, consignment: Consignment) -> tuple[Row, ...]:
    """Say what a consignment is: the head of both of its papers."""
    day = local_of(consignment.at_us, mill.mill.time_zone)
    return (
        Row("Delivery", consignment.delivery), Row("To", consignment.customer),
        Row("Order", consignment.order or "none was told"),
        Row("Shipped", f"{day:%Y-%m-%d %H:%M} by {consignment.author}"),
        Row("From", mill.mill.maker or mill.mill.name),
    )  # fmt: skip


def packages_words(consignment: Consignment) -> str:
    """Count what leaves: pallets, and cases."""
    pallets = sum(one.pallet for one in consignment.parcels)
    cases = len(consignment.cases)
    words = f"{cases} case" if cases == 1 else f"{cases} cases"
    if not pallets:
        return words
    loose = sum(not one.pallet for one in consignment.parcels)
    on = f"{pallets} pallet" if pallets == 1 else f"{pallets} pallets"
    return f"{on}, {words}" + (f", {loose} of them on none" if loose else "")


def kilograms(mass_g: float | None) -> str:
    """Write a mass as the dock reads it, in kilograms to ten grams."""
    return UNKNOWN if mass_g is None else f"{mass_g / 1000:.2f} kg"


def _group(masses: Masses, parcel: Parcel) -> PackedGroup:
    gross = masses.pallet_gross_g(parcel.cases)
    return PackedGroup(
        f"Pallet {parcel.package}", _rows(masses, parcel.cases),
        _total("With the pallet", parcel.cases, masses, gross),
    )  # fmt: skip


def _rows(masses: Masses, cases: tuple[CaseKept, ...]) -> tuple[PackedRow, ...]:
    return tuple(
        PackedRow(
            one.package, one.ball_name or UNKNOWN, ", ".join(one.all_lots), str(one.balls),
            kilograms(masses.net_g([one])), kilograms(masses.gross_g([one])),
        )
        for one in cases
    )  # fmt: skip


def _total(
    words: str, cases: tuple[CaseKept, ...], masses: Masses, gross_g: float | None
) -> PackedRow:
    return PackedRow(
        words, "", "", str(sum(one.balls for one in cases)), kilograms(masses.net_g(cases)),
        kilograms(gross_g),
    )  # fmt: skip
