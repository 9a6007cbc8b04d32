"""Labels of cases, two on a sheet, each half a sheet large."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from clew.checks.band.gs1 import Element, batch_fits, element
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.papers.floor_numbers import kilograms
from clew.papers.labels.drawn import DrawnSymbol, drawn
from clew.papers.labels.symbols import fits_one_gs1_128, gs1_128, itf14
from clew.papers.paper_data import Paper, Row
from clew.papers.printing import pdf_of

_MODULE_ITF_MM, _MODULE_ITF_BESIDE_MM = 0.75, 0.495
"""Alone on a label; and where an SSCC must go beside it, the least that may be [mm]."""


@dataclass(frozen=True, slots=True)
class CaseLabel:
    """What stands on a case.

    Attributes
    ----------
    mill_name, maker : str
        Whose it is.
    ball_name, colour_name, lot_name : str
        What is in it.
    balls : int
        How many.
    net_mass_g : float
        Declared mass of them all [g].
    gross_mass_g : float or None
        Of the closed case [g]; None where not known.
    gtin14 : str
        The case's trade number, 14 digits; empty for none.
    package : str
        The case's own name.
    sscc : str
        Its number as a logistic unit, 18 digits; empty for none.
    order, customer : str
        Whom it is for; empty where not known.
    """

    mill_name: str
    maker: str
    ball_name: str
    colour_name: str
    lot_name: str
    balls: int
    net_mass_g: float
    gross_mass_g: float | None
    gtin14: str
    package: str
    sscc: str
    order: str
    customer: str


@dataclass(frozen=True, slots=True)
class LabelBody:
    """A label as its template sets it."""

    mill: str
    maker: str
    title: str
    subtitle: str
    package: str
    lines: tuple[Row, ...]
    symbols: tuple[DrawnSymbol, ...]
    note: str


@dataclass(frozen=True, slots=True)
class LabelSheets:
    """Labels of cases as their template sets them."""

    template: ClassVar[str] = "case_label"

    title: str
    paper: Paper
    footer: str
    labels: tuple[LabelBody, ...]


def named_rows(*pairs: tuple[str, str]) -> tuple[Row, ...]:
    """Keep the rows that have a text."""
    return tuple(Row(head, text) for head, text in pairs if text)


def case_elements(label: CaseLabel) -> tuple[tuple[Element, ...], ...]:
    """Say what a case's symbols say: one list for each GS1-128, none where ITF-14 does.

    Parameters
    ----------
    label : CaseLabel
        The case.

    Returns
    -------
    tuple of tuple of Element
        GTIN and batch together where one symbol holds them, else apart; the SSCC last, as it
        stands lowest. The number of balls is not in them: the GTIN tells it.

    Raises
    ------
    BadInput
        When a key is wrong.

    Notes
    -----
    Count (37) goes with (02) and (00) on a unit that is no trade item itself, never with (01); a
    batch (10) goes with its (01), which may stand in another symbol of the same label. Source:
    GS1 Barcode Syntax Dictionary, READ. The SSCC in the lowest portion: GS1 General
    Specifications, release 18, 6.6.4.1.1, READ.
    """
    found: list[tuple[Element, ...]] = []
    if label.gtin14 and batch_fits(label.lot_name):
        gtin, batch = element("01", label.gtin14), element("10", label.lot_name)
        if fits_one_gs1_128((gtin, batch)):
            found.append((gtin, batch))
        else:  # long: it stands alone, the others side by side under it
            found += [(batch,), (gtin,)]
    if label.sscc:
        found.append((element("00", label.sscc),))
    return tuple(found)


def case_labels_pdf(
    labels: Sequence[CaseLabel], *, made: datetime, paper: Paper = "A4", footer: str
) -> bytes:
    """Print labels of cases.

    Parameters
    ----------
    labels : sequence of CaseLabel
        Two go on a sheet.
    made : datetime
        When, with its time zone.
    paper : str
        "A4" or "Letter".
    footer : str
        What stands at the foot of a sheet.

    Returns
    -------
    bytes
        The file. GS1-128 with GTIN and batch; ITF-14 where the lot's name goes into no symbol.

    Raises
    ------
    BadInput
        When there is no label, a key is wrong, or the time has no zone.
    """
    if not labels:
        raise BadInput(Fault(say("no case to label"), say("one or more")))
    bodies = tuple(_body(one) for one in labels)
    return pdf_of(LabelSheets(say("Case labels"), paper, footer, bodies), made=made)


def _body(label: CaseLabel) -> LabelBody:
    symbols = [drawn(gs1_128(one)) for one in case_elements(label)]
    note = ""
    if label.gtin14 and not batch_fits(label.lot_name):
        module_mm = _MODULE_ITF_BESIDE_MM if label.sscc else _MODULE_ITF_MM
        symbols.insert(0, drawn(itf14(label.gtin14, module_mm)))
        if label.lot_name:
            note = say("The dye lot is not in the symbol: read it by eye.")
    elif not label.gtin14:
        note = say("No trade number: this case has no symbol for its goods.")
    gross = "" if label.gross_mass_g is None else kilograms(label.gross_mass_g)
    return LabelBody(
        label.mill_name,
        label.maker,
        label.ball_name,
        joined(" · ", (one for one in (label.colour_name, label.lot_name) if one)),
        label.package,
        named_rows(
            (say("Dye lot"), label.lot_name),
            (say("Colour"), label.colour_name),
            (say("Balls"), str(label.balls)),
            (say("Net mass"), kilograms(label.net_mass_g)),
            (say("Gross mass"), gross),
            (say("Order"), label.order),
            (say("Customer"), label.customer),
        ),
        tuple(symbols),
        note,
    )
