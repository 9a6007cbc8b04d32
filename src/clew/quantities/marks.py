"""Numbers as readers of other languages type them, turned into the house's own writing."""

from __future__ import annotations

import re

from clew.faults import BadInput, Fault
from clew.languages import say

_NUMBER = re.compile(r"\d[\d.,]*")
_THOUSANDS = re.compile(r"\d{1,3}(?:\.\d{3})+")


def with_point(text: str, decimal: str) -> str:
    """Write the numbers of a typed text with a decimal point.

    Parameters
    ----------
    text : str
        What was typed: ``1,5 kg``.
    decimal : str
        Decimal mark of whoever typed it: a point or a comma. A point's text stays as it is.

    Returns
    -------
    str
        The same with a point: ``1.5 kg``.

    Raises
    ------
    BadInput
        When a number can be read two ways: ``1.500`` is 1500 to one reader and 1.5 to another.
    """
    if decimal == ".":
        return text
    return _NUMBER.sub(lambda found: _number(found[0]), text)


def _number(typed: str) -> str:
    text = typed.rstrip(".,")
    tail = typed[len(text) :]
    if "," in text and ("." in text or text.count(",") > 1):
        plain = text.replace(".", "").replace(",", "", text.count(",") - 1)
        raise BadInput(
            Fault(
                say("a number with marks between its thousands"),
                say("a number without them, such as {plain}", plain=plain),
                value=repr(typed),
            )
        )
    if _THOUSANDS.fullmatch(text):
        whole, part = text.replace(".", ""), text.replace(".", ",", 1).replace(".", "")
        raise BadInput(
            Fault(
                say("a number that can be read two ways"),
                say("{whole} or {part}", whole=whole, part=part),
                value=repr(typed),
            )
        )
    return text.replace(",", ".") + tail
