"""A plan for judging a lot by how many of the balls drawn are bad, and how it comes by its numbers.

A plan is one drawing, or two: so many balls, accepted at so many bad, rejected at so many. The
chance of a number of bad balls is hypergeometric where the lot's size is given, binomial where the
lot is endless beside the sample (a line that runs on).
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.checks.packages.plan import Stage
from clew.faults import BadInput, Fault
from clew.strand.given import whole_number

MOST_DRAWN = 1_000_000
"""A plan of more balls than that is a mistake."""
LARGEST_LOT = 100_000_000
"""Balls of the largest lot that is reckoned with; a larger one is endless beside its sample."""
_WIDEST = 500
"""Numbers of bad balls between accepting and rejecting at which a second drawing is still made."""


@dataclass(frozen=True, slots=True)
class AttributePlan:
    """One drawing of balls, or two, and how many of them may be bad.

    Attributes
    ----------
    stages : tuple of Stage
        One or two; of the second, `drawn` counts both drawings and so do its numbers of bad balls.
    """

    stages: tuple[Stage, ...]

    @property
    def first_n(self) -> int:
        """Balls of the first drawing."""
        return self.stages[0].drawn

    @property
    def second_n(self) -> int:
        """Balls of the second drawing; 0 where there is none."""
        return self.stages[1].drawn - self.first_n if len(self.stages) > 1 else 0

    @property
    def most_n(self) -> int:
        """Balls drawn when the plan goes to its end."""
        return self.stages[-1].drawn

    @property
    def words(self) -> str:
        """What to do, in a sentence or two."""
        first = self.stages[0]
        if len(self.stages) == 1:
            return (
                f"Draw {balls(first.drawn)}: accept at {bad_or_fewer(first.accept)}, "
                f"reject at {first.reject}."
            )
        second = self.stages[1]
        return (
            f"Draw {balls(first.drawn)}: accept at {bad_or_fewer(first.accept)}, reject at "
            f"{first.reject} or more. In between draw {second.drawn - first.drawn} more: accept at "
            f"{bad_or_fewer(second.accept)} of all {second.drawn}, else reject."
        )


def bad_or_fewer(count: int) -> str:
    """Write the most bad balls a plan accepts at.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    str
        "3 bad or fewer", "no bad ball".
    """
    return f"{count} bad or fewer" if count else "no bad ball"


def balls(count: int) -> str:
    """Write a number of balls.

    Parameters
    ----------
    count : int
        How many.
    """
    return "1 ball" if count == 1 else f"{count} balls"


def single_plan(n: int, accept: int) -> AttributePlan:
    """Make a plan of one drawing.

    Parameters
    ----------
    n : int
        Balls drawn.
    accept : int
        Most bad balls at which the lot is accepted.

    Returns
    -------
    AttributePlan
        Rejecting at one bad ball more than it accepts at.

    Raises
    ------
    BadInput
        When a lot would be accepted whatever is drawn.
    """
    n = _drawn(n, "balls drawn")
    accept = whole_number(accept, "balls that may be bad", low=0)
    if accept >= n:
        raise BadInput(
            Fault("a plan that accepts every lot", "fewer bad than drawn", value=f"{accept} of {n}")
        )
    return AttributePlan((Stage(n, accept, accept + 1),))


def double_plan(
    first_n: int, first_accept: int, first_reject: int, second_n: int, second_accept: int
) -> AttributePlan:
    """Make a plan of two drawings.

    Parameters
    ----------
    first_n : int
        Balls of the first drawing.
    first_accept : int
        Most bad balls in it at which the lot is accepted at once.
    first_reject : int
        Least bad balls in it at which the lot is rejected at once.
    second_n : int
        Balls of the second drawing.
    second_accept : int
        Most bad balls in both drawings at which the lot is accepted.

    Returns
    -------
    AttributePlan
        With both stages.

    Raises
    ------
    BadInput
        When the numbers make no second drawing, or accept every lot.
    """
    first_n = _drawn(first_n, "balls drawn first")
    second_n = _drawn(second_n, "balls drawn second")
    first_accept = whole_number(first_accept, "balls that may be bad at first", low=0)
    if first_reject < first_accept + 2:
        raise BadInput(
            Fault(
                "no second drawing between accepting and rejecting",
                expected=f"rejection at {first_accept + 2} bad or more",
                value=str(first_reject),
            )
        )
    if first_reject - first_accept > _WIDEST:
        raise BadInput(
            Fault(
                "too wide between accepting and rejecting",
                expected=f"at most {_WIDEST} bad balls apart",
                value=str(first_reject - first_accept),
            )
        )
    if not first_reject - 1 <= second_accept < first_n + second_n:
        raise BadInput(
            Fault(
                "a second drawing that decides nothing",
                expected=f"acceptance at {first_reject - 1} to {first_n + second_n - 1} bad of all",
                value=str(second_accept),
            )
        )
    return AttributePlan(
        (
            Stage(first_n, first_accept, first_reject),
            Stage(first_n + second_n, second_accept, second_accept + 1),
        )
    )


def _drawn(count: int, key: str) -> int:
    count = whole_number(count, key)
    if count > MOST_DRAWN:
        raise BadInput(Fault("too many balls", f"at most {MOST_DRAWN}", key=key, value=str(count)))
    return count


def check_lot(lot_size: int) -> None:
    """Refuse a lot of no balls, or of more than are reckoned with.

    Parameters
    ----------
    lot_size : int
        Balls in the lot.

    Raises
    ------
    BadInput
        When it cannot be meant.
    """
    whole_number(lot_size, "balls in the lot")
    if lot_size > LARGEST_LOT:
        raise BadInput(
            Fault(
                "too large a lot",
                expected=f"at most {LARGEST_LOT} balls, or no size: endless",
                value=str(lot_size),
            )
        )


def check_fits(plan: AttributePlan, lot_size: int | None) -> None:
    """Refuse a plan that draws more balls than the lot has.

    Parameters
    ----------
    plan : AttributePlan
        The plan.
    lot_size : int or None
        Balls in the lot; None where it is endless.

    Raises
    ------
    BadInput
        When it does.
    """
    if lot_size is None:
        return
    check_lot(lot_size)
    if plan.most_n > lot_size:
        raise BadInput(
            Fault(
                "a plan that draws more balls than the lot has",
                expected=f"at most {lot_size}",
                value=str(plan.most_n),
            )
        )
