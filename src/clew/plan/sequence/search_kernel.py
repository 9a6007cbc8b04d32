"""Local search over orders of runs on lines, compiled, in whole numbers.

A line's order is a row of a table. A move replaces the tail of one line, or of two, by stretches of
what stood there; its cost is that of walking those stretches from the place where they begin to
differ. The walk stops as soon as it costs more than it may.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from clew.plan.sequence.problem import Wholes
from clew.plan.sequence.tables import Tables

NEVER_MIN = 10**7
FAR = 2**61
LONGEST_BLOCK = 4

Stand = tuple[int, int, int]
"""The run before, when the line is free, and what was spent."""

Words = NDArray[np.uint64]


@njit(cache=True)
def _word(state: Words) -> int:
    """Draw the next word of a splitmix64 generator, without its lowest bit's sign."""
    state[0] += np.uint64(0x9E3779B97F4A7C15)
    word = state[0]
    word = (word ^ (word >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    word = (word ^ (word >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return int((word ^ (word >> np.uint64(31))) >> np.uint64(1))


@njit(cache=True)
def _below(state: Words, most: int) -> int:
    """Draw a whole number from 0 to most - 1."""
    return _word(state) % most


@njit(cache=True)
def _walk(
    tables: Tables,
    line: int,
    row: Wholes,
    begin: int,
    end: int,
    step: int,
    stand: Stand,
    limit: int,
    walked: Wholes,
) -> Stand:
    """Make row[begin], row[begin + step], ... up to row[end] (not made) from where it stands."""
    run_min, run_cost, change_min, change_cost, ready_min, due_min, late_cost, _, wait_cost = tables
    before, free, cost = stand
    at = begin
    while at != end and cost < limit:
        run = row[at]
        if run_min[line, run] >= NEVER_MIN:
            return run, free, FAR
        begin = max(free, ready_min[line, run])
        cost += (begin - free) * wait_cost[line]
        free = begin + change_min[line, before, run] + run_min[line, run]
        cost += change_cost[line, before, run] + run_cost[line, run]
        late = free - due_min[line, run]
        if late > 0:
            cost += late * late_cost[run]
        before = run
        walked[0] += 1
        at += step
    return before, free, cost


@njit(cache=True)
def _stand(marks: Wholes, line: int, at: int) -> Stand:
    """Read what stands before a place, when it is free and what it cost."""
    return marks[line, at, 0], marks[line, at, 1], marks[line, at, 2]


@njit(cache=True)
def _mark(
    tables: Tables, line: int, rows: Wholes, counts: Wholes, marks: Wholes, walked: Wholes
) -> None:
    """Write for each place of a line what stands before it, when it is free and what it cost."""
    marks[line, 0, 0], marks[line, 0, 1], marks[line, 0, 2] = rows.shape[1] - 1, tables[7][line], 0
    for at in range(counts[line]):
        stand = _walk(tables, line, rows[line], at, at + 1, 1, _stand(marks, line, at), FAR, walked)
        marks[line, at + 1, 0], marks[line, at + 1, 1], marks[line, at + 1, 2] = stand


@njit(cache=True)
def _taken(row: Wholes, at: int, length: int, turned: int, spare: Wholes) -> None:
    """Copy a block, turned round or not."""
    for number in range(length):
        spare[number] = row[at + length - 1 - number] if turned else row[at + number]


@njit(cache=True)
def _within(  # noqa: PLR0912 - one loop over the moves
    tables: Tables,
    line: int,
    rows: Wholes,
    counts: Wholes,
    marks: Wholes,
    at: int,
    walked: Wholes,
    spare: Wholes,
) -> bool:
    """Try the moves of the run at a place within its line; make the first that gains."""
    row, count = rows[line], counts[line]
    old = marks[line, count, 2]
    # Blocks from here to another place, either way round.
    for length in range(1, min(LONGEST_BLOCK, count - at) + 1):
        stop = at + length
        for to in range(count + 1):
            if at <= to <= stop:
                continue
            head = _stand(marks, line, min(at, to))
            if to > stop:
                head = _walk(tables, line, row, stop, to, 1, head, old, walked)
            for turned in range(2 if length > 1 else 1):
                begin, end, way = (stop - 1, at - 1, -1) if turned else (at, stop, 1)
                stand = _walk(tables, line, row, begin, end, way, head, old, walked)
                if to < at:
                    stand = _walk(tables, line, row, to, at, 1, stand, old, walked)
                stand = _walk(tables, line, row, max(stop, to), count, 1, stand, old, walked)
                if stand[2] >= old:
                    continue
                _taken(row, at, length, turned, spare)
                if to < at:
                    for number in range(at - 1, to - 1, -1):
                        row[number + length] = row[number]
                    row[to : to + length] = spare[:length]
                else:
                    for number in range(stop, to):
                        row[number - length] = row[number]
                    row[to - length : to] = spare[:length]
                return True
    head = _stand(marks, line, at)
    for other in range(at + 1, count):
        # Two runs change places.
        if other > at + 1:
            row[at], row[other] = row[other], row[at]
            if _walk(tables, line, row, at, count, 1, head, old, walked)[2] < old:
                return True
            row[at], row[other] = row[other], row[at]
        # The stretch between them is turned round.
        stand = _walk(tables, line, row, other, at - 1, -1, head, old, walked)
        stand = _walk(tables, line, row, other + 1, count, 1, stand, old, walked)
        if stand[2] < old:
            row[at : other + 1] = row[at : other + 1][::-1].copy()
            return True
    return False


@njit(cache=True)
def _across(
    tables: Tables,
    line: int,
    other: int,
    rows: Wholes,
    counts: Wholes,
    marks: Wholes,
    at: int,
    walked: Wholes,
    spare: Wholes,
) -> bool:
    """Try the moves of the run at a place to and with another line; make the first that gains."""
    row, count = rows[line], counts[line]
    there, many = rows[other], counts[other]
    old = marks[line, count, 2] + marks[other, many, 2]
    here = _stand(marks, line, at)
    # A block from here into the other line.
    for length in range(1, min(LONGEST_BLOCK, count - at) + 1):
        stop = at + length
        left = _walk(tables, line, row, stop, count, 1, here, old, walked)[2]
        if left >= old:
            continue
        for to in range(many + 1):
            head = _stand(marks, other, to)
            head = (head[0], head[1], head[2] + left)
            for turned in range(2 if length > 1 else 1):
                begin, end, way = (stop - 1, at - 1, -1) if turned else (at, stop, 1)
                stand = _walk(tables, other, row, begin, end, way, head, old, walked)
                stand = _walk(tables, other, there, to, many, 1, stand, old, walked)
                if stand[2] >= old:
                    continue
                _taken(row, at, length, turned, spare)
                for number in range(stop, count):
                    row[number - length] = row[number]
                for number in range(many - 1, to - 1, -1):
                    there[number + length] = there[number]
                there[to : to + length] = spare[:length]
                counts[line] -= length
                counts[other] += length
                return True
    for to in range(many + 1):
        begun = _stand(marks, other, to)
        both = (here[0], here[1], here[2] + begun[2])
        # Two runs change places.
        if to < many:
            row[at], there[to] = there[to], row[at]
            cost = _walk(tables, line, row, at, count, 1, both, old, walked)[2]
            behind = (begun[0], begun[1], cost)
            if _walk(tables, other, there, to, many, 1, behind, old, walked)[2] < old:
                return True
            row[at], there[to] = there[to], row[at]
        # Everything from here on changes places with everything from there on.
        cost = _walk(tables, line, there, to, many, 1, both, old, walked)[2]
        behind = (begun[0], begun[1], cost)
        if _walk(tables, other, row, at, count, 1, behind, old, walked)[2] < old:
            moved = many - to
            spare[:moved] = there[to:many]
            there[to : to + count - at] = row[at:count]
            row[at : at + moved] = spare[:moved]
            counts[line] = at + moved
            counts[other] = to + count - at
            return True
    return False


@njit(cache=True)
def _descend(
    tables: Tables,
    rows: Wholes,
    counts: Wholes,
    marks: Wholes,
    state: Words,
    walked: Wholes,
    spare: Wholes,
) -> int:
    """Make moves that gain until none is left; give the cost."""
    lines = rows.shape[0]
    runs = rows.shape[1] - 1
    for line in range(lines):
        _mark(tables, line, rows, counts, marks, walked)
    # A number stands for a run by its line and place now; after a move the round goes on.
    since, number = 0, _below(state, runs)
    while since < runs:
        line, at = 0, number
        while at >= counts[line]:
            at -= counts[line]
            line += 1
        moved = False
        first = _below(state, lines)
        for turn in range(lines):
            other = (first + turn) % lines
            if other == line:
                moved = _within(tables, line, rows, counts, marks, at, walked, spare)
            else:
                moved = _across(tables, line, other, rows, counts, marks, at, walked, spare)
            if moved:
                _mark(tables, line, rows, counts, marks, walked)
                if other != line:
                    _mark(tables, other, rows, counts, marks, walked)
                break
        since = 0 if moved else since + 1
        number = (number + 1) % runs
    total = 0
    for line in range(lines):
        total += marks[line, counts[line], 2]
    return total


@njit(cache=True)
def _shake(tables: Tables, rows: Wholes, counts: Wholes, state: Words, times: int) -> None:
    """Move some runs anywhere that can make them."""
    run_min = tables[0]
    lines = rows.shape[0]
    runs = rows.shape[1] - 1
    near = _below(state, runs)
    for _ in range(times):
        at = (near + _below(state, max(2, runs // 4))) % runs
        line = 0
        while at >= counts[line]:
            at -= counts[line]
            line += 1
        length = 1 + _below(state, min(3, counts[line] - at))
        other = _below(state, lines)
        possible = True
        for number in range(at, at + length):
            possible = possible and run_min[other, rows[line, number]] < NEVER_MIN
        if not possible:
            continue
        block = rows[line, at : at + length].copy()
        rows[line, at : counts[line] - length] = rows[line, at + length : counts[line]].copy()
        counts[line] -= length
        to = _below(state, counts[other] + 1)
        rows[other, to + length : counts[other] + length] = rows[other, to : counts[other]].copy()
        rows[other, to : to + length] = block
        counts[other] += length


@njit(cache=True)
def descend_and_shake(
    tables: Tables, rows: Wholes, counts: Wholes, seed: int, steps: int
) -> tuple[int, Wholes, Wholes]:
    """Descend, then shake and descend again and again; keep the best.

    Parameters
    ----------
    tables : tuple of arrays
        As `tables_of` gives them.
    rows : array of int, shape (lines, runs + 1)
        Each line's runs, in order, to begin from.
    counts : array of int, shape (lines,)
        How many each line has.
    seed : int
        Seed of the shakes.
    steps : int
        Runs walked over before it ends; 0 to descend only.

    Returns
    -------
    cost : int
        Cost of the best [1/1000 money].
    rows, counts : arrays of int
        The best.

    Notes
    -----
    Source: DERIVED on iterated local search, a textbook method. A shaken order is gone on from when
    it is at most one part in a hundred dearer than the one before it; after fifty shakes without a
    new best the best is taken up again.
    """
    state = np.empty(1, dtype=np.uint64)
    state[0] = np.uint64(seed)
    walked = np.zeros(1, dtype=np.int64)
    spare = np.empty(rows.shape[1], dtype=np.int64)
    marks = np.empty((rows.shape[0], rows.shape[1] + 1, 3), dtype=np.int64)
    rows, counts = rows.copy(), counts.copy()
    best = _descend(tables, rows, counts, marks, state, walked, spare)
    best_rows, best_counts = rows.copy(), counts.copy()
    now, now_rows, now_counts, since = best, rows.copy(), counts.copy(), 0
    while walked[0] < steps:
        _shake(tables, rows, counts, state, 2 + _below(state, 4))
        cost = _descend(tables, rows, counts, marks, state, walked, spare)
        since += 1
        if cost < best:
            best, since = cost, 0
            best_rows[:], best_counts[:] = rows, counts
        if cost <= now + now // 100:
            now = cost
            now_rows[:], now_counts[:] = rows, counts
        if since >= 50:
            since, now = 0, best
            now_rows[:], now_counts[:] = best_rows, best_counts
        rows[:], counts[:] = now_rows, now_counts
    return best, best_rows, best_counts
