"""The release certificate as a PDF."""

from __future__ import annotations

import functools
import importlib.resources
from datetime import datetime

from clew.papers.certificate_content import CertificateContent
from clew.papers.paper_data import typst_inputs


def certificate_pdf(content: CertificateContent, *, made: datetime) -> bytes:
    """Print a certificate.

    Parameters
    ----------
    content : CertificateContent
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
    return (importlib.resources.files("clew.papers") / "templates" / "certificate.typ").read_bytes()
