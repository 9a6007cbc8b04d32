"""The release certificate as a PDF."""

from __future__ import annotations

from datetime import datetime

from clew.papers.certificate_content import CertificateContent
from clew.papers.printing import pdf_of


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
    return pdf_of("certificate", content, made=made)
