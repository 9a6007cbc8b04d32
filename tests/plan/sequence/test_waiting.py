"""Waiting lines: worked by hand, against every order, and of no matter where nothing waits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.plan.sequence import search as searching
from clew.plan.sequence.all_orders import all_orders
from clew.plan.sequence.assignment_bound import assignment_bound, lateness_bound
from clew.plan.sequence.colour_bound import colour_bound
from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.judge import judge
from clew.plan.sequence.problem import Order, SequenceProblem, Wholes
from clew.plan.sequence.search import by_due, search
from clew.plan.sequence.solve import solve
from clew.plan.sequence.walk_bound import walk_bound
from naive_sequence import every_order, least_cost, plain, waiting

pytestmark = pytest.mark.kernel


@pytest.fixture(autouse=True, scope="module")
def _short() -> object:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(searching, "STEPS_A_RUN", 5_000)
        yield


def worst(problem: SequenceProblem) -> Order:
    return max(every_order(problem), key=lambda order: judge(problem, order).cost)


def by_hand(rate: int) -> SequenceProblem:
    """Run 0 is ready at 60, run 1 at once; 30 minutes each; 1 before 0 has the dearer changes."""
    return replace(
        plain(2),
        run_min=np.array([[30, 30]]),
        change_cost=np.array([[[0, 10], [20, 0], [0, 0]]]),
        ready_min=np.array([[60, 0]]),
        wait_cost_per_min=np.array([rate]),
    )


@pytest.mark.parametrize(("rate", "order", "cost"), [(0, (0, 1), 10), (1, (1, 0), 50)])
def test_waiting_decides(rate: int, order: tuple[int, ...], cost: int) -> None:
    """0 first waits 60 and pays 10 more: 10 or 70. 1 first waits 30 and pays 20: 20 or 50."""
    problem = by_hand(rate)
    start = judge(problem, worst(problem))
    for best in (
        all_orders(problem, start, 60.0).best,
        search(problem, []),
        cp_sat(problem, start, 60.0, 1).best,
        solve(problem, lightness=np.zeros(2), within_s=60.0).best,
    ):
        assert (best.order, best.cost) == ((order,), cost)
    waits = [one.wait_min for one in judge(problem, ((1, 0),)).timed]
    assert waits == [0, 30]


def test_in_use_is_not_waiting_and_an_idle_line_does_not_wait() -> None:
    """Line 0 is in use until 45 and waits 15 for run 0; line 1 has nothing to do."""
    problem = replace(
        plain(1, 2),
        ready_min=np.array([[60], [60]]),
        free_min=np.array([45, 0]),
        wait_cost_per_min=np.array([2, 1]),
    )
    found = judge(problem, ((0,), ()))
    assert (found.timed[0].wait_min, found.wait_cost, found.cost) == (15, 30, 30)
    assert judge(problem, ((), (0,))).cost == 60


def test_the_sooner_and_cheaper_way_may_be_the_dearer() -> None:
    """0, 1, 2 is done at 3 for nothing and 1, 0, 2 at 43 for 5; then 3 is ready at 100.

    Waiting 97 minutes against 57: who drops the second way misses the best order.
    """
    change = np.full((1, 5, 4), 1000)
    minutes = np.zeros((1, 5, 4), dtype=np.int64)
    change[0, [4, 0, 1, 2], [0, 1, 2, 3]] = 0
    change[0, [4, 1, 0], [1, 0, 2]] = (0, 5, 0)
    minutes[0, 1, 0] = 40
    problem = replace(
        plain(4),
        run_min=np.ones((1, 4), dtype=np.int64),
        change_cost=change,
        change_min=minutes,
        ready_min=np.array([[0, 0, 0, 100]]),
        wait_cost_per_min=np.array([1]),
    )
    assert judge(problem, ((0, 1, 2, 3),)).cost == 97
    assert judge(problem, ((1, 0, 2, 3),)).cost == 62 == least_cost(problem)
    found = all_orders(problem, judge(problem, worst(problem)), 60.0)
    assert (found.best.order, found.bound) == (((1, 0, 2, 3),), 62)


@pytest.mark.parametrize("seed", range(45))
def test_the_count_is_the_least_of_every_order(seed: int) -> None:
    lines = 1 + seed % 3
    problem = waiting(seed, 6 if lines == 1 else 5, lines)
    start = judge(problem, worst(problem))
    least = least_cost(problem)
    found = all_orders(problem, start, 60.0)
    assert found.proven
    assert found.best.cost == found.bound == least
    assert all_orders(problem, start, 0.0).bound <= least
    # Told of an order hardly dearer, it drops most ways, and none that it needs.
    near = min(
        (one for order in every_order(problem) if (one := judge(problem, order)).cost > least),
        key=lambda one: one.cost,
        default=start,
    )
    assert all_orders(problem, near, 60.0).best.cost == least
    assert search(problem, [], seed=seed).cost >= least


@pytest.mark.parametrize("seed", range(9))
def test_the_constraint_solver_agrees(seed: int) -> None:
    problem = waiting(seed, 5, 1 + seed % 3)
    start = judge(problem, by_due(problem))
    found = cp_sat(problem, start, 60.0, 1)
    assert found.best.cost == found.bound == least_cost(problem)
    assert cp_sat(problem, start, 60.0, 1, timed=False).bound <= found.bound


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), runs=st.integers(1, 4), lines=st.integers(1, 3))
def test_bounds_hold_and_waiting_is_what_work_leaves(seed: int, runs: int, lines: int) -> None:
    problem = waiting(seed, runs, lines)
    least = least_cost(problem)
    start = judge(problem, worst(problem))
    counted = all_orders(problem, start, 60.0)
    assert counted.best.cost == counted.bound == least <= search(problem, []).cost
    assert assignment_bound(problem) <= least
    assert colour_bound(problem, 60.0, 1) <= least
    assert walk_bound(problem, least + 1000, 60.0) <= least
    assert lateness_bound(problem) <= counted.best.late_cost
    for line, runs_there in enumerate(start.order):
        there = [one for one in start.timed if one.line == line]
        worked, before = 0, problem.runs
        for run in runs_there:
            worked += int(problem.change_min[line, before, run] + problem.run_min[line, run])
            before = run
        free = int(problem.free_min[line])
        end = there[-1].upto_min if there else free
        assert sum(one.wait_min for one in there) == end - free - worked


@pytest.mark.parametrize("seed", range(9))
def test_where_all_is_ready_what_waiting_costs_is_of_no_matter(seed: int) -> None:
    lines = 1 + seed % 3
    problem = waiting(seed, 5, lines)
    none = np.zeros_like(problem.ready_min)
    dear = replace(problem, ready_min=none, free_min=np.zeros_like(problem.free_min))
    cheap = replace(dear, wait_cost_per_min=np.zeros_like(problem.wait_cost_per_min))
    start = worst(cheap)

    def said(of: SequenceProblem) -> tuple[object, ...]:
        begun = judge(of, start)
        return (
            all_orders(of, begun, 60.0),
            search(of, []),
            assignment_bound(of),
            colour_bound(of, 60.0, 1),
            walk_bound(of, begun.cost, 60.0),
            cp_sat(of, begun, 60.0, 1).bound,
        )

    assert said(dear) == said(cheap)


@pytest.mark.parametrize("seed", range(6))
def test_a_free_time_without_a_price_of_waiting_is_a_ready_time(seed: int) -> None:
    """A line in use until T is one whose runs are all ready from T, if waiting is free."""
    problem = waiting(seed, 4, 1 + seed % 3)
    free = replace(problem, wait_cost_per_min=np.zeros_like(problem.wait_cost_per_min))
    folded: Wholes = np.maximum(free.ready_min, free.free_min[:, None])
    ready = replace(free, ready_min=folded, free_min=np.zeros_like(free.free_min))
    assert all(judge(free, order).cost == judge(ready, order).cost for order in every_order(free))
    assert least_cost(free) == least_cost(ready)


def test_frozen_runs_keep_their_waits_and_the_next_wait_begins_where_they_end() -> None:
    """The line waits 10 for the frozen run, which ends at 15; run 1 is ready at 40."""
    problem = replace(
        plain(2),
        run_min=np.array([[5, 5]]),
        ready_min=np.array([[10, 40]]),
        wait_cost_per_min=np.array([3]),
        frozen=((0,),),
    )
    free = free_part(problem)
    assert (free.frozen_cost, free.problem.free_min.tolist()) == (30, [15])
    assert judge(free.problem, ((0,),)).wait_cost == 75
    assert assignment_bound(problem) == 105 == judge(problem, ((0, 1),)).cost
