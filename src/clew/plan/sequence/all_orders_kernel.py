"""Every order of a few runs at once, by what is made and what came last, compiled.

A place is a line, a set of runs already made (on this line and those before it) and the run made
last on this line; run ``n`` stands for none yet. Lines are filled one after the other. A label at a
place is a time and a cost; one that another beats by waiting for it is dropped (`label_places`),
and so is one that cannot beat the order already known.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from clew.plan.sequence.problem import Wholes
from clew.plan.sequence.tables import Tables

NEVER_MIN = 10**7
FAR = 2**61

Labels = tuple[Wholes, Wholes, Wholes]


@njit(cache=True)
def _step(tables: Tables, line: int, before: int, free: int, run: int) -> tuple[int, int, int]:
    """Make one run: when it ends, what that costs but for waiting, and what waiting costs."""
    run_min, run_cost, change_min, change_cost, ready_min, due_min, late_cost, _, wait_cost = tables
    begin = max(free, ready_min[line, run])
    end = begin + change_min[line, before, run] + run_min[line, run]
    cost = change_cost[line, before, run] + run_cost[line, run]
    late = end - due_min[line, run]
    if late > 0:
        cost += late * late_cost[run]
    return end, cost, (begin - free) * wait_cost[line]


@njit(cache=True)
def last_readies(tables: Tables) -> Wholes:
    """Give the time from which a line never waits again.

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.

    Returns
    -------
    array of int, shape (lines, 2**runs)
        By line and runs made: when the last run is ready that is not made and that it can make
        [min]; 0 where there is none.
    """
    run_min, ready_min = tables[0], tables[4]
    lines, runs = run_min.shape
    last = np.zeros((lines, 1 << runs), dtype=np.int64)
    for line in range(lines):
        for made in range(1 << runs):
            for run in range(runs):
                if not made >> run & 1 and run_min[line, run] < NEVER_MIN:
                    last[line, made] = max(last[line, made], ready_min[line, run])
    return last


@njit(cache=True)
def _wait_saved(tables: Tables, line: int, sooner: int, later: int, last_ready: int) -> int:
    """What waiting a line can save at most by being free later, not sooner."""
    saved: int = (min(later, last_ready) - min(sooner, last_ready)) * tables[8][line]
    return saved


@njit(cache=True)
def least_times(tables: Tables) -> Wholes:
    """Give the soonest time at each place.

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.

    Returns
    -------
    array of int, shape (lines, 2**runs, runs + 1)
        No order is there sooner [min]; `FAR` where none comes.

    Notes
    -----
    Source: DERIVED on Held and Karp's recursion over sets, a textbook method.
    """
    run_min, free_min = tables[0], tables[7]
    lines, runs = run_min.shape
    times = np.full((lines, 1 << runs, runs + 1), FAR)
    times[0, 0, runs] = free_min[0]
    for line in range(lines):
        for made in range(1 << runs):
            if line > 0 and times[line - 1, made].min() < FAR:
                times[line, made, runs] = free_min[line]
            for before in range(runs + 1):
                free = times[line, made, before]
                if free == FAR:
                    continue
                for run in range(runs):
                    if made >> run & 1 or run_min[line, run] >= NEVER_MIN:
                        continue
                    end = _step(tables, line, before, free, run)[0]
                    after = made | 1 << run
                    times[line, after, run] = min(times[line, after, run], end)
    return times


@njit(cache=True)
def least_costs_to_go(tables: Tables, times: Wholes) -> tuple[Wholes, Wholes]:
    """Bound what is still to be spent from each place on.

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.
    times : array of int
        As `least_times` gives them [min].

    Returns
    -------
    ever, now : arrays of int, shape as ``times``
        No order spends less from there on [1/1000 money]: whenever it is there, and when it is
        there at the soonest time. `FAR` where none can be ended.

    Notes
    -----
    Source: DERIVED. Lateness only grows with time, so for ``ever`` it is priced as if the soonest
    time held at every place; waiting, which shrinks with time, is left out. For ``now`` the next
    run is priced as it is, its wait too. It ends at some time t, no sooner than the soonest time s
    of its place. What follows costs no less than ``ever`` of that place; nor less than ``now`` of
    it, less what waiting from s to t would have cost: who is there at s can wait till t.
    """
    run_min = tables[0]
    lines, runs = run_min.shape
    ever, now = np.full(times.shape, FAR), np.full(times.shape, FAR)
    last = last_readies(tables)
    for line in range(lines - 1, -1, -1):
        for made in range((1 << runs) - 1, -1, -1):
            for before in range(runs + 1):
                free = times[line, made, before]
                if free == FAR:
                    continue
                least = FAR
                if line < lines - 1:
                    least = now[line + 1, made, runs]
                elif made == (1 << runs) - 1:
                    least = 0
                least_now = least
                for run in range(runs):
                    if made >> run & 1 or run_min[line, run] >= NEVER_MIN:
                        continue
                    after = made | 1 << run
                    if ever[line, after, run] == FAR:
                        continue
                    end, spent, waited = _step(tables, line, before, free, run)
                    saved = _wait_saved(
                        tables, line, times[line, after, run], end, last[line, after]
                    )
                    rest = max(ever[line, after, run], now[line, after, run] - saved)
                    least = min(least, spent + ever[line, after, run])
                    least_now = min(least_now, spent + waited + rest)
                ever[line, made, before], now[line, made, before] = least, least_now
    return ever, now


@njit(cache=True)
def _longer(table: Wholes, room: int) -> Wholes:
    """Give the same table with more room."""
    longer = np.empty(room, dtype=np.int64)
    longer[: table.size] = table
    return longer


@njit(cache=True)
def label_places(  # noqa: PLR0912, PLR0915 - one loop over everything
    tables: Tables,
    times: Wholes,
    to_go: tuple[Wholes, Wholes],
    last: Wholes,
    known: int,
    line: int,
    begin: int,
    end: int,
    first: Wholes,
    labels: Labels,
) -> Labels:
    """Label the places of a line whose sets are from begin to end (not included).

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.
    times : array of int
        As `least_times` gives them [min].
    to_go : tuple of arrays of int
        As `least_costs_to_go` gives them [1/1000 money].
    last : array of int
        As `last_readies` gives them [min].
    known : int
        Cost of the order already known [1/1000 money].
    line, begin, end : int
        Which places; all before them have their labels.
    first : array of int, shape (places + 1,)
        Number of the first label of each place, in order; written on.
    labels : tuple of arrays of int
        Time [min], cost [1/1000 money] and number of the label it came from; written on.

    Returns
    -------
    tuple of arrays of int
        The labels, with more room where they needed it.

    Notes
    -----
    Source: DERIVED; dominance of labels as in textbook shortest paths with resources. Of two labels
    at a place with times and costs (t, c) and (u, d), t no later than u, the first beats the second
    when c and the wait from t to u cost no more than d. For whatever follows the second can follow
    the first: it waits till u, does the same and has spent no more; and not to wait needlessly is
    no dearer, for it ends everything no later and, as waiting is what a line's last end leaves
    beside changes and runs, waits no longer. It need not wait beyond the time from which every run
    still to come is ready: from then on no line waits, and sooner is no dearer. That c is no more
    than d would not do: the first may have to wait, and pay, where the second is still at work.
    """
    run_min, free_min = tables[0], tables[7]
    ever, now = to_go
    runs = run_min.shape[1]
    wide = runs + 1
    sets = 1 << runs
    time, cost, came = labels
    new_time, new_cost = np.empty(256, dtype=np.int64), np.empty(256, dtype=np.int64)
    new_came = np.empty(256, dtype=np.int64)
    for made in range(begin, end):
        ready = last[line, made]
        for at in range(wide):
            place = (line * sets + made) * wide + at
            found = first[place]
            first[place + 1] = found
            if ever[line, made, at] == FAR:
                continue
            new = 0
            if at == runs:
                # The line is begun: only the cheapest way here counts, for its time is given.
                least, least_came = FAR, -1
                if line == 0:
                    least = 0 if made == 0 else FAR
                else:
                    back = ((line - 1) * sets + made) * wide
                    for number in range(first[back], first[back + wide]):
                        if cost[number] < least:
                            least, least_came = cost[number], number
                if least < FAR and least + now[line, made, at] < known:
                    new_time[0], new_cost[0], new_came[0] = free_min[line], least, least_came
                    new = 1
            elif made >> at & 1 and run_min[line, at] < NEVER_MIN:
                back = (line * sets + (made ^ 1 << at)) * wide
                many = first[back + wide] - first[back]
                if many > new_time.size:
                    new_time = np.empty(2 * many, dtype=np.int64)
                    new_cost = np.empty(2 * many, dtype=np.int64)
                    new_came = np.empty(2 * many, dtype=np.int64)
                soonest = times[line, made, at]
                for before in range(wide):
                    for number in range(first[back + before], first[back + before + 1]):
                        ended, spent, waited = _step(tables, line, before, time[number], at)
                        spent += waited + cost[number]
                        saved = _wait_saved(tables, line, soonest, ended, ready)
                        if spent + max(ever[line, made, at], now[line, made, at] - saved) < known:
                            new_time[new], new_cost[new], new_came[new] = ended, spent, number
                            new += 1
            if not new:
                continue
            if found + new > time.size:
                room = 2 * (found + new)
                time, cost, came = _longer(time, room), _longer(cost, room), _longer(came, room)
            begun = found
            for number in np.argsort(new_time[:new]):
                if found > begun:
                    saved = _wait_saved(tables, line, time[found - 1], new_time[number], ready)
                    if new_cost[number] >= cost[found - 1] + saved:
                        continue
                if found > begun and new_time[number] == time[found - 1]:
                    found -= 1
                time[found], cost[found] = new_time[number], new_cost[number]
                came[found] = new_came[number]
                found += 1
            first[place + 1] = found
    return time, cost, came
