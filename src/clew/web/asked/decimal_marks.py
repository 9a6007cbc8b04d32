"""Numbers typed on a page, whatever decimal mark their reader writes."""

from __future__ import annotations

import re

from clew.languages import tongue
from clew.quantities.marks import with_point

_COMMA = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![\d.,])")


def with_any_point(text: str) -> str:
    """Write the numbers of a typed text with a decimal point, whoever typed it.

    Parameters
    ----------
    text : str
        What was typed by the reader, or by another one whose address the reader opened.

    Returns
    -------
    str
        The same with points: ``1.5 kg``.

    Raises
    ------
    BadInput
        When a number can be read two ways. A reader whose mark is the point is asked by the room
        that reads the text: there a comma stays where it could stand between thousands.
    """
    if tongue().decimal != ".":
        return with_point(text, tongue().decimal)
    return _COMMA.sub(_as_point, text)


def _as_point(found: re.Match[str]) -> str:
    whole, part = found.groups()
    thousands = len(part) == 3 and len(whole) <= 3 and whole != "0"
    return str(found[0]) if thousands else f"{whole}.{part}"
