"""What a plan's runs cost together, each by its own line, lot, size and change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.mill.model import Mill
from clew.plan.costing.ball_cost import BallCost, ball_cost
from clew.plan.sequence.timed_run import TimedRun


@dataclass(frozen=True, slots=True)
class RunQuote:
    """What one run costs.

    Attributes
    ----------
    run : TimedRun
        The run.
    cost : BallCost
        The cost of one of its balls.
    """

    run: TimedRun
    cost: BallCost

    @property
    def money(self) -> float:
        """What its balls cost together; lateness is not in it [money]."""
        return self.run.run.balls * self.cost.total


@dataclass(frozen=True, slots=True)
class Quote:
    """What runs cost together.

    Attributes
    ----------
    runs : tuple of RunQuote
        Run by run.
    """

    runs: tuple[RunQuote, ...]

    @property
    def money(self) -> float:
        """All balls of all runs [money]."""
        return sum(one.money for one in self.runs)

    @property
    def late(self) -> float:
        """What lateness costs beside that [money]."""
        return sum(one.run.late_cost for one in self.runs)


def quote_of(
    mill: Mill, runs: Sequence[TimedRun], *, seed: int = 1, replications: int = 100
) -> Quote:
    """Work out what runs cost.

    Parameters
    ----------
    mill : Mill
        The mill.
    runs : sequence of TimedRun
        The runs of an order or of a plan, each with the change before it.
    seed, replications : int
        As for `clew.plan.costing.ball_cost.ball_cost`.

    Returns
    -------
    Quote
        Run by run.

    Raises
    ------
    BadInput
        As for `ball_cost`.
    """
    return Quote(
        tuple(
            RunQuote(
                one,
                ball_cost(
                    mill,
                    one.run.ball_name,
                    one.run.lot_name,
                    one.line_name,
                    run_balls=one.run.balls,
                    change=one.change,
                    seed=seed,
                    replications=replications,
                ),
            )
            for one in runs
        )
    )
