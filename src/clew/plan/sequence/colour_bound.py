"""What changes alone cost at least, when runs without a change between them are one."""

from __future__ import annotations

import time

import numpy as np

from clew.plan.sequence.assignment_bound import lateness_bound
from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.problem import NEVER_MIN, SequenceProblem, Wholes
from clew.plan.sequence.search import search
from clew.plan.sequence.tables import tables_of

MOST_PLACES = 2**22


def colour_bound(problem: SequenceProblem, within_s: float, seed: int) -> int:
    """Bound the cost of every order by the best order of its colours.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    within_s : float
        Time for it, where there are too many colours to count out [s].
    seed : int
        Seed of search and solver.

    Returns
    -------
    int
        No order costs less [1/1000 money].

    Notes
    -----
    Source: DERIVED. Price the way from run to run at the cheapest way over any runs between: that
    is no dearer, and leaving a run out of a way makes it no dearer still. Runs with no price
    between them, there and back and on every line, are a colour. Every order comes to every colour
    on some line. Keep one such visit of each and leave out all others: what is left is an order of
    the colours, no dearer. The best of those is found by the count of `all_orders`, or bounded by
    CP-SAT. To it are added the cheapest making of each run and the least lateness. Waiting costs 0
    at least and is left out.
    """
    free = free_part(problem)
    part = free.problem
    if not part.runs:
        return free.frozen_cost
    making = int(np.where(part.run_min < NEVER_MIN, part.run_cost, 2**60).min(axis=0).sum())
    rest = free.frozen_cost + making + lateness_bound(part)
    colours = _colours(part)
    if len(part.lines) * (colours.runs + 1) * 2**colours.runs <= MOST_PLACES:
        from clew.plan.sequence.all_orders_kernel import least_costs_to_go, least_times

        tables = tables_of(colours)
        _, now = least_costs_to_go(tables, least_times(tables))
        return rest + int(now[0, 0, colours.runs])
    ends = time.monotonic() + within_s
    start = search(colours, [], seed=seed, within_s=within_s / 10)
    left_s = ends - time.monotonic()
    return rest + cp_sat(colours, start, left_s, seed, timed=False).bound


def _colours(part: SequenceProblem) -> SequenceProblem:
    """Make one run of all runs of a colour; nothing takes time and nothing is late."""
    runs = part.runs
    ways = _cheapest_ways(part)
    near = (ways[:, :runs] == 0).all(axis=0)
    colour = (near & near.T).argmax(axis=1)
    heads = np.unique(colour)
    made = part.run_min < NEVER_MIN
    can = np.stack([made[:, colour == head].any(axis=1) for head in heads], axis=1)
    changes = np.ascontiguousarray(ways[:, [*heads.tolist(), runs]][:, :, heads])
    none = np.zeros(can.shape, dtype=np.int64)
    return SequenceProblem(
        names=tuple(part.names[head] for head in heads),
        lines=part.lines,
        run_min=np.where(can, 0, NEVER_MIN),
        run_cost=none,
        change_min=np.zeros_like(changes),
        change_cost=changes,
        ready_min=none,
        due_min=none,
        late_cost_per_min=none[0],
        free_min=np.zeros_like(part.free_min),
        wait_cost_per_min=np.zeros_like(part.wait_cost_per_min),
        frozen=part.frozen,
    )


def _cheapest_ways(problem: SequenceProblem) -> Wholes:
    """Cheapest change from run to run over any runs between, by line (Floyd and Warshall)."""
    runs = problem.runs
    ways = problem.change_cost.astype(np.int64)
    ways[:, np.arange(runs), np.arange(runs)] = 0
    for over in range(runs):
        ways = np.minimum(ways, ways[:, :, over, None] + ways[:, over, None, :])
    return ways
