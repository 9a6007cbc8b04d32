"""The run card as a PDF of one sheet."""

from __future__ import annotations

from datetime import datetime

from clew.papers.card_content import CardContent
from clew.papers.paper_data import typst_inputs
from clew.papers.printing import pdf_of, template_of


def run_card_pdf(content: CardContent, *, made: datetime) -> bytes:
    """Print a run card as a PDF of one sheet.

    Parameters
    ----------
    content : CardContent
        The texts of the card.
    made : datetime
        When the card was made, with its time zone; printed in the footer and kept as the
        file's date.

    Returns
    -------
    bytes
        The file: one page of the content's paper, tagged to PDF/UA-1, letters embedded. The same
        content and time give the same bytes.

    Raises
    ------
    BadInput
        When the time has no time zone.

    Notes
    -----
    Text is 8 pt or more for lines of up to 12 winders with every text at the longest the mill file
    takes; a card with more than that gets smaller letters, and stays on one sheet. A character that
    the embedded letters do not have is written by its code.
    """
    return pdf_of(content, made=made)


def run_card_png(content: CardContent, *, made: datetime, dots_per_inch: int = 110) -> bytes:
    """Print a run card as a picture, for a screen; arguments as for `run_card_pdf`."""
    import typst

    return typst.compile(
        template_of(content.template),
        format="png",
        ppi=float(dots_per_inch),
        sys_inputs=typst_inputs(content, made),
        ignore_system_fonts=True,
        timestamp=made,
    )
