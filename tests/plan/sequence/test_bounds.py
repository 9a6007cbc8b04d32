"""Bounds: never above the best order, never below the plain assignment."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from clew.plan.sequence.assignment_bound import (
    assignment_bound,
    earliest_ends,
    lateness_bound,
)
from clew.plan.sequence.colour_bound import colour_bound
from clew.plan.sequence.judge import judge
from clew.plan.sequence.problem import NEVER_MIN, SequenceProblem
from clew.plan.sequence.walk_bound import walk_bound
from naive_sequence import drawn, every_order, least_cost, plain

pytestmark = pytest.mark.kernel


def plain_assignment(problem: SequenceProblem) -> int:
    """The relaxation as it is spoken, every choice of predecessors tried."""
    lines, runs = range(len(problem.lines)), range(problem.runs)
    made = problem.run_min < NEVER_MIN
    best = 2**60
    sources = [*runs, *(problem.runs + line for line in lines)]
    for choice in product(sources, repeat=problem.runs):
        if len(set(choice)) < problem.runs:
            continue
        total = 0
        for run, before in enumerate(choice):
            prices = [
                int(problem.change_cost[line, min(before, problem.runs), run])
                + int(problem.run_cost[line, run])
                for line in lines
                if made[line, run]
                and before != run
                and (made[line, before] if before < problem.runs else before - problem.runs == line)
            ]
            total += min(prices, default=2**60)
        best = min(best, total)
    return best


@pytest.mark.parametrize("seed", range(30))
def test_no_order_is_below_the_bounds(seed: int) -> None:
    lines = 1 + seed % 3
    problem = drawn(seed, 6 if lines == 1 else 5, lines, frozen=seed % 3 == 1)
    least = least_cost(problem)
    assert assignment_bound(problem) <= least
    assert colour_bound(problem, 60.0, 1) <= least
    # Told of a dearer order than the best, so that the bound is not cut to the truth.
    assert walk_bound(problem, least + 1000, 60.0) <= least


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_is_no_weaker_than_the_plain_assignment(seed: int) -> None:
    problem = drawn(seed, 4, 1 + seed % 3)
    assert assignment_bound(problem) >= plain_assignment(problem)


@pytest.mark.parametrize("seed", range(20))
def test_no_order_ends_a_run_sooner_or_is_late_for_less(seed: int) -> None:
    problem = drawn(seed, 5, 1 + seed % 2)
    soonest, late = earliest_ends(problem), lateness_bound(problem)
    for order in every_order(problem):
        found = judge(problem, order)
        assert late <= found.late_cost
        assert all(one.upto_min >= soonest[one.line, one.run] for one in found.timed)


def test_lateness_nobody_can_avoid_is_in_the_bound() -> None:
    """Three runs of ten minutes, all due at once: ten, twenty and thirty minutes late."""
    problem = replace(
        plain(3), run_min=np.full((1, 3), 10), late_cost_per_min=np.full(3, 2, dtype=np.int64)
    )
    assert assignment_bound(problem) == 120 == judge(problem, ((0, 1, 2),)).cost


def test_the_bound_of_runs_that_are_all_frozen_is_their_cost() -> None:
    problem = drawn(3, 3, 1)
    frozen = replace(problem, frozen=((2, 0, 1),))
    assert assignment_bound(frozen) == judge(frozen, ((2, 0, 1),)).cost


def coloured(seed: int, runs: int, lines: int, colours: int) -> SequenceProblem:
    """Only changes cost, and none between runs of a colour."""
    rng = np.random.default_rng(seed)
    colour = rng.integers(0, colours, runs)
    prices = rng.integers(1, 90, (lines, colours + 1, colours))
    rows = np.concatenate((colour, [colours]))
    change = prices[:, rows][:, :, colour]
    change[:, rows[:, None] == colour[None, :]] = 0
    return replace(
        drawn(seed, runs, lines),
        change_cost=change,
        late_cost_per_min=np.zeros(runs, dtype=np.int64),
    )


@pytest.mark.parametrize("seed", range(20))
def test_few_colours_are_counted_out(seed: int) -> None:
    problem = coloured(seed, 6 if seed % 2 else 5, 1 + seed % 2, 3)
    problem = replace(problem, run_cost=np.zeros_like(problem.run_cost))
    assert colour_bound(problem, 60.0, 1) <= least_cost(problem)
    # Where no way over another colour is cheaper, the bound is the truth.
    prices = np.minimum(problem.change_cost, 1) * 50
    even = replace(
        problem,
        change_cost=prices,
        run_min=np.minimum(problem.run_min, 30),
        ready_min=np.zeros_like(problem.ready_min),
    )
    assert colour_bound(even, 60.0, 1) == least_cost(even)


def test_worths_bring_the_walks_near_the_best_order() -> None:
    """Tight dates on one line: the walks come nearer than the assignment by far."""
    ratios = []
    for seed in range(6):
        problem = drawn(seed, 6, 1)
        least = least_cost(problem)
        ratios.append(walk_bound(problem, least, 60.0) / least)
        assert walk_bound(problem, least, 60.0) >= 0.8 * assignment_bound(problem)
    assert np.mean(ratios) > 0.9


def test_runs_that_take_no_time_have_no_walks() -> None:
    assert walk_bound(plain(4), 10, 60.0) == 0


@pytest.mark.parametrize("seed", range(6))
def test_more_colours_than_can_be_counted_are_bounded_as_well(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    problem = coloured(seed, 5, 1 + seed % 2, 3)
    counted = colour_bound(problem, 60.0, 1)
    monkeypatch.setattr("clew.plan.sequence.colour_bound.MOST_PLACES", 0)
    monkeypatch.setattr("clew.plan.sequence.search.STEPS_A_RUN", 1000)
    assert colour_bound(problem, 60.0, 1) == counted
