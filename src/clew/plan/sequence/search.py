"""A good order in about a second: several starts, local search, seeded shakes."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np

from clew.plan.sequence.free_part import FreePart, free_part
from clew.plan.sequence.judge import judge
from clew.plan.sequence.problem import NEVER_MIN, Judged, Order, SequenceProblem
from clew.plan.sequence.tables import tables_of

STEPS_A_RUN = 5_000_000
"""Runs walked over for each run there is: about a second for forty runs."""

PARTS = 32
"""The search is made in so many parts; the clock is looked at between them."""


def search(
    problem: SequenceProblem,
    starts: Sequence[Order],
    *,
    seed: int = 1,
    within_s: float = 60.0,
    most: int = 0,
) -> Judged:
    """Look for a good order near several starts.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    starts : sequence of Order
        Orders to begin from, besides due date and least change.
    seed : int
        Seed of the shakes.
    within_s : float
        Neither a start nor a part is begun after this time [s].
    most : int
        A cost nothing can be below: an order that has it ends the search [1/1000 money].

    Returns
    -------
    Judged
        The best order found; never worse than a start. The same for the same seed, unless the
        clock ended it.

    Notes
    -----
    Source: DERIVED on iterated local search, a textbook method.
    """
    began = time.monotonic()
    free = free_part(problem)
    part = free.problem
    given = [judge(problem, order) for order in starts]
    own = [judge(problem, free.whole(order)) for order in (by_due(part), by_least_change(part))]
    best = min([*given, *own], key=lambda one: one.cost)
    if part.runs < 2 and len(part.lines) == 1:
        return best
    if not part.runs:
        return best
    descend = _kernel()
    for one in sorted([*given, *own], key=lambda one: one.cost):
        if time.monotonic() - began > within_s:
            break
        best = _better(best, problem, free, descend(part, free.part(one.order), seed, 0))
    for number in range(PARTS):
        if best.cost <= most or time.monotonic() - began > within_s:
            break
        steps = STEPS_A_RUN * part.runs // PARTS
        shaken = descend(part, free.part(best.order), seed * PARTS + number, steps)
        best = _better(best, problem, free, shaken)
    return best


def _better(best: Judged, problem: SequenceProblem, free: FreePart, order: Order) -> Judged:
    """Give the better of a judged order and one of the free part."""
    found = judge(problem, free.whole(order))
    return found if found.cost < best.cost else best


def _kernel() -> Callable[[SequenceProblem, Order, int, int], Order]:
    """Give the compiled search as a function of problem, start, seed and steps."""
    from clew.plan.sequence.search_kernel import descend_and_shake

    def descend(part: SequenceProblem, start: Order, seed: int, steps: int) -> Order:
        rows = np.zeros((len(part.lines), part.runs + 1), dtype=np.int64)
        counts = np.array([len(runs) for runs in start], dtype=np.int64)
        for line, runs in enumerate(start):
            rows[line, : len(runs)] = runs
        tables = tables_of(part)
        _, rows, counts = descend_and_shake(tables, rows, counts, seed, steps)
        return tuple(
            tuple(row[:count].tolist()) for row, count in zip(rows, counts.tolist(), strict=True)
        )

    return descend


def by_due(problem: SequenceProblem) -> Order:
    """Put the runs on the lines by due date, each where it ends first.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    Order
        The runs by line.

    Notes
    -----
    Source: common practice, no published source (earliest due date first).
    """
    order: list[list[int]] = [[] for _ in problem.lines]
    free = problem.free_min.tolist()
    for run in np.lexsort((problem.run_min.min(axis=0), problem.due_min.min(axis=0))).tolist():
        ends = [_end(problem, line, order[line], free[line], run) for line in range(len(order))]
        line = min(range(len(order)), key=ends.__getitem__)
        order[line].append(run)
        free[line] = ends[line]
    return tuple(tuple(runs) for runs in order)


def by_least_change(problem: SequenceProblem) -> Order:
    """Let the line that is free first take the run that costs least next, waiting in it.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    Order
        The runs by line.

    Notes
    -----
    Source: common practice, no published source (nearest neighbour).
    """
    order: list[list[int]] = [[] for _ in problem.lines]
    free = problem.free_min.tolist()
    left = set(range(problem.runs))
    while left:
        line, choice = min(
            (
                (line, [run for run in sorted(left) if problem.run_min[line, run] < NEVER_MIN])
                for line in range(len(order))
            ),
            key=lambda one: (not one[1], free[one[0]], one[0]),
        )
        before = order[line][-1] if order[line] else problem.runs
        waits = np.maximum(problem.ready_min[line] - free[line], 0)
        costs = problem.change_cost[line, before] + problem.run_cost[line]
        costs = costs + waits * problem.wait_cost_per_min[line]
        run = min(choice, key=costs.__getitem__)
        free[line] = _end(problem, line, order[line], free[line], run)
        order[line].append(run)
        left.remove(run)
    return tuple(tuple(runs) for runs in order)


def _end(problem: SequenceProblem, line: int, runs: Sequence[int], free_min: int, run: int) -> int:
    """When a run would end behind those of a line [min]; never where the line cannot make it."""
    if problem.run_min[line, run] >= NEVER_MIN:
        return 2**60
    before = runs[-1] if runs else problem.runs
    return (
        max(free_min, int(problem.ready_min[line, run]))
        + int(problem.change_min[line, before, run])
        + int(problem.run_min[line, run])
    )
