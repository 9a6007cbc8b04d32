"""What any order costs at least, with changes and lateness weighed together: walks in time."""

from __future__ import annotations

import time

import numpy as np

from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.problem import NEVER_MIN, SequenceProblem
from clew.plan.sequence.tables import tables_of

WANTED_STEPS = 800
MOST_STEPS = 6000
ROUNDS = 400


def walk_bound(problem: SequenceProblem, known: int, within_s: float) -> int:
    """Bound the cost of every order by walks that are paid for each run.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    known : int
        Cost of an order [1/1000 money]; the prices are moved by its distance from the bound.
    within_s : float
        No round is begun after this time [s].

    Returns
    -------
    int
        No order costs less [1/1000 money]; 0 where the method does not serve: runs that take no
        time, or next to none beside the whole.

    Notes
    -----
    Source: DERIVED, Lagrangian relaxation (a textbook method). Pay each line a worth for every pass
    of a run and take the worths of all runs back once. An order passes each run once, so it costs
    the same as before. Let each line now walk freely, passing runs as often as it likes: the
    cheapest walks cost no more than the best order, whatever the worths. Time is rounded down to
    steps, which makes nothing later and so nothing dearer. Waiting it would make dearer, so only
    the wait for a line's first run is counted, whose time is exact; the rest costs 0 at least.
    Worths are whole numbers and moved, round by round, up where a run was passed by none and down
    where it was passed often; the largest bound is kept.
    """
    from clew.plan.sequence.walk_kernel import cheapest_walk

    ends = time.monotonic() + within_s
    free = free_part(problem)
    part = free.problem
    if not part.runs:
        return free.frozen_cost
    made = part.run_min < NEVER_MIN
    takes = part.change_min + part.run_min[:, None, :]
    possible = np.broadcast_to(made[:, None, :], takes.shape)
    horizon = max(int(part.ready_min[made].max()), int(part.free_min.max()))
    horizon += int(np.where(possible, takes, 0).max(axis=(0, 1)).sum())
    step_min = min(-(-horizon // WANTED_STEPS), int(takes[possible].min()))
    if step_min < 1 or horizon // step_min > MOST_STEPS:
        return 0
    steps = horizon // step_min
    tables = tables_of(part)
    target = known - free.frozen_cost
    worth = np.full(part.runs, target // part.runs, dtype=np.int64)
    best, best_worth, pace, since = 0, worth, 1.0, 0
    for _ in range(ROUNDS):
        if time.monotonic() > ends or best >= target or pace < 0.003:
            break
        bound, passes = int(worth.sum()), np.zeros(part.runs, dtype=np.int64)
        for line in range(len(part.lines)):
            cost, walked = cheapest_walk(tables, line, worth, step_min, steps)
            bound += cost
            passes += walked
        since += 1
        if bound > best:
            best, best_worth, since = bound, worth, 0
        elif since >= 8:
            pace, since, worth = pace / 2, 0, best_worth
        wrong = 1 - passes
        off = int((wrong**2).sum())
        if not off:
            break
        move = pace * (target - bound) / off
        worth = worth + np.rint(move * wrong).astype(np.int64)
    return free.frozen_cost + min(best, target)
