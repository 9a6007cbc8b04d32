"""Labels of pallets: one sheet each, with the same label twice, for two sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from clew.checks.band.gs1 import element
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.papers.floor_numbers import kilograms
from clew.papers.labels.case_label import LabelBody, LabelSheets, named_rows
from clew.papers.labels.drawn import DrawnSymbol, drawn
from clew.papers.labels.symbols import gs1_128
from clew.papers.paper_data import Paper
from clew.papers.printing import pdf_of

_MODULE_MM = 0.9
"""So the symbol is 158 mm long: under the limit, and read from the seat of a truck [mm]."""
_COPIES = 2
_MOST_LOTS = 8
"""Dye lots named on a label; where there are more, the packing list names them."""


@dataclass(frozen=True, slots=True)
class PalletLabel:
    """What stands on a pallet.

    Attributes
    ----------
    mill_name, maker : str
        Whose it is.
    package : str
        The pallet's own name.
    sscc : str
        Its number, 18 digits; empty for none.
    cases, balls : int
        What is on it.
    ball_name : str
        Which ball.
    lots : tuple of str
        Dye lots on it.
    gross_mass_g : float or None
        Pallet and all [g]; None where not known.
    order, customer, delivery : str
        Whom it is for, and with which delivery; empty where not known.
    """

    mill_name: str
    maker: str
    package: str
    sscc: str
    cases: int
    balls: int
    ball_name: str
    lots: tuple[str, ...]
    gross_mass_g: float | None
    order: str
    customer: str
    delivery: str


@dataclass(frozen=True, slots=True)
class PalletSheets(LabelSheets):
    """Labels of pallets as their template sets them."""

    template: ClassVar[str] = "pallet_label"


def pallet_labels_pdf(
    labels: Sequence[PalletLabel], *, made: datetime, paper: Paper = "A4", footer: str
) -> bytes:
    """Print labels of pallets.

    Parameters
    ----------
    labels : sequence of PalletLabel
        A sheet each, with two copies: one for each of two sides of the pallet.
    made : datetime
        When, with its time zone.
    paper : str
        "A4" or "Letter".
    footer : str
        What stands at the foot of a sheet.

    Returns
    -------
    bytes
        The file, the SSCC as GS1-128 with AI (00).

    Raises
    ------
    BadInput
        When there is no label, an SSCC is wrong, or the time has no zone.
    """
    if not labels:
        raise BadInput(Fault(say("no pallet to label"), say("one or more")))
    bodies = tuple(body for label in labels for body in (_body(label),) * _COPIES)
    return pdf_of(PalletSheets(say("Pallet labels"), paper, footer, bodies), made=made)


def _body(label: PalletLabel) -> LabelBody:
    symbols: tuple[DrawnSymbol, ...] = ()
    if label.sscc:
        symbols = (drawn(gs1_128((element("00", label.sscc),), _MODULE_MM)),)
    gross = "" if label.gross_mass_g is None else kilograms(label.gross_mass_g)
    return LabelBody(
        label.mill_name,
        label.maker,
        label.ball_name,
        say("{cases} cases, {balls} balls", cases=label.cases, balls=label.balls),
        label.package,
        named_rows(
            (say("Customer"), label.customer),
            (say("Order"), label.order),
            (say("Delivery"), label.delivery),
            (say("Dye lot") if len(label.lots) == 1 else say("Dye lots"), _lot_words(label.lots)),
            (say("Gross mass"), gross),
        ),
        symbols,
        "" if label.sscc else say("No SSCC: the mill file has no GS1 company prefix."),
    )


def _lot_words(lots: tuple[str, ...]) -> str:
    named = joined(", ", lots[:_MOST_LOTS])
    more = len(lots) - _MOST_LOTS
    return (
        say("{named} and {more} more: see the packing list", named=named, more=more)
        if more > 0
        else named
    )
