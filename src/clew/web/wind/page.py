"""Wind: how many turns, and what the ball will be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from clew.ball.ball_answer import BallAnswer, ball_answer_of
from clew.ball.mill_checks import MILL_CHECKS
from clew.ball.run_card import RunCard, card_of
from clew.faults import BadInput, Fault
from clew.languages import joined, say, say_many
from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.mill.yarns import Yarn
from clew.quantities import DENSITY, FORCE, FRACTION, GAIN, LENGTH, MASS, UnitSystem
from clew.web.asked.chosen import Chosen, choose, mill_with
from clew.web.asked.entries import Asked, Entry, read_entries, with_faults
from clew.web.asked.limits import fault_for

OF_BALL = (
    Asked("target_mass", "target_mass_g", say("Target mass"), MASS, 0.08),
    Asked("target_length", "target_length_m", say("Target length"), LENGTH, 0.08),
    Asked("tension", "tension_cn", say("Winding tension"), FORCE, 0.6),
    Asked("pack_density", "pack_density_kg_m3", say("Pack density"), DENSITY, 0.3),
    Asked("wind_ratio", "wind_ratio", say("Wind ratio"), "number", 0.05),
)
OF_YARN = (
    Asked("shrink", "shrink_frac", say("Shrink in steam"), FRACTION, 0.4),
    Asked("regain_out", "regain_out_frac", say("Regain off the dryer"), GAIN, 0.5),
)
WIND_KEYS = ("ball", "lot", "line", *(one.key for one in OF_BALL + OF_YARN))
"""Everything that can be asked of a ball."""


@dataclass(frozen=True, slots=True)
class Wind:
    """What the page was asked, with its answer.

    Attributes
    ----------
    chosen : Chosen
        What was chosen, with what was typed in place.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    ball : BallAnswer or None
        The answer; none while something is wrong.
    card : RunCard or None
        The answer with all that a run card says besides; none also where it was not asked for.
    tried : Mill
        The mill with what was typed in place.
    tried_words : tuple of str
        Sentences that name what was tried, and the mill file's own turns; none when nothing was.
    """

    chosen: Chosen
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    ball: BallAnswer | None
    card: RunCard | None
    tried: Mill
    tried_words: tuple[str, ...]


def open_wind(
    mill: Mill, asked: Mapping[str, str], units: UnitSystem, *, whole: bool = True
) -> Wind:
    """Answer the page.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot``, ``line`` and the inputs to try.
    units : {"metric", "yard"}
        The reader's system of units.
    whole : bool
        Whether the rest of the run card is wanted too: its work is the larger part.

    Returns
    -------
    Wind
        The page's content. A dye lot of another yarn than the ball's is a fault on the page, so
        that another can be chosen there.

    Raises
    ------
    BadInput
        When a ball, dye lot or line is not in the mill file.
    """
    chosen = choose(mill, asked)
    ball, yarn = chosen.ball, chosen.yarn
    stands_for = {
        "target_mass_g": ball.declared_mass_g,
        "target_length_m": ball.declared_length_m,
    }
    tried_ball, entries, faults = read_entries(OF_BALL, ball, asked, units, stands_for=stands_for)
    tried_yarn, more, others = read_entries(OF_YARN, yarn, asked, units)
    assert isinstance(tried_ball, Ball)
    assert isinstance(tried_yarn, Yarn)
    faults = faults + others
    found: BallAnswer | None = None
    card: RunCard | None = None
    tried = mill_with(mill, ball=(ball, tried_ball), yarn=(yarn, tried_yarn))
    if not faults:
        faults = _clashes(tried, asked) if any(one.moved for one in entries + more) else ()
        try:
            if not faults:
                what = (ball.name, chosen.lot_name, chosen.line.name)
                card = _card(tried, *what) if whole else None
                found = _answer(tried, *what)
        except BadInput as bad:
            faults = bad.faults
    faults = tuple(fault_for(fault, units) for fault in faults)
    return Wind(
        chosen=replace(chosen, ball=tried_ball, yarn=tried_yarn),
        entries=with_faults(entries + more, faults), faults=faults,
        ball=found, card=card, tried=tried,
        tried_words=() if found is None else _tried_words(mill, chosen, entries + more),
    )  # fmt: skip


def _tried_words(mill: Mill, chosen: Chosen, entries: tuple[Entry, ...]) -> tuple[str, ...]:
    """Name what was tried, and the turns that the mill file gives by itself."""
    moved = [one.said for one in entries if one.moved]
    if not moved:
        return ()
    said = say("Tried: {values}.", values=joined(", ", moved))
    try:
        own = _answer(mill, chosen.ball.name, chosen.lot_name, chosen.line.name)
    except BadInput:
        return (said, say("The mill file by itself gives no answer."))
    turns = say_many(
        "The mill file gives {n} turn.", "The mill file gives {n} turns.", own.answer.turns
    )
    return (said, turns)


def _clashes(tried: Mill, asked: Mapping[str, str]) -> tuple[Fault, ...]:
    """See that what was typed can stand in a mill: the checks a mill file is read with."""
    return tuple(
        Fault(clash.what, clash.expected, key=key, value=repr(asked.get(key, "")))
        for check in MILL_CHECKS
        for clash in check(tried)
        if (key := str(clash.path[-1])) in asked
    )


@lru_cache(maxsize=16)
def _answer(mill: Mill, ball: str, lot: str, line: str) -> BallAnswer:
    """Answer once for a page, its fragment and its drawing."""
    return ball_answer_of(mill, ball, lot, line)


@lru_cache(maxsize=16)
def _card(mill: Mill, ball: str, lot: str, line: str) -> RunCard:
    """Work a card out once for a page, its fragment and its paper."""
    return card_of(mill, _answer(mill, ball, lot, line), ball, lot, line)
