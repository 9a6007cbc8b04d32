"""The delivery note as a PDF."""

from __future__ import annotations

from datetime import datetime

from clew.papers.delivery_note_content import DeliveryNoteContent
from clew.papers.printing import pdf_of


def delivery_note_pdf(content: DeliveryNoteContent, *, made: datetime) -> bytes:
    """Print a delivery note.

    Parameters
    ----------
    content : DeliveryNoteContent
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
    return pdf_of("delivery_note", content, made=made)
