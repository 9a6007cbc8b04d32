"""A whole number as it is typed into a field of any page."""

from __future__ import annotations

import re

from clew.faults import Fault
from clew.languages import say
from clew.web.asked.entries import MOST_TYPED

MOST_SEED = 2**31 - 1
"""The largest seed that a page takes."""
_WHOLE = re.compile(r"\d{1,12}")


def whole_typed(key: str, text: str, most: int, least: int = 0) -> tuple[int, Fault | None]:
    """Read a whole number.

    Parameters
    ----------
    key : str
        Name of the input.
    text : str
        What was typed.
    most, least : int
        The largest and the smallest that are taken.

    Returns
    -------
    int
        The number; 0 when it cannot be read or taken.
    Fault or None
        What is wrong with it.
    """
    if _WHOLE.fullmatch(text) and least <= int(text) <= most:
        return int(text), None
    what = say("out of reach") if _WHOLE.fullmatch(text) else say("not a whole number")
    shown = repr(text) if len(text) <= MOST_TYPED else repr(text[:MOST_TYPED]) + "…"
    expected = say("a whole number from {least} to {most}", least=least, most=most)
    return 0, Fault(what, expected, key=key, value=shown)
