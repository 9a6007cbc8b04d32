"""The recall list as a PDF."""

from __future__ import annotations

import functools
import importlib.resources
from datetime import datetime

from clew.papers.paper_data import typst_inputs
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
    import typst

    return typst.compile(
        _template(),
        format="pdf",
        sys_inputs=typst_inputs(content, content.footer, made),
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
        timestamp=made,
    )


@functools.cache
def _template() -> bytes:
    return (importlib.resources.files("clew.papers") / "templates" / "recall_list.typ").read_bytes()
