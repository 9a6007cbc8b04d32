"""What any order costs at least: the assignment relaxation, and lateness nobody can avoid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.problem import NEVER_MIN, SequenceProblem, Wholes

NEVER = 2**60
"""Stands for a predecessor that cannot be: larger than any sum a checked problem allows."""


def assignment_bound(problem: SequenceProblem) -> int:
    """Bound the cost of every order from below.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.

    Returns
    -------
    int
        No order costs less [1/1000 money].

    Notes
    -----
    Source: DERIVED on the assignment relaxation of the travelling salesman, a textbook bound.
    Frozen runs cost what they cost. In every order each other run has exactly one predecessor:
    a run, or a line's start; and each of those is followed by at most one run. So the least
    cost of such a choice is a bound, if a pair (p, r) is priced at no more than r costs behind
    p on any line that can make both: the least over those lines of change + run + lateness, r
    begun no sooner than p can have ended (`arc_costs`). That is one bound. The least of
    changes and runs alone, plus the least lateness of any order (`lateness_bound`), is
    another: both sums are parts of the cost. The larger of the two holds. Of waiting only that for
    a line's first run is in it; further waiting costs 0 at least, so leaving it out is no fault.
    """
    free = free_part(problem)
    part = free.problem
    if not part.runs:
        return free.frozen_cost
    with_late = least_assignment(arc_costs(part, late=True))
    apart = least_assignment(arc_costs(part, late=False)) + lateness_bound(part)
    return free.frozen_cost + max(with_late, apart)


def earliest_ends(problem: SequenceProblem) -> Wholes:
    """When a run can end at the soonest on each line.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    array of int, shape (lines, runs)
        No order ends it sooner [min]; `NEVER_MIN` where the line cannot make it.

    Notes
    -----
    Source: DERIVED. The shortest way from the line's start to the run, over any runs it can make;
    an order is such a way, though one that may not pass a run twice.
    """
    made = problem.run_min < NEVER_MIN
    runs = problem.runs
    first = np.maximum(problem.ready_min, problem.free_min[:, None])
    ends = np.where(made, first + problem.change_min[:, runs] + problem.run_min, NEVER_MIN)
    for _ in range(runs):
        begin = np.maximum(ends[:, :, None], problem.ready_min[:, None, :])
        over = begin + problem.change_min[:, :runs] + problem.run_min[:, None, :]
        over[~made[:, :, None] | ~made[:, None, :]] = NEVER_MIN
        better = np.minimum(ends, over.min(axis=1))
        if (better == ends).all():
            break
        ends = better
    return ends


def arc_costs(problem: SequenceProblem, *, late: bool) -> Wholes:
    """What a run costs at least behind each predecessor, on each line.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.
    late : bool
        Whether lateness counts.

    Returns
    -------
    array of int, shape (lines, runs + 1, runs)
        The cost [1/1000 money], row ``n`` for a line's start; `NEVER` where it cannot be.

    Notes
    -----
    Source: DERIVED. Change and run cost what they cost. The run ends no sooner than its change and
    itself take behind the soonest end of its predecessor. Before its first run a line waits just as
    long as that run is not ready; behind a run, nobody knows how late that ends, it may not wait.
    """
    made = problem.run_min < NEVER_MIN
    runs = problem.runs
    costs = problem.change_cost + problem.run_cost[:, None, :]
    costs[:, runs] += first_wait_min(problem) * problem.wait_cost_per_min[:, None]
    if late:
        free = np.concatenate((earliest_ends(problem), problem.free_min[:, None]), axis=1)
        ends = (
            np.maximum(free[:, :, None], problem.ready_min[:, None, :])
            + problem.change_min
            + problem.run_min[:, None, :]
        )
        behind = np.maximum(ends - problem.due_min[:, None, :], 0)
        # Where a run cannot be made its end is without meaning, and the product could overflow.
        behind[~made[:, None, :].repeat(runs + 1, axis=1)] = 0
        behind[:, :runs][~made] = 0
        costs = costs + behind * problem.late_cost_per_min
    costs = costs.astype(np.int64)
    costs[:, np.arange(runs), np.arange(runs)] = NEVER
    costs[:, :runs][~made] = NEVER
    costs[~made[:, None, :].repeat(runs + 1, axis=1)] = NEVER
    return costs


def first_wait_min(problem: SequenceProblem) -> Wholes:
    """Say how long each line waits for each run, if that is its first.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    array of int, shape (lines, runs)
        From when the line is free [min].
    """
    wait_min: Wholes = np.maximum(problem.ready_min - problem.free_min[:, None], 0)
    return wait_min


def least_assignment(costs: Wholes) -> int:
    """Give every run its own predecessor at the least cost.

    Parameters
    ----------
    costs : array of int, shape (lines, runs + 1, runs)
        As `arc_costs` gives them [1/1000 money].

    Returns
    -------
    int
        The least sum [1/1000 money].

    Notes
    -----
    Source: the assignment problem, solved by `scipy.optimize.linear_sum_assignment`; the sums of a
    checked problem are below 2**53, so that floats hold them exactly.
    """
    from scipy.optimize import linear_sum_assignment

    runs = costs.shape[2]
    # Rows are runs, columns their predecessors: the other runs, then the start of each line.
    table = np.concatenate((costs[:, :runs].min(axis=0).T, costs[:, runs].T), axis=1)
    priced: NDArray[np.float64] = np.where(table >= NEVER, np.inf, table.astype(np.float64))
    rows, columns = linear_sum_assignment(priced)
    return int(table[rows, columns].sum())


def lateness_bound(problem: SequenceProblem) -> int:
    """Bound what lateness costs in every order.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    int
        No order is late for less [1/1000 money].

    Notes
    -----
    Source: DERIVED. Let w(r) be the least that run r and the least change before it take on any
    line, and S(l) the least time at which line l is free and a run ready, before which no change on
    it begins. When
    run r is the k-th to end, at C, the work of k runs is done, r among them: no less than w(r)
    and the k - 1 smallest of the others. Line l has worked at most max(0, C - S(l)); so the
    sum of those is no less than that work. The sum over lines is the largest over the j lines
    with the least S of j C - S(1) - ... - S(j), so C is at least the least over j of (work +
    S(1) + ... + S(j)) / j, rounded up, and no less than the run's own soonest end. Each order
    gives every run a place k of its own, so the least assignment of runs to places, priced
    with these ends, is a bound.
    """
    from scipy.optimize import linear_sum_assignment

    runs = problem.runs
    made = problem.run_min < NEVER_MIN
    costs = arc_costs(problem, late=False)
    possible = costs < NEVER
    change = np.where(possible, problem.change_min, NEVER_MIN).min(axis=1)
    work = np.where(made, problem.run_min + change, 2 * NEVER_MIN).min(axis=0)
    due = np.where(made, problem.due_min, -NEVER_MIN * 10).max(axis=0)
    soonest = earliest_ends(problem).min(axis=0)
    begin = np.maximum(problem.ready_min, problem.free_min[:, None])
    free = np.sort(np.where(made, begin, NEVER_MIN).min(axis=1)[made.any(axis=1)])
    upto = np.cumsum(free)
    lines = np.arange(1, free.size + 1)
    table = np.empty((runs, runs))
    for run in range(runs):
        others = np.concatenate(([0], np.cumsum(np.sort(np.delete(work, run)))))
        done = work[run] + others
        ends = (-(-(done[:, None] + upto) // lines)).min(axis=1)
        late = np.maximum(np.maximum(ends, soonest[run]) - due[run], 0)
        table[run] = late * problem.late_cost_per_min[run]
    rows, columns = linear_sum_assignment(table)
    return int(table[rows, columns].astype(np.int64).sum())
