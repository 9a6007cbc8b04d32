"""A ball came back: what to say to its buyer."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.knots.answer import BuyerAnswer
from clew.knots.answer_terms import full_answer, returned_ball
from clew.knots.from_mill import KnotTerms
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.quantities import LENGTH, UnitSystem, read_quantity, show
from clew.web.asked.chosen import NO_LOT
from clew.web.asked.limits import fault_for
from clew.web.asked.whole import whole_typed
from clew.web.knots.page import KnotsPage, open_knots

ANSWER_KEYS = ("ball", "lot", "joins", "at")
"""Everything that can be asked about a ball that came back."""
MOST_JOINS = 200
_LONGEST_TYPED = 400
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_BETWEEN = re.compile(r"\s*[;,\n]\s*")


@dataclass(frozen=True, slots=True)
class Returned:
    """What the page was asked, with its answer.

    Attributes
    ----------
    knots : KnotsPage
        The put-up: its choices and its terms.
    joins_text, at_text : str
        What was typed.
    faults : tuple of Fault
        What is wrong with it.
    answer : BuyerAnswer or None
        The answer; none while nothing was asked or something is wrong.
    """

    knots: KnotsPage
    joins_text: str
    at_text: str
    faults: tuple[Fault, ...]
    answer: BuyerAnswer | None

    def fault_of(self, key: str) -> str:
        """Say what is wrong with one input; empty when nothing is."""
        said = (
            joined(
                ": ",
                filter(None, (joined(" ", filter(None, (one.value, one.what))), one.expected)),
            )
            for one in self.faults
            if one.key == key
        )
        return joined("; ", dict.fromkeys(said))


def open_returned(mill: Mill, asked: Mapping[str, str], units: UnitSystem) -> Returned:
    """Answer the page.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot``, ``joins``, and ``at``, places of joins with their
        units, parted by commas.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    Returned
        The page's content.

    Raises
    ------
    BadInput
        When a ball or dye lot is not in the mill file.
    """
    # a lot that nobody named must not stand in a letter
    put_up = {"ball": asked.get("ball", ""), "lot": asked.get("lot", "").strip() or NO_LOT}
    knots = open_knots(mill, put_up, units)
    joins_text, at_text = asked.get("joins", "").strip(), asked.get("at", "").strip()
    if knots.terms is None or not (joins_text or at_text):
        return Returned(knots, joins_text[:20], at_text[:_LONGEST_TYPED], knots.faults, None)
    places, faults = _places(at_text)
    joins = len(places)
    if joins_text:
        joins, fault = whole_typed("joins", joins_text, MOST_JOINS)
        faults += () if fault is None else (fault,)
        if not faults and joins == 0:
            nothing = say("a ball with nothing in it needs no answer")
            faults = (Fault(nothing, say("1 or more"), key="joins"),)
    answer = None
    if not faults:
        try:
            answer = _answered(knots.terms, joins, places)
        except BadInput as bad:
            faults = tuple(_beside(one, knots.terms, units) for one in bad.faults)
    return Returned(
        knots=knots, joins_text=joins_text[:20], at_text=at_text[:_LONGEST_TYPED],
        faults=tuple(fault_for(one, units) for one in faults), answer=answer,
    )  # fmt: skip


@lru_cache(maxsize=64)
def _answered(terms: KnotTerms, joins: int, places: tuple[float, ...]) -> BuyerAnswer:
    return full_answer(terms, returned_ball(terms, joins, places))


def _beside(fault: Fault, terms: KnotTerms, units: UnitSystem) -> Fault:
    """Put a fault beside its input, in words of a ball."""
    if not fault.key.startswith("position"):
        return replace(fault, key="joins")
    if fault.what == "beyond the strand":
        end = show(terms.rule.ball_length_m, LENGTH, units, digits=4)
        return Fault(
            say("beyond the ball"),
            say("from 0 to its end at {end}", end=end),
            key="at",
            value=fault.value,
        )
    return replace(fault, key="at")


def _places(text: str) -> tuple[tuple[float, ...], tuple[Fault, ...]]:
    """Read places along the ball, each with its unit."""
    if len(text) > _LONGEST_TYPED:
        expected = say("at most {most} letters", most=_LONGEST_TYPED)
        return (), (Fault(say("too long a list"), expected, key="at"),)
    found: list[float] = []
    faults: list[Fault] = []
    for part in filter(None, _BETWEEN.split(text)):
        try:
            found.append(read_quantity(part, LENGTH))
        except BadInput as bad:
            first = bad.faults[0]
            several = len(_NUMBER.findall(part)) > 1
            what = say("no comma between places") if several else first.what
            expected = "12 m, 80 m" if several else first.expected
            faults.append(Fault(what, expected, key="at", value=repr(part[:40])))
    return tuple(found), tuple(faults)
