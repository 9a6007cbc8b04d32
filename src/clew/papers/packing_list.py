"""The packing list as a PDF."""

from __future__ import annotations

from datetime import datetime

from clew.papers.packing_list_content import PackingListContent
from clew.papers.printing import pdf_of


def packing_list_pdf(content: PackingListContent, *, made: datetime) -> bytes:
    """Print a packing list.

    Parameters
    ----------
    content : PackingListContent
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
    return pdf_of("packing_list", content, made=made)
