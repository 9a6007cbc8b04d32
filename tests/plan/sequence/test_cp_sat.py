"""The constraint solver's model against every order tried one by one."""

from __future__ import annotations

import pytest

from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.judge import judge
from clew.plan.sequence.search import by_due
from naive_sequence import drawn, least_cost


@pytest.mark.parametrize("warm", [True, False])
@pytest.mark.parametrize("seed", range(6))
def test_its_optimum_is_the_least_of_every_order(seed: int, warm: bool) -> None:
    lines = 1 + seed % 3
    problem = drawn(seed, 5, lines)
    start = judge(problem, by_due(problem))
    found = cp_sat(problem, start, 60.0, 1, warm=warm)
    assert found.proven
    assert found.best.cost == found.bound == least_cost(problem)


@pytest.mark.parametrize("seed", range(6))
def test_without_times_its_bound_holds_and_its_order_is_priced_in_full(seed: int) -> None:
    problem = drawn(seed, 5, 1 + seed % 3)
    start = judge(problem, by_due(problem))
    found = cp_sat(problem, start, 60.0, 1, timed=False)
    assert found.bound <= least_cost(problem) <= found.best.cost <= start.cost
    assert judge(problem, found.best.order) == found.best


def test_frozen_runs_stay() -> None:
    problem = drawn(9, 5, 2, frozen=True)
    from clew.plan.sequence.free_part import free_part

    free = free_part(problem)
    start = judge(problem, free.whole(by_due(free.problem)))
    found = cp_sat(problem, start, 60.0, 1)
    assert found.best.cost == found.bound == least_cost(problem)
