"""From lot to lot: when inspection is tightened, reduced, or stopped.

MEMORY: the rules are those recalled of ISO 2859-1:1999, clause 9.3; only "tighten after 2 of 5,
back after 5 accepted" is named in what was read. Every answer carries that mark.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from clew.faults import BadInput, Fault

State = Literal["normal", "tightened", "reduced", "stopped"]

MARK = "Switching rules of ISO 2859-1 from MEMORY: table unconfirmed"
_SCORE_TO_REDUCE = 30


@dataclass(frozen=True, slots=True)
class InspectedLot:
    """One lot at its first inspection; a lot offered again does not count.

    Attributes
    ----------
    accepted : bool
        It passed.
    accept_number : int
        Bad balls its plan accepted at: a plan that lets none or one through scores less.
    passes_tighter : bool
        It would have passed at the AQL one step tighter; asked of plans that let two or more pass.
    in_gap : bool
        Of reduced inspection: it passed with more bad balls than the plan accepts at.
    steady : bool
        The line ran steadily and the lead allows reduced inspection.
    """

    accepted: bool
    accept_number: int = 0
    passes_tighter: bool = False
    in_gap: bool = False
    steady: bool = True


@dataclass(frozen=True, slots=True)
class Standing:
    """Where inspection stands.

    Attributes
    ----------
    state : str
        Normal, tightened, reduced, or stopped until the cause is found.
    recent : tuple of bool
        Of up to five last lots under this inspection: accepted or not.
    score : int
        Switching score towards reduced inspection.
    rejected : int
        Lots rejected since tightened inspection began.
    why : str
        What brought the last change about; empty where nothing changed.
    """

    state: State = "normal"
    recent: tuple[bool, ...] = ()
    score: int = 0
    rejected: int = 0
    why: str = ""


def after_lot(before: Standing, lot: InspectedLot) -> Standing:
    """Take one lot's outcome into account.

    Parameters
    ----------
    before : Standing
        Where inspection stood when the lot was judged.
    lot : InspectedLot
        The lot.

    Returns
    -------
    Standing
        What holds for the next lot.

    Raises
    ------
    BadInput
        When inspection was stopped, or the lot says two things at once.
    """
    if lot.in_gap and not (lot.accepted and before.state == "reduced"):
        raise BadInput(
            Fault("a lot in the gap", "a lot accepted under reduced inspection, or none in the gap")
        )
    if before.state == "stopped":
        raise BadInput(
            Fault(
                "inspection is stopped",
                expected="a history that begins after the cause was mended",
            )
        )
    now = replace(before, recent=(*before.recent, lot.accepted)[-5:], why="")
    return {"normal": _after_normal, "tightened": _after_tightened, "reduced": _after_reduced}[
        before.state
    ](now, lot)


def _after_normal(now: Standing, lot: InspectedLot) -> Standing:
    if now.recent.count(False) >= 2:
        return Standing("tightened", why="two of five lots or fewer in a row were rejected")
    scored = _scored(lot)
    score = now.score + scored if scored else 0
    if score >= _SCORE_TO_REDUCE and lot.steady:
        return Standing("reduced", why=f"switching score {score}, and the line runs steadily")
    return replace(now, score=score)


def _after_reduced(now: Standing, lot: InspectedLot) -> Standing:
    if not lot.accepted:
        return Standing(why="a lot was rejected under reduced inspection")
    if lot.in_gap:
        return Standing(why="more bad balls than reduced inspection accepts at")
    if not lot.steady:
        return Standing(why="the line no longer runs steadily")
    return now


def _scored(lot: InspectedLot) -> int:
    if not lot.accepted:
        return 0
    if lot.accept_number < 2:
        return 2
    return 3 if lot.passes_tighter else 0


def _after_tightened(now: Standing, lot: InspectedLot) -> Standing:
    if lot.accepted:
        if len(now.recent) == 5 and all(now.recent):
            return Standing("normal", why="five lots in a row were accepted")
        return now
    rejected = now.rejected + 1
    if rejected >= 5:
        return Standing("stopped", why="five lots were rejected under tightened inspection")
    return replace(now, rejected=rejected)


def follow(lots: Iterable[InspectedLot], start: Standing | None = None) -> list[Standing]:
    """Follow lots in order.

    Parameters
    ----------
    lots : iterable of InspectedLot
        Oldest first.
    start : Standing or None
        Where inspection stood before; normal when left out.

    Returns
    -------
    list of Standing
        After each lot. It ends at the lot that stops inspection.

    Raises
    ------
    BadInput
        When a lot says two things at once, or inspection was stopped at the start.
    """
    now = start or Standing()
    found = []
    for lot in lots:
        now = after_lot(now, lot)
        found.append(now)
        if now.state == "stopped":
            break
    return found
