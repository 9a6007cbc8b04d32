"""Sheets of ball bands at true size, with cut marks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from clew.checks.band.room import GUTTER_MM, LEAST_TYPE_PT, MARGIN_MM, columns_mm
from clew.checks.band.text import BandText
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.papers.labels.drawn import DrawnSymbol, drawn
from clew.papers.labels.symbols import retail_symbol
from clew.papers.paper_data import Paper
from clew.papers.printing import pdf_of

_SHEETS_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
_EDGE_MM = 7.0
_FOOT_MM = 11.0
_GAP_MM = 4.0
_MOST_COPIES = 2000


@dataclass(frozen=True, slots=True)
class Sheet:
    """How bands lie on a sheet.

    Attributes
    ----------
    landscape : bool
        Whether the sheet lies on its long side.
    across, down : int
        Bands side by side, and one under the other.
    """

    landscape: bool
    across: int
    down: int


@dataclass(frozen=True, slots=True)
class BandSheets:
    """Bands as their template sets them."""

    template: ClassVar[str] = "bands"

    title: str
    paper: Paper
    footer: str
    landscape: bool
    across: int
    down: int
    copies: int
    edge: float
    gap: float
    width: float
    height: float
    margin: float
    gutter: float
    columns: tuple[float, ...]
    least_pt: float
    figure: float
    e_height: float
    name: str
    maker: str
    origin: str
    class_words: str
    quantities: tuple[str, ...]
    e_mark: bool
    fibres: tuple[str, ...]
    other: tuple[str, ...]
    knits: tuple[str, ...]
    care: tuple[str, ...]
    colour: str
    lot: str
    symbols: tuple[DrawnSymbol, ...]


def sheet_for(width_mm: float, height_mm: float, paper: Paper) -> Sheet:
    """Lay as many bands on a sheet as go, upright or lying.

    Parameters
    ----------
    width_mm, height_mm : float
        A band laid flat [mm].
    paper : str
        "A4" or "Letter".

    Returns
    -------
    Sheet
        The better of the two ways; upright where they are equal.

    Raises
    ------
    BadInput
        When not one band goes on it.
    """
    short, long = _SHEETS_MM[paper]
    ways = []
    for landscape, wide, high in ((False, short, long), (True, long, short)):
        across = int((wide - 2 * _EDGE_MM + _GAP_MM) // (width_mm + _GAP_MM))
        down = int((high - _EDGE_MM - _FOOT_MM + _GAP_MM) // (height_mm + _GAP_MM))
        ways.append(Sheet(landscape, across, down))
    best = max(ways, key=lambda one: one.across * one.down)
    if best.across * best.down == 0:
        raise BadInput(
            Fault(
                say("a band too large for {paper}", paper=paper),
                say(
                    "at most {edge_mm:g} mm long, {foot_mm:g} mm high",
                    edge_mm=long - 2 * _EDGE_MM,
                    foot_mm=short - _EDGE_MM - _FOOT_MM,
                ),
                value=say(
                    "{width_mm:g} by {height_mm:g} mm", width_mm=width_mm, height_mm=height_mm
                ),
            )
        )
    return best


def bands_pdf(
    band: BandText, copies: int, *, made: datetime, paper: Paper = "A4", footer: str
) -> bytes:
    """Print sheets of one band.

    Parameters
    ----------
    band : BandText
        Its text and sizes.
    copies : int
        How many bands, 1 to 2000; the last sheet may be part empty.
    made : datetime
        When, with its time zone.
    paper : str
        "A4" or "Letter".
    footer : str
        What stands at the foot of a sheet.

    Returns
    -------
    bytes
        The file. Print it at 100 %: not "fit to page".

    Raises
    ------
    BadInput
        When the band does not go on the paper, the number of copies is none, or the time has no
        zone.
    """
    if not 1 <= copies <= _MOST_COPIES:
        raise BadInput(
            Fault(
                say("no number of bands"),
                say("1 to {most_copies}", most_copies=_MOST_COPIES),
                key="--copies",
                value=str(copies),
            )
        )
    sheet = sheet_for(band.width_mm, band.height_mm, paper)
    symbols = (drawn(retail_symbol(band.gtin)),) if band.gtin else ()
    knits = tuple(
        joined(": ", (head, text))
        for head, text in ((say("Gauge"), band.gauge), (say("Needles"), band.needles))
        if text
    )
    content = BandSheets(
        title=say("Bands: {ball_name}", ball_name=band.ball_name), paper=paper, footer=footer,
        landscape=sheet.landscape, across=sheet.across, down=sheet.down, copies=copies,
        edge=_EDGE_MM, gap=_GAP_MM, width=band.width_mm, height=band.height_mm,
        margin=MARGIN_MM, gutter=GUTTER_MM, columns=columns_mm(band), least_pt=LEAST_TYPE_PT,
        figure=band.figure_mm, e_height=band.e_mm, name=band.ball_name, maker=band.maker,
        origin=band.origin, class_words=band.class_words, quantities=band.quantity_lines,
        e_mark=band.e_mark, fibres=band.fibre_lines, other=band.other_lines, knits=knits,
        care=band.care, colour=band.colour_name, lot=band.lot_name, symbols=symbols,
    )  # fmt: skip
    return pdf_of(content, made=made)
