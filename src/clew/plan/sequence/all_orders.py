"""The best order of a few runs, proven by counting all orders at once."""

from __future__ import annotations

import time

import numpy as np

from clew.plan.sequence.free_part import FreePart, free_part
from clew.plan.sequence.judge import Found, judge
from clew.plan.sequence.problem import Judged, Order, SequenceProblem, Wholes
from clew.plan.sequence.tables import tables_of

MOST_PLACES = 2**23
"""Places of the count at most: 18 runs on one line, 17 on three."""

MOST_LABELS = 10_000_000


def can_count(problem: SequenceProblem) -> bool:
    """Tell whether all orders of a problem can be counted in memory.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.

    Returns
    -------
    bool
        Whether it has few enough runs that are not frozen.

    Notes
    -----
    Source: COMPUTED; each place takes 32 bytes.
    """
    runs = problem.runs - sum(len(first) for first in problem.frozen)
    return runs <= 22 and len(problem.lines) * (runs + 1) * 2**runs <= MOST_PLACES


def all_orders(problem: SequenceProblem, incumbent: Judged, within_s: float) -> Found:
    """Find the best order of all, or a bound when time or memory end first.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked; not too large for `can_count`.
    incumbent : Judged
        The best order known; a good one saves most of the work.
    within_s : float
        It gives up after this time [s].

    Returns
    -------
    Found
        The best order and its proof, or the incumbent and a bound.

    Notes
    -----
    Source: DERIVED on Held and Karp's recursion over sets, with a time and a cost for each way to a
    set. A way is dropped when another is there as soon and, with the wait for it, as cheap, or when
    its cost and what must still be spent reach the cost already known. What must still be spent is
    the same recursion backwards from the soonest time at every place, less the waiting that being
    there later may spare. Everything that is dropped costs at least as much as what is kept or
    known, so what is left at the end is the best.
    """
    from clew.plan.sequence.all_orders_kernel import (
        label_places,
        last_readies,
        least_costs_to_go,
        least_times,
    )

    ends = time.monotonic() + within_s
    free = free_part(problem)
    part = free.problem
    if not part.runs:
        return Found(incumbent, incumbent.cost)
    tables = tables_of(part)
    lines, sets = len(part.lines), 1 << part.runs
    times, last_ready = least_times(tables), last_readies(tables)
    to_go = least_costs_to_go(tables, times)
    bound = min(incumbent.cost, free.frozen_cost + int(to_go[1][0, 0, part.runs]))
    if bound == incumbent.cost:
        return Found(incumbent, bound)
    first = np.zeros(lines * sets * (part.runs + 1) + 1, dtype=np.int64)
    room = np.empty(4096, dtype=np.int64)
    labels = (room, room.copy(), room.copy())
    known = incumbent.cost - free.frozen_cost
    chunk = max(1, sets // 256)
    for line in range(lines):
        for begin in range(0, sets, chunk):
            stop = min(begin + chunk, sets)
            labels = label_places(
                tables, times, to_go, last_ready, known, line, begin, stop, first, labels
            )
            held = int(first[(line * sets + stop) * (part.runs + 1)])
            if time.monotonic() > ends or held > MOST_LABELS:
                return Found(incumbent, bound)
    last = slice(int(first[-1 - (part.runs + 1)]), int(first[-1]))
    costs = labels[1][last]
    if not costs.size:
        return Found(incumbent, incumbent.cost)
    best = last.start + int(np.argmin(costs))
    found = judge(problem, free.whole(_order(free, first, labels[2], best)))
    return Found(found, found.cost)


def _order(free: FreePart, first: Wholes, came: Wholes, label: int) -> Order:
    """Read an order back from its last label."""
    part = free.problem
    wide = part.runs + 1
    order: list[list[int]] = [[] for _ in part.lines]
    while label >= 0:
        place = int(np.searchsorted(first, label, side="right")) - 1
        line, run = place // (wide << part.runs), place % wide
        if run < part.runs:
            order[line].append(run)
        label = int(came[label])
    return tuple(tuple(reversed(runs)) for runs in order)
