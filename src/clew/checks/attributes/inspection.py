"""What was found in the balls drawn, fault by fault, and what follows for the lot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.checks.attributes.lot_count import most_bad
from clew.checks.attributes.plans import AttributePlan, balls, check_fits
from clew.faults import BadInput, Fault
from clew.strand.given import whole_number

FAULTS = {
    "knots": "with more knots than the limit",
    "band": "with a wrong or missing band",
    "shade": "off shade",
    "shape": "out of shape",
}
"""Faults of a ball that the house has words for; a mill may name its own."""

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
        whole_number(self.n, f"balls looked at for {self.fault}")
        whole_number(self.bad, f"bad balls for {self.fault}", low=0)
        if self.bad > self.n:
            raise BadInput(
                Fault(
                    "more bad balls than were looked at",
                    expected=f"at most {self.n}",
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
        what = FAULTS.get(seen.fault, "bad" if seen.fault == "fault" else f"with {seen.fault}")
        does = {
            "accept": "accept",
            "reject": "reject",
            "draw more": f"draw {self.more} more",
        }[self.outcome]
        if self.lot_size is None:
            most = f"at most {100 * self.most_bad_frac:.2g} %"
        else:
            most = f"at most {round(self.most_bad_frac * self.lot_size)} of {self.lot_size}"
        return (
            f"{seen.fault}: {does}. {seen.bad} of {balls(seen.n)} {what}; "
            f"in the lot {most}, with 95 % confidence."
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
                "more balls looked at than the plan draws",
                expected=f"the first {plan.most_n} looked at, and the bad ones among those",
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
        raise BadInput([Fault("a fault twice", "each once", value=name) for name in twice])
    return [judge(one, plan, lot_size) for one in inspections]
