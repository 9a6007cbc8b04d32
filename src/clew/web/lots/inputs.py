"""What a person enters of a lot: its size, its seed, what was looked for, and who stands for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.quantities import GAIN, read_quantity
from clew.web.asked.whole import whole_typed

if TYPE_CHECKING:
    from clew.checks.attributes.inspection import Inspection

LOOKED_FOR: dict[str, str] = {
    "knots": say("more knots than the limit"),
    "band": say("wrong or missing band"),
    "shape": say("out of shape"),
}
"""Faults that balls are looked through for, and how the page names them."""
OF_FAULTS = tuple(f"{fault}_{part}" for fault in LOOKED_FOR for part in ("looked", "found"))
SIGNED = {
    "accepted": say("Who takes an unchecked table on them"),
    "drawn_by": say("Who drew the sample"),
    "drawn_how": say("How it was drawn"),
    "drawn_when": say("When"),
}
"""What is written on the paper as it was typed."""
LOTS_KEYS = (
    "ball", "lot", "file", "line", "size", "rule", "sample", "seed", *OF_FAULTS, "shade", "regain",
    *SIGNED, "order",
)  # fmt: skip
"""Everything that can be asked of a lot."""

MOST_LOT = 10_000_000
SEED = 1
MOST_SEED = 2**32 - 1
MOST_LOOKED = 1_000_000
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Field:
    """One input as the page shows it.

    Attributes
    ----------
    key, words : str
        Its name in the address, and its label.
    text : str
        What was typed; empty where nothing was.
    own : str
        What holds where nothing is typed.
    fault : str
        What is wrong with the text; empty when nothing is.
    """

    key: str
    words: str
    text: str = ""
    own: str = ""
    fault: str = ""


def said(asked: Mapping[str, str], key: str) -> str:
    """What the address says under a name, without the blanks around it."""
    return asked.get(key, "").strip()


def whole(
    asked: Mapping[str, str], key: str, own: int, least: int, most: int
) -> tuple[int, tuple[Fault, ...]]:
    """Read a whole number that may be left out.

    Parameters
    ----------
    asked : mapping of str to str
        What was typed.
    key : str
        Name of the input.
    own : int
        What holds where nothing is typed.
    least, most : int
        The smallest and the largest that are taken.

    Returns
    -------
    int
        The number; `own` where it cannot be read.
    tuple of Fault
        What is wrong with it.
    """
    text = said(asked, key)
    if not text:
        return own, ()
    value, fault = whole_typed(key, text.replace("\u202f", "").replace(" ", ""), most, least)
    return (value, ()) if fault is None else (own, (fault,))


def inspections(asked: Mapping[str, str]) -> tuple[tuple[Inspection, ...], tuple[Fault, ...]]:
    """Read what was looked for in how many balls, and in how many it was found.

    Parameters
    ----------
    asked : mapping of str to str
        What was typed.

    Returns
    -------
    tuple of Inspection
        Those faults that balls were looked through for.
    tuple of Fault
        What is wrong with the numbers.
    """
    from clew.checks.attributes.inspection import Inspection

    read: list[Inspection] = []
    faults: list[Fault] = []
    for fault in LOOKED_FOR:
        looked_key, found_key = f"{fault}_looked", f"{fault}_found"
        if not said(asked, looked_key) and not said(asked, found_key):
            continue
        looked, wrong = whole(asked, looked_key, 0, 1, MOST_LOOKED)
        found, wrong_too = whole(asked, found_key, 0, 0, MOST_LOOKED)
        both = [*wrong, *wrong_too]
        if not said(asked, looked_key):
            both.append(
                Fault(say("not said how many were looked at"), say("1 or more"), key=looked_key)
            )
        elif not said(asked, found_key):
            both.append(
                Fault(say("not said how many were at fault"), say("0 or more"), key=found_key)
            )
        elif not both and found > looked:
            expected = say("at most {most}", most=looked)
            both.append(
                Fault(say("more than were looked at"), expected, key=found_key, value=str(found))
            )
        if not both:
            read.append(Inspection(fault, looked, found))
        faults += both
    return tuple(read), tuple(faults)


def regain(asked: Mapping[str, str]) -> tuple[float | None, tuple[Fault, ...]]:
    """Read the regain at weighing [1], which may be left out."""
    text = said(asked, "regain")
    if not text:
        return None, ()
    try:
        return read_quantity(text, GAIN), ()
    except BadInput as bad:
        return None, (replace(bad.faults[0], key="regain"),)


def names(asked: Mapping[str, str]) -> tuple[dict[str, str], tuple[Fault, ...]]:
    """Read what is written on the paper as it was typed: names, how and when.

    Parameters
    ----------
    asked : mapping of str to str
        What was typed.

    Returns
    -------
    dict of str to str
        The texts by key.
    tuple of Fault
        Those that are too long or hold what cannot be printed.
    """
    found, faults = {}, []
    for key in SIGNED:
        text = said(asked, key)
        if len(text) > LONGEST_NAME or not text.isprintable():
            expected = say("at most {most} letters on one line", most=LONGEST_NAME)
            faults.append(
                Fault(say("cannot stand on the paper"), expected, key=key, value=repr(text)[:80])
            )
            text = ""
        found[key] = text
    return found, tuple(faults)
