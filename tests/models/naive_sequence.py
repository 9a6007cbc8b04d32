"""Colour sequences done plainly: random problems, every order tried, costs by the words alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, permutations

import numpy as np

from clew.plan.sequence.problem import NEVER_MIN, Order, SequenceProblem


def drawn(seed: int, runs: int, lines: int, *, frozen: bool = False) -> SequenceProblem:
    """Draw a small problem with everything in it: lines that cannot, waiting, lateness."""
    rng = np.random.default_rng(seed)
    shape = (lines, runs)
    run_min = rng.integers(1, 30, shape)
    never = rng.random(shape) < 0.2
    never[rng.integers(0, lines, runs), np.arange(runs)] = False
    run_min[never] = NEVER_MIN
    span = 20 * runs
    first: list[tuple[int, ...]] = [()] * lines
    if frozen and runs:
        line = int(rng.integers(lines))
        can = np.flatnonzero(run_min[line] < NEVER_MIN)[:2]
        first[line] = tuple(can[::-1].tolist())
    return SequenceProblem(
        names=tuple(f"run {number}" for number in range(runs)),
        lines=tuple(f"line {number}" for number in range(lines)),
        run_min=run_min,
        run_cost=rng.integers(0, 40, shape) * int(rng.integers(0, 2)),
        change_min=rng.integers(0, 20, (lines, runs + 1, runs)),
        change_cost=rng.integers(0, 100, (lines, runs + 1, runs)),
        ready_min=rng.integers(0, span // 2 + 1, shape) * int(rng.integers(0, 2)),
        due_min=rng.integers(-10, span + 1, shape),
        late_cost_per_min=rng.integers(0, 12, runs),
        free_min=rng.integers(0, 25, lines) * int(rng.integers(0, 2)),
        wait_cost_per_min=rng.integers(0, 10, lines),
        frozen=tuple(first),
    )


def waiting(seed: int, runs: int, lines: int) -> SequenceProblem:
    """Draw a small problem in which lines wait whatever is done, and waiting is dear."""
    rng = np.random.default_rng([seed, 77])
    problem = drawn(seed, runs, lines)
    return replace(
        problem,
        ready_min=np.tile(rng.integers(0, 30 * runs, runs), (lines, 1)),
        free_min=rng.integers(0, 40, lines),
        wait_cost_per_min=rng.integers(1, 30, lines),
        late_cost_per_min=rng.integers(0, 6, runs),
    )


def plain(runs: int, lines: int = 1) -> SequenceProblem:
    """Give a problem in which nothing takes time or costs anything."""
    return SequenceProblem(
        names=tuple(f"run {number}" for number in range(runs)),
        lines=tuple(f"line {number}" for number in range(lines)),
        run_min=np.zeros((lines, runs), dtype=np.int64),
        run_cost=np.zeros((lines, runs), dtype=np.int64),
        change_min=np.zeros((lines, runs + 1, runs), dtype=np.int64),
        change_cost=np.zeros((lines, runs + 1, runs), dtype=np.int64),
        ready_min=np.zeros((lines, runs), dtype=np.int64),
        due_min=np.zeros((lines, runs), dtype=np.int64),
        late_cost_per_min=np.zeros(runs, dtype=np.int64),
        free_min=np.zeros(lines, dtype=np.int64),
        wait_cost_per_min=np.zeros(lines, dtype=np.int64),
        frozen=((),) * lines,
    )


def cost_by_the_clock(problem: SequenceProblem, order: Order) -> int:
    """Follow each line minute by minute and pay as things happen."""
    paid = 0
    for line, runs in enumerate(order):
        minute, before = int(problem.free_min[line]), problem.runs
        for run in runs:
            while minute < problem.ready_min[line, run]:
                minute += 1
                paid += int(problem.wait_cost_per_min[line])
            paid += int(problem.change_cost[line, before, run] + problem.run_cost[line, run])
            for _ in range(int(problem.change_min[line, before, run])):
                minute += 1
            for _ in range(int(problem.run_min[line, run])):
                minute += 1
            overdue = minute
            while overdue > problem.due_min[line, run]:
                overdue -= 1
                paid += int(problem.late_cost_per_min[run])
            before = run
    return paid


def every_order(problem: SequenceProblem) -> Iterator[Order]:
    """Every way to put the runs on the lines: each permutation, cut everywhere."""
    lines = len(problem.lines)
    for way in permutations(range(problem.runs)):
        for cuts in combinations(range(problem.runs + lines - 1), lines - 1):
            places = [cut - number for number, cut in enumerate(cuts)]
            order = tuple(
                way[begin:end]
                for begin, end in zip([0, *places], [*places, problem.runs], strict=True)
            )
            if all(
                runs[: len(first)] == first
                and all(problem.run_min[line, run] < NEVER_MIN for run in runs)
                for line, (runs, first) in enumerate(zip(order, problem.frozen, strict=True))
            ):
                yield order


def least_cost(problem: SequenceProblem) -> int:
    """Give the least cost of all orders, by trying them."""
    return min(_cost(problem, order) for order in every_order(problem))


def _cost(problem: SequenceProblem, order: Order) -> int:
    paid = 0
    for line, runs in enumerate(order):
        free, before = int(problem.free_min[line]), problem.runs
        worked = free
        for run in runs:
            free = max(free, int(problem.ready_min[line, run]))
            takes = int(problem.change_min[line, before, run] + problem.run_min[line, run])
            free += takes
            worked += takes
            paid += int(problem.change_cost[line, before, run] + problem.run_cost[line, run])
            paid += max(0, free - int(problem.due_min[line, run])) * int(
                problem.late_cost_per_min[run]
            )
            before = run
        # What is left of the time a line is held, beside work, is waiting.
        paid += (free - worked) * int(problem.wait_cost_per_min[line])
    return paid
