"""A plan for judging a lot by how many of the balls drawn are bad, and how it comes by its numbers.

A plan is one drawing, or two: so many balls, accepted at so many bad, rejected at so many. The
chance of a number of bad balls is hypergeometric where the lot's size is given, binomial where the
lot is endless beside the sample (a line that runs on).
"""

from __future__ import annotations

from dataclasses import dataclass

from clew.checks.packages.plan import Stage
from clew.faults import BadInput, Fault
from clew.languages import say, say_many
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
            return say(
                "Draw {balls}: accept at {accept}, reject at {reject}.",
                balls=balls(first.drawn),
                accept=bad_or_fewer(first.accept),
                reject=first.reject,
            )
        second = self.stages[1]
        return say(
            "Draw {balls}: accept at {accept}, reject at {reject} or more. In between draw {more} "
            "more: accept at {accept_all} of all {all_drawn}, else reject.",
            balls=balls(first.drawn),
            accept=bad_or_fewer(first.accept),
            reject=first.reject,
            more=second.drawn - first.drawn,
            accept_all=bad_or_fewer(second.accept),
            all_drawn=second.drawn,
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
    return say("{count} bad or fewer", count=count) if count else say("no bad ball")


def balls(count: int) -> str:
    """Write a number of balls.

    Parameters
    ----------
    count : int
        How many.
    """
    return say_many("{n} ball", "{n} balls", count)


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
    n = _drawn(n, say("balls drawn"))
    accept = whole_number(accept, say("balls that may be bad"), low=0)
    if accept >= n:
        raise BadInput(
            Fault(
                say("a plan that accepts every lot"),
                say("fewer bad than drawn"),
                value=say("{accept} of {n}", accept=accept, n=n),
            )
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
    first_n = _drawn(first_n, say("balls drawn first"))
    second_n = _drawn(second_n, say("balls drawn second"))
    first_accept = whole_number(first_accept, say("balls that may be bad at first"), low=0)
    if first_reject < first_accept + 2:
        raise BadInput(
            Fault(
                say("no second drawing between accepting and rejecting"),
                expected=say(
                    "rejection at {first_accept} bad or more", first_accept=first_accept + 2
                ),
                value=str(first_reject),
            )
        )
    if first_reject - first_accept > _WIDEST:
        raise BadInput(
            Fault(
                say("too wide between accepting and rejecting"),
                expected=say("at most {widest} bad balls apart", widest=_WIDEST),
                value=str(first_reject - first_accept),
            )
        )
    if not first_reject - 1 <= second_accept < first_n + second_n:
        raise BadInput(
            Fault(
                say("a second drawing that decides nothing"),
                expected=say(
                    "acceptance at {first_reject} to {second_n} bad of all",
                    first_reject=first_reject - 1,
                    second_n=first_n + second_n - 1,
                ),
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
        raise BadInput(
            Fault(
                say("too many balls"),
                say("at most {most_drawn}", most_drawn=MOST_DRAWN),
                key=key,
                value=str(count),
            )
        )
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
    whole_number(lot_size, say("balls in the lot"))
    if lot_size > LARGEST_LOT:
        raise BadInput(
            Fault(
                say("too large a lot"),
                expected=say(
                    "at most {largest_lot} balls, or no size: endless", largest_lot=LARGEST_LOT
                ),
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
                say("a plan that draws more balls than the lot has"),
                expected=say("at most {lot_size}", lot_size=lot_size),
                value=str(plan.most_n),
            )
        )
