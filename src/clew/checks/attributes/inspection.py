"""What was found in the balls drawn, fault by fault, and what follows for the lot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.checks.attributes.lot_count import most_bad
from clew.checks.attributes.plans import AttributePlan, balls, check_fits
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import whole_number

FAULTS = {
    "knots": say("with more knots than the limit"),
    "band": say("with a wrong or missing band"),
    "shade": say("off shade"),
    "shape": say("out of shape"),
}
"""Faults of a ball that the house has words for; a mill may name its own."""
_NAMES = {
    "knots": say("knots"),
    "band": say("band"),
    "shade": say("shade"),
    "shape": say("shape"),
    "fault": say("fault"),
}


def fault_words(fault: str) -> str:
    """Say what is wrong with balls that have a fault, such as ``off shade``."""
    return FAULTS.get(fault) or say("with {fault}", fault=fault)


Outcome = Literal["accept", "reject", "draw more"]


@dataclass(frozen=True, slots=True)
class Inspection:
    """One fault looked for in a sample.

    Attributes
    ----------
    fault : str
        Name of the fault.
    n : int
        Balls looked at.
    bad : int
        Balls found with it.
    """

    fault: str
    n: int
    bad: int

    def __post_init__(self) -> None:
        whole_number(self.n, say("balls looked at for {fault}", fault=self.fault))
        whole_number(self.bad, say("bad balls for {fault}", fault=self.fault), low=0)
        if self.bad > self.n:
            raise BadInput(
                Fault(
                    say("more bad balls than were looked at"),
                    expected=say("at most {n}", n=self.n),
                    key=self.fault,
                    value=str(self.bad),
                )
            )


@dataclass(frozen=True, slots=True)
class FaultVerdict:
    """What the plan says of one fault.

    Attributes
    ----------
    inspection : Inspection
        What was found.
    outcome : str
        "accept", "reject" or "draw more".
    more : int
        Balls still to draw before the plan decides; 0 where it has.
    most_bad_frac : float
        Upper limit of the share of bad balls in the lot at 95 % confidence [1].
    lot_size : int or None
        Balls in the lot; None where it is endless.
    """

    inspection: Inspection
    outcome: Outcome
    more: int
    most_bad_frac: float
    lot_size: int | None

    @property
    def words(self) -> str:
        """The verdict in a sentence."""
        seen = self.inspection
        what = say("bad") if seen.fault == "fault" else fault_words(seen.fault)
        does = {
            "accept": say("accept"),
            "reject": say("reject"),
            "draw more": say("draw {more} more", more=self.more),
        }[self.outcome]
        if self.lot_size is None:
            most = say("at most {share:.2g} %", share=100 * self.most_bad_frac)
        else:
            most = say(
                "at most {most} of {lot}",
                most=round(self.most_bad_frac * self.lot_size),
                lot=self.lot_size,
            )
        return say(
            "{fault}: {does}. {bad} of {balls} {what}; in the lot {most}, with 95 % confidence.",
            fault=_NAMES.get(seen.fault, seen.fault),
            does=does,
            bad=seen.bad,
            balls=balls(seen.n),
            what=what,
            most=most,
        )


def judge(inspection: Inspection, plan: AttributePlan, lot_size: int | None = None) -> FaultVerdict:
    """Judge one fault by a plan.

    A lot is rejected as soon as the bad balls suffice, however few were looked at; it is accepted
    only when the plan's balls were all looked at.

    Parameters
    ----------
    inspection : Inspection
        What was found.
    plan : AttributePlan
        The plan.
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    FaultVerdict
        Accept, reject, or how many more to draw.

    Raises
    ------
    BadInput
        When more balls were looked at than the plan asks for, or than the lot has.
    """
    check_fits(plan, lot_size)
    n, bad = inspection.n, inspection.bad
    if n > plan.most_n:
        raise BadInput(
            Fault(
                say("more balls looked at than the plan draws"),
                expected=say(
                    "the first {most_n} looked at, and the bad ones among those", most_n=plan.most_n
                ),
                key=inspection.fault,
                value=str(n),
            )
        )
    outcome, more = _outcome(n, bad, plan)
    return FaultVerdict(inspection, outcome, more, most_bad(n, bad, lot_size), lot_size)


def _outcome(n: int, bad: int, plan: AttributePlan) -> tuple[Outcome, int]:
    last = plan.stages[-1]
    first = plan.stages[0]
    if n <= first.drawn and bad >= first.reject:
        return "reject", 0
    if n < first.drawn:
        return "draw more", first.drawn - n
    if n == first.drawn and bad <= first.accept:
        return "accept", 0
    if bad >= last.reject:
        return "reject", 0
    if n < last.drawn:
        return "draw more", last.drawn - n
    return "accept", 0


def judge_all(
    inspections: Sequence[Inspection], plan: AttributePlan, lot_size: int | None = None
) -> list[FaultVerdict]:
    """Judge every fault by the same plan.

    Parameters
    ----------
    inspections : sequence of Inspection
        What was found, one a fault.
    plan : AttributePlan
        The plan.
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Returns
    -------
    list of FaultVerdict
        In the same order.

    Raises
    ------
    BadInput
        When a fault stands twice, or a sample does not go with the plan.
    """
    names = [one.fault for one in inspections]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadInput(
            [Fault(say("a fault twice"), say("each once"), value=name) for name in twice]
        )
    return [judge(one, plan, lot_size) for one in inspections]
