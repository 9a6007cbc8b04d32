"""The problem of the colour sequence, in whole minutes and thousandths of money.

Whole numbers throughout: every solver, the search and a count by hand then agree to the last digit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Wholes = NDArray[np.int64]

NEVER_MIN = 10**7
"""A run of so many minutes cannot be made on that line."""


@dataclass(frozen=True, slots=True)
class SequenceProblem:
    """Runs to be put on lines, each line one after the other.

    Row ``n`` of the change tables (n runs) is the state the line is in now. Minutes are of a line's
    own working time, from now on. A run's change comes before it; a run is late when it ends after
    it is due. Between the end of a run and the next change on its line the line waits, when the
    next run is not ready, and its crew is paid.

    Attributes
    ----------
    names : tuple of str
        The runs.
    lines : tuple of str
        The lines.
    run_min : array of int, shape (lines, runs)
        How long a run takes [min]; `NEVER_MIN` where the line cannot make it.
    run_cost : array of int, shape (lines, runs)
        What it costs to make it there, beyond what it costs anywhere [1/1000 money].
    change_min : array of int, shape (lines, runs + 1, runs)
        How long the change from a run to a run takes [min].
    change_cost : array of int, shape (lines, runs + 1, runs)
        What that change costs [1/1000 money].
    ready_min : array of int, shape (lines, runs)
        Before this a run's change cannot begin [min].
    due_min : array of int, shape (lines, runs)
        By when it should be done [min].
    late_cost_per_min : array of int, shape (runs,)
        What a working minute late costs [1/1000 money].
    free_min : array of int, shape (lines,)
        Until then the line is in use; that is not waiting [min].
    wait_cost_per_min : array of int, shape (lines,)
        What a minute costs in which a line that has more to do waits for it [1/1000 money].
    frozen : tuple of tuple of int
        By line, runs that stay first, in this order.
    """

    names: tuple[str, ...]
    lines: tuple[str, ...]
    run_min: Wholes
    run_cost: Wholes
    change_min: Wholes
    change_cost: Wholes
    ready_min: Wholes
    due_min: Wholes
    late_cost_per_min: Wholes
    free_min: Wholes
    wait_cost_per_min: Wholes
    frozen: tuple[tuple[int, ...], ...]

    @property
    def runs(self) -> int:
        """How many runs."""
        return len(self.names)


Order = tuple[tuple[int, ...], ...]
"""By line, the runs in their order."""


@dataclass(frozen=True, slots=True)
class Timed:
    """One run with its place in time.

    Attributes
    ----------
    run, line : int
        Which run, on which line.
    change_from_min, from_min, upto_min : int
        When its change begins, when it begins, when it ends [min of the line's working time].
    change_cost, late_cost, run_cost : int
        What they cost [1/1000 money].
    wait_min : int
        How long its line waits for it, from when the line is free to its change [min].
    wait_cost : int
        What that costs [1/1000 money].
    """

    run: int
    line: int
    change_from_min: int
    from_min: int
    upto_min: int
    change_cost: int
    late_cost: int
    run_cost: int
    wait_min: int
    wait_cost: int


@dataclass(frozen=True, slots=True)
class Judged:
    """An order of runs, timed and priced.

    Attributes
    ----------
    order : Order
        The runs by line.
    timed : tuple of Timed
        Each run, by line and in time.
    change_cost, late_cost, run_cost, wait_cost : int
        Sums [1/1000 money].
    late_runs : int
        Runs that end late.
    """

    order: Order
    timed: tuple[Timed, ...]
    change_cost: int
    late_cost: int
    run_cost: int
    wait_cost: int
    late_runs: int

    @property
    def cost(self) -> int:
        """What is made as small as can be [1/1000 money]."""
        return self.change_cost + self.late_cost + self.run_cost + self.wait_cost


@dataclass(frozen=True, slots=True)
class SequenceAnswer:
    """The best order found, and how good it is at least.

    Attributes
    ----------
    best : Judged
        The plan.
    bound : int
        No order costs less [1/1000 money].
    proven : bool
        Whether the plan is the best there is: the bound is its cost.
    bound_by : str
        What gave the bound: ``assignment``, ``count of all orders``, ``colours``, ``walks`` or
        ``CP-SAT``.
    found_by : str
        What found the plan: ``light to dark``, ``present plan``, ``search``, ``count of all
        orders`` or ``CP-SAT``.
    assignment_bound : int
        The bound of the assignment relaxation alone [1/1000 money].
    light_to_dark : Judged
        The runs from light to dark, for comparison.
    present : Judged or None
        The plan that was begun from.
    seed : int
        Seed of the search.
    """

    best: Judged
    bound: int
    proven: bool
    bound_by: str
    found_by: str
    assignment_bound: int
    light_to_dark: Judged
    present: Judged | None
    seed: int

    @property
    def gap_frac(self) -> float:
        """How far the plan may be above the best there is, as a share of its cost [1]."""
        return (self.best.cost - self.bound) / self.best.cost if self.best.cost else 0.0
