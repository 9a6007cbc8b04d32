"""The pick list as a PDF: for the cone store."""

from __future__ import annotations

from datetime import datetime

from clew.papers.pick_list_content import PickListContent
from clew.papers.printing import pdf_of


def pick_list_pdf(content: PickListContent, *, made: datetime) -> bytes:
    """Print a pick list.

    Parameters
    ----------
    content : PickListContent
        The texts.
    made : datetime
        When it was made, with its time zone.

    Returns
    -------
    bytes
        The file, tagged to PDF/UA-1, letters embedded, pages numbered. The same content and time
        give the same bytes.

    Raises
    ------
    BadInput
        When the time has no time zone.
    """
    return pdf_of("pick_list", content, made=made)
