"""The cheapest walk of one line through the runs in time, compiled.

A walk may pass a run again, though not at once and not with one other run between; each pass is
paid what its run is worth. Time is kept in whole steps, always rounded down.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from clew.plan.sequence.problem import Wholes
from clew.plan.sequence.tables import Tables

NEVER_MIN = 10**7
FAR = 2**61


@njit(cache=True)
def cheapest_walk(  # noqa: PLR0912, PLR0915 - one loop over everything
    tables: Tables, line: int, worth: Wholes, step_min: int, steps: int
) -> tuple[int, Wholes]:
    """Find the cheapest walk of a line.

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.
    line : int
        Which line.
    worth : array of int, shape (runs,)
        What passing a run is paid [1/1000 money].
    step_min : int
        A step of time [min], no longer than the shortest run with its change.
    steps : int
        Steps at most.

    Returns
    -------
    cost : int
        Its cost less what it is paid; 0 for staying away [1/1000 money].
    passes : array of int, shape (runs,)
        How often it passes each run.

    Notes
    -----
    Source: DERIVED; the relaxation to walks of Christofides, Mingozzi and Toth (MEMORY), with the
    cheapest way to each run and time and the cheapest by another run before it.
    """
    run_min, run_cost, change_min, change_cost, ready_min, due_min, late_cost = tables[:7]
    free_min, wait_cost = tables[7:]
    runs = run_min.shape[1]
    # By step, run and rank: cost, the run before, its step, its rank.
    cost = np.full((steps + 1, runs, 2), FAR)
    back = np.full((steps + 1, runs, 2, 3), -1)
    best, best_step, best_run, best_rank = 0, -1, -1, 0
    for step in range(-1, steps):
        for before in range(runs) if step >= 0 else range(runs, runs + 1):
            first, second, from_run = 0, FAR, -1
            free = free_min[line]
            if step >= 0:
                first, second = cost[step, before, 0], cost[step, before, 1]
                if first == FAR:
                    continue
                from_run = back[step, before, 0, 0]
                free = step * step_min
                if first < best:
                    best, best_step, best_run, best_rank = first, step, before, 0
            for run in range(runs):
                if run == before or run_min[line, run] >= NEVER_MIN:
                    continue
                rank = 1 if step >= 0 and run == from_run else 0
                spent = second if rank else first
                if spent == FAR:
                    continue
                end = max(free, ready_min[line, run])
                end += change_min[line, before, run] + run_min[line, run]
                to = end // step_min
                if to > steps:
                    continue
                spent += change_cost[line, before, run] + run_cost[line, run] - worth[run]
                if step < 0:
                    spent += max(0, ready_min[line, run] - free) * wait_cost[line]
                late = end - due_min[line, run]
                if late > 0:
                    spent += late * late_cost[run]
                place = -1
                if spent < cost[to, run, 0]:
                    if back[to, run, 0, 0] != before:
                        cost[to, run, 1] = cost[to, run, 0]
                        back[to, run, 1] = back[to, run, 0]
                    place = 0
                elif spent < cost[to, run, 1] and back[to, run, 0, 0] != before:
                    place = 1
                if place >= 0:
                    cost[to, run, place] = spent
                    back[to, run, place, 0] = before
                    back[to, run, place, 1] = step
                    back[to, run, place, 2] = rank
    for run in range(runs):
        if cost[steps, run, 0] < best:
            best, best_step, best_run, best_rank = cost[steps, run, 0], steps, run, 0
    passes = np.zeros(runs, dtype=np.int64)
    step, run, rank = best_step, best_run, best_rank
    while step >= 0:
        passes[run] += 1
        run, step, rank = (
            back[step, run, rank, 0],
            back[step, run, rank, 1],
            back[step, run, rank, 2],
        )
    return best, passes
