"""From a paper's texts and its template to the file, the same way for every paper."""

from __future__ import annotations

import functools
import importlib.resources
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

from clew.papers.paper_data import PaperContent, typst_inputs


def made_now(zone: str, now: datetime | None = None) -> datetime:
    """Say when a paper is made, by the mill's clock, to the second and with its offset.

    Parameters
    ----------
    zone : str
        The mill's time zone.
    now : datetime, optional
        Now, with a time zone; this machine's clock where left out.

    Returns
    -------
    datetime
        With the offset that holds at that moment.
    """
    here = (now or datetime.now(UTC)).astimezone(ZoneInfo(zone)).replace(microsecond=0)
    return here.replace(tzinfo=timezone(here.utcoffset() or timedelta()))


def pdf_of(content: PaperContent, *, made: datetime) -> bytes:
    """Print a paper.

    Parameters
    ----------
    content : PaperContent
        Its texts.
    made : datetime
        When it was made, with its time zone; to the second.

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
        template_of(content.template),
        format="pdf",
        sys_inputs=typst_inputs(content, made),
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
        timestamp=made,
    )


@functools.cache
def template_of(name: str) -> bytes:
    """Read a paper's template."""
    return (importlib.resources.files("clew.papers") / "templates" / f"{name}.typ").read_bytes()
