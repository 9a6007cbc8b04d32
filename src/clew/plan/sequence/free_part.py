"""What is left to decide once the frozen runs are made: a smaller problem without frozen runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clew.plan.sequence.judge import timed_line
from clew.plan.sequence.problem import Order, SequenceProblem, Wholes


@dataclass(frozen=True, slots=True)
class FreePart:
    """The runs that are not frozen, as a problem of their own.

    Attributes
    ----------
    problem : SequenceProblem
        Its lines stand where the last frozen run leaves them, and are free when it ends.
    kept : tuple of int
        Which runs of the whole they are.
    frozen : Order
        The frozen runs of the whole.
    frozen_cost : int
        What those cost, whatever follows [1/1000 money].
    """

    problem: SequenceProblem
    kept: tuple[int, ...]
    frozen: Order
    frozen_cost: int

    def whole(self, order: Order) -> Order:
        """Give the order of the whole problem, frozen runs first."""
        return tuple(
            (*first, *(self.kept[run] for run in then))
            for first, then in zip(self.frozen, order, strict=True)
        )

    def part(self, order: Order) -> Order:
        """Give what an order of the whole says of these runs."""
        place = {run: number for number, run in enumerate(self.kept)}
        return tuple(
            tuple(place[run] for run in runs[len(first) :])
            for first, runs in zip(self.frozen, order, strict=True)
        )


def free_part(problem: SequenceProblem) -> FreePart:
    """Take the frozen runs out of a problem.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.

    Returns
    -------
    FreePart
        Every order of it costs what the same order of the whole costs, less ``frozen_cost``.

    Notes
    -----
    Source: DERIVED. Nothing changes before the last frozen run ends; from then on only where the
    line stands and when it is free matter. What the line waits within its frozen runs is paid with
    them; what it waits after the last of them is the first wait of the part.
    """
    gone = {run for first in problem.frozen for run in first}
    kept = np.array([run for run in range(problem.runs) if run not in gone], dtype=np.int64)
    free_min = problem.free_min.copy()
    before = np.empty((len(problem.lines), 2, problem.runs), dtype=np.int64)
    cost = 0
    for line, runs in enumerate(problem.frozen):
        timed = timed_line(problem, line, runs)
        cost += sum(one.change_cost + one.late_cost + one.run_cost + one.wait_cost for one in timed)
        stands = runs[-1] if runs else problem.runs
        before[line] = problem.change_min[line, stands], problem.change_cost[line, stands]
        if timed:
            free_min[line] = timed[-1].upto_min

    def changes(table: Wholes, first: Wholes) -> Wholes:
        """Only the changes between kept runs, and those from where the line then stands."""
        return np.concatenate((table[:, kept][:, :, kept], first[:, None, kept]), axis=1)

    free = SequenceProblem(
        names=tuple(problem.names[run] for run in kept.tolist()),
        lines=problem.lines,
        run_min=problem.run_min[:, kept],
        run_cost=problem.run_cost[:, kept],
        change_min=changes(problem.change_min, before[:, 0]),
        change_cost=changes(problem.change_cost, before[:, 1]),
        ready_min=problem.ready_min[:, kept],
        due_min=problem.due_min[:, kept],
        late_cost_per_min=problem.late_cost_per_min[kept],
        free_min=free_min,
        wait_cost_per_min=problem.wait_cost_per_min,
        frozen=((),) * len(problem.lines),
    )
    return FreePart(free, tuple(kept.tolist()), problem.frozen, cost)
