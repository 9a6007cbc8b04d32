"""Times and prices an order of runs: the referee of every solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.plan.sequence.checks import check_order
from clew.plan.sequence.problem import Judged, Order, SequenceProblem, Timed


@dataclass(frozen=True, slots=True)
class Found:
    """What a solver came to.

    Attributes
    ----------
    best : Judged
        The best order it knows.
    bound : int
        No order costs less [1/1000 money].
    """

    best: Judged
    bound: int

    @property
    def proven(self) -> bool:
        """Whether no order is better."""
        return self.best.cost == self.bound


def judge(problem: SequenceProblem, order: Order) -> Judged:
    """Time and price an order.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    order : Order
        The runs by line.

    Returns
    -------
    Judged
        Each run with its times, and the sums.

    Raises
    ------
    BadInput
        When the order is not one of this problem.

    Notes
    -----
    Source: DERIVED. A change begins when the line is free and the run is ready; the run follows at
    once; what ends after it is due pays for every minute, and so does a line for every minute
    between being free and its next change. A line that has nothing more to do does not wait.
    """
    check_order(problem, order)
    timed = tuple(one for line, runs in enumerate(order) for one in timed_line(problem, line, runs))
    return Judged(
        order=tuple(tuple(runs) for runs in order),
        timed=timed,
        change_cost=sum(one.change_cost for one in timed),
        late_cost=sum(one.late_cost for one in timed),
        run_cost=sum(one.run_cost for one in timed),
        wait_cost=sum(one.wait_cost for one in timed),
        late_runs=sum(one.upto_min > int(problem.due_min[one.line, one.run]) for one in timed),
    )


def timed_line(problem: SequenceProblem, line: int, runs: Sequence[int]) -> list[Timed]:
    """Time and price the runs of one line, one after the other.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    line : int
        Which line.
    runs : sequence of int
        Its runs, none twice; all that it can make.

    Returns
    -------
    list of Timed
        A place in time for each.

    Notes
    -----
    Source: DERIVED, as `judge`.
    """
    timed = []
    free_min = int(problem.free_min[line])
    wait_cost_per_min = int(problem.wait_cost_per_min[line])
    before = problem.runs
    for run in runs:
        change_from = max(free_min, int(problem.ready_min[line, run]))
        from_min = change_from + int(problem.change_min[line, before, run])
        upto_min = from_min + int(problem.run_min[line, run])
        late_min = max(0, upto_min - int(problem.due_min[line, run]))
        timed.append(
            Timed(
                run=run,
                line=line,
                change_from_min=change_from,
                from_min=from_min,
                upto_min=upto_min,
                change_cost=int(problem.change_cost[line, before, run]),
                late_cost=late_min * int(problem.late_cost_per_min[run]),
                run_cost=int(problem.run_cost[line, run]),
                wait_min=change_from - free_min,
                wait_cost=(change_from - free_min) * wait_cost_per_min,
            )
        )
        free_min, before = upto_min, run
    return timed
