"""The shift plan as a PDF."""

from __future__ import annotations

from datetime import datetime

from clew.papers.printing import pdf_of
from clew.papers.shift_plan_content import ShiftPlanContent


def shift_plan_pdf(content: ShiftPlanContent, *, made: datetime) -> bytes:
    """Print a shift plan.

    Parameters
    ----------
    content : ShiftPlanContent
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
    return pdf_of("shift_plan", content, made=made)
