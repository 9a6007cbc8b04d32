"""The run card as a PDF of one sheet."""

from __future__ import annotations

import functools
import importlib.resources
import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from clew.faults import BadInput, Fault
from clew.papers.card_content import CardContent
from clew.papers.letters import printable


def run_card_pdf(content: CardContent, *, made: datetime) -> bytes:
    """Print a run card as a PDF of one sheet.

    Parameters
    ----------
    content : CardContent
        The texts of the card.
    made : datetime
        When the card was made, with its time zone; printed in the footer and kept as the
        file's date.

    Returns
    -------
    bytes
        The file: one page of the content's paper, tagged to PDF/UA-1, letters embedded. The same
        content and time give the same bytes.

    Raises
    ------
    BadInput
        When the time has no time zone.

    Notes
    -----
    Text is 8 pt or more for lines of up to 12 winders with every text at the longest the mill file
    takes; a card with more than that gets smaller letters, and stays on one sheet. A character that
    the embedded letters do not have is written by its code.
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


def run_card_png(content: CardContent, *, made: datetime, dots_per_inch: int = 110) -> bytes:
    """Print a run card as a picture, for a screen; arguments as for `run_card_pdf`."""
    import typst

    return typst.compile(
        _template(),
        format="png",
        ppi=float(dots_per_inch),
        sys_inputs=typst_inputs(content, content.footer, made),
        ignore_system_fonts=True,
        timestamp=made,
    )


def printed_words(made: datetime) -> str:
    """Say when a card was made, on the mill's own clock: ``printed 2026-11-25 07:46``."""
    return f"printed {made:%Y-%m-%d %H:%M}"


def typst_inputs(content: Any, footer: str, made: datetime) -> dict[str, str]:
    """Hand texts to a template as data; none of it is ever read as markup.

    Parameters
    ----------
    content : Any
        The texts of a paper, a dataclass.
    footer : str
        What stands under every page, before the time.
    made : datetime
        When it was made, with its time zone.

    Returns
    -------
    dict of str to str
        The one input ``data``.

    Raises
    ------
    BadInput
        When the time has no time zone.
    """
    if made.tzinfo is None:
        raise BadInput(
            Fault("a time without its time zone", "a time with one", key="made", value=str(made))
        )
    plain = asdict(content)
    plain["footer"] = f"{footer} · {printed_words(made)}"
    return {"data": json.dumps(_in_letters(plain), ensure_ascii=False)}


def _in_letters(plain: Any) -> Any:
    """Every text of a nested plain value, in letters that can be printed."""
    if isinstance(plain, str):
        return printable(plain)
    if isinstance(plain, dict):
        return {key: _in_letters(value) for key, value in plain.items()}
    if isinstance(plain, (list, tuple)):
        return [_in_letters(value) for value in plain]
    return plain


@functools.cache
def _template() -> bytes:
    return (importlib.resources.files("clew.papers") / "templates" / "run_card.typ").read_bytes()
