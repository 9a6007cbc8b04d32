"""The recall list as a PDF."""

from __future__ import annotations

from datetime import datetime

from clew.papers.printing import pdf_of
from clew.papers.recall_list_content import RecallContent


def recall_list_pdf(content: RecallContent, *, made: datetime) -> bytes:
    """Print a recall list.

    Parameters
    ----------
    content : RecallContent
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
    return pdf_of("recall_list", content, made=made)
