"""The plan a careful lead makes by hand: on every line from light to dark."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.plan.sequence.problem import NEVER_MIN, Order, SequenceProblem


def light_to_dark(problem: SequenceProblem, lightness: NDArray[np.float64]) -> Order:
    """Put the runs on the lines from light to dark, with an eye on the load.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    lightness : array of float, shape (runs,)
        CIELAB lightness of each run's colour [1].

    Returns
    -------
    Order
        Frozen runs first. Then the lightest run not yet placed goes to the line where it ends
        first, or stays behind the run it needs no change from, as long as that line has no more
        than its share. Of runs as light as each other the one with the least change comes first,
        then the one due first.

    Raises
    ------
    BadInput
        When there is not one lightness a run.

    Notes
    -----
    Source: common practice, no published source.
    """
    lightness = np.asarray(lightness, dtype=np.float64)
    if lightness.shape != (problem.runs,) or not np.isfinite(lightness).all():
        raise BadInput(Fault("not one lightness a run", f"{problem.runs} numbers", key="lightness"))
    placed = _Lines(problem)
    frozen = {run for first in problem.frozen for run in first}
    left = [run for run in range(problem.runs) if run not in frozen]
    left.sort(key=lambda run: (-lightness[run], int(problem.due_min[:, run].min()), run))
    while left:
        as_light = [run for run in left if lightness[run] == lightness[left[0]]]
        places = [placed.place(run) for run in as_light]
        best = min(range(len(as_light)), key=lambda number: (*places[number][:2], number))
        run = as_light[best]
        placed.put(places[best][-1], run)
        left.remove(run)
    return tuple(tuple(runs) for runs in placed.runs)


class _Lines:
    """Lines being filled, each with its last run and when it is free."""

    def __init__(self, problem: SequenceProblem) -> None:
        self.problem = problem
        self.runs: list[list[int]] = [[] for _ in problem.lines]
        self.free_min: list[int] = problem.free_min.tolist()
        made = np.where(problem.run_min < NEVER_MIN, problem.run_min, NEVER_MIN).min(axis=0)
        self.share_min = int(made.sum()) / len(problem.lines)
        for line, first in enumerate(problem.frozen):
            for run in first:
                self.put(line, run)

    def last(self, line: int) -> int:
        """Give the row of the change tables the line stands at."""
        return self.runs[line][-1] if self.runs[line] else self.problem.runs

    def end_min(self, line: int, run: int) -> int:
        """When the run would end there [min]."""
        return (
            max(self.free_min[line], int(self.problem.ready_min[line, run]))
            + int(self.problem.change_min[line, self.last(line), run])
            + int(self.problem.run_min[line, run])
        )

    def place(self, run: int) -> tuple[bool, int, int, int]:
        """Tell whether it needs a change, what that costs, when it ends and on which line."""
        found: list[tuple[bool, int, int, int]] = []
        for line in range(len(self.runs)):
            if self.problem.run_min[line, run] >= NEVER_MIN:
                continue
            cost = int(self.problem.change_cost[line, self.last(line), run])
            minutes = int(self.problem.change_min[line, self.last(line), run])
            end = self.end_min(line, run)
            follows = cost == 0 and minutes == 0 and end <= self.share_min
            found.append((not follows, cost, end, line))
        # A change-free place is taken as it is; otherwise the load decides, then the change.
        return min(found, key=lambda one: (one[0], one[2], one[1], one[3]))

    def put(self, line: int, run: int) -> None:
        """Put the run last on the line."""
        self.free_min[line] = self.end_min(line, run)
        self.runs[line].append(run)
