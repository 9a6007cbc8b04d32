"""The tally sheet as a PDF: for hands, when the tablet is dead."""

from __future__ import annotations

from datetime import datetime

from clew.papers.printing import pdf_of
from clew.papers.tally_sheet_content import TallyContent


def tally_sheet_pdf(content: TallyContent, *, made: datetime) -> bytes:
    """Print tally sheets.

    Parameters
    ----------
    content : TallyContent
        The texts.
    made : datetime
        When they were made, with its time zone.

    Returns
    -------
    bytes
        The file, tagged to PDF/UA-1, letters embedded: of each sheet its boxes, six lanes on a
        side, and its numbered rows. The same content and time give the same bytes.

    Raises
    ------
    BadInput
        When the time has no time zone.
    """
    return pdf_of("tally_sheet", content, made=made)
