"""The best order of the runs in the time there is, and how good it is at least."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.plan.sequence.all_orders import all_orders, can_count
from clew.plan.sequence.assignment_bound import assignment_bound
from clew.plan.sequence.checks import check_problem
from clew.plan.sequence.colour_bound import colour_bound
from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.judge import Found, judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.problem import Judged, Order, SequenceAnswer, SequenceProblem
from clew.plan.sequence.search import search
from clew.plan.sequence.walk_bound import walk_bound

SEARCH_SHARE = 0.4
"""The search has at most this share of the time [1]."""

FEW_RUNS = 9
"""So few are always counted out: it takes milliseconds, once the count is compiled."""
FEW_S = 30.0
COUNT_SHARE = 0.8
"""The count of all orders has at most this share of what is then left [1]."""

COLOURS_SHARE, LATE_COLOURS_SHARE = 0.6, 0.1
"""So has the bound by colours, made of changes alone: in a plan hardly late, in a late one."""

WALKS_SHARE = 0.6
"""So has the bound by walks, before the full model takes the rest [1]."""

HARDLY_LATE_FRAC = 0.05
"""Below this share of lateness and waiting in its cost a plan is hardly late [1]."""

SPARE_S = 0.2
"""Kept back for ending in time [s]."""

LEAST_S = 0.1
"""With less than this left no solver is begun [s]."""


def solve(
    problem: SequenceProblem,
    *,
    lightness: NDArray[np.float64],
    present: Order | None = None,
    within_s: float = 10.0,
    seed: int = 1,
    progress: Callable[[str], None] | None = None,
) -> SequenceAnswer:
    """Find the best order of the runs on their lines, with a bound.

    Parameters
    ----------
    problem : SequenceProblem
        The runs, lines, times and costs.
    lightness : array of float, shape (runs,)
        CIELAB lightness of each run's colour [1].
    present : Order or None
        The plan that is there; the answer is never worse.
    within_s : float
        Time for it all [s], above 0.
    seed : int
        Seed of search and solver, 0 or more.
    progress : callable or None
        Told in words what was reached.

    Returns
    -------
    SequenceAnswer
        The plan, never worse than light to dark or the present plan; the best of all bounds.

    Raises
    ------
    BadInput
        When the problem or the present plan cannot be, or ``within_s`` or ``seed`` is out of range.

    Notes
    -----
    Source: DERIVED (see the manual, "The method of the colour sequence"). The search comes first;
    few runs are then counted out; for more there are bounds by colours and by walks, and CP-SAT.
    """
    began = time.monotonic()
    check_problem(problem)
    faults = []
    if not (np.isfinite(within_s) and within_s > 0.0):
        faults.append(Fault("no time to look", "above 0 s", key="within_s", value=str(within_s)))
    if not 0 <= seed < 2**31:
        faults.append(Fault("not a seed", "from 0 to 2147483647", key="seed", value=str(seed)))
    if faults:
        raise BadInput(faults)
    light = judge(problem, light_to_dark(problem, lightness))
    now = None if present is None else judge(problem, present)
    state = _State(problem, light, now, progress)

    def left_s() -> float:
        """Time left [s]."""
        return within_s - (time.monotonic() - began) - SPARE_S * min(1.0, within_s)

    starts = [one.order for one in (light, now) if one is not None]
    if not state.proven:
        found = search(
            problem, starts, seed=seed, within_s=left_s() * SEARCH_SHARE, most=state.bound
        )
        state.take(Found(found, 0), "search")
    few = problem.runs <= FEW_RUNS
    if not state.proven and can_count(problem) and (few or left_s() > LEAST_S):
        count_s = max(left_s() * COUNT_SHARE, FEW_S if few else 0.0)
        counted = all_orders(problem, state.best, count_s)
        state.take(counted, "count of all orders")
    if not state.proven and left_s() > LEAST_S:
        by_time = state.best.late_cost + state.best.wait_cost
        hardly = by_time < HARDLY_LATE_FRAC * state.best.cost
        share_s = left_s() * (COLOURS_SHARE if hardly else LATE_COLOURS_SHARE)
        state.take(Found(state.best, colour_bound(problem, share_s, seed)), "colours")
    if not state.proven and left_s() > LEAST_S:
        bound = walk_bound(problem, state.best.cost, left_s() * WALKS_SHARE)
        state.take(Found(state.best, bound), "walks")
    if not state.proven and left_s() > LEAST_S:
        state.take(cp_sat(problem, state.best, left_s(), seed, bound=state.bound), "CP-SAT")
    return SequenceAnswer(
        best=state.best,
        bound=state.bound,
        proven=state.proven,
        bound_by=state.bound_by,
        found_by=state.found_by,
        assignment_bound=state.assignment_bound,
        light_to_dark=light,
        present=now,
        seed=seed,
    )


class _State:
    """The best order and bound so far, and where they are from."""

    def __init__(
        self,
        problem: SequenceProblem,
        light: Judged,
        present: Judged | None,
        progress: Callable[[str], None] | None,
    ) -> None:
        self.progress = progress
        self.best, self.found_by = light, "light to dark"
        if present is not None and present.cost <= light.cost:
            self.best, self.found_by = present, "present plan"
        self.assignment_bound = assignment_bound(problem)
        self.bound, self.bound_by = self.assignment_bound, "assignment"
        self._say(self.found_by)

    @property
    def proven(self) -> bool:
        """Whether nothing can be better."""
        return self.best.cost == self.bound

    def take(self, found: Found, by: str) -> None:
        """Keep what is better."""
        if found.best.cost < self.best.cost:
            self.best, self.found_by = found.best, by
        if found.bound > self.bound:
            self.bound, self.bound_by = found.bound, by
        self._say(by)

    def _say(self, by: str) -> None:
        """Tell what was reached, in money."""
        if self.progress is not None:
            self.progress(
                f"{by}: costs {self.best.cost / 1000:.2f}, no order below {self.bound / 1000:.2f}"
            )
