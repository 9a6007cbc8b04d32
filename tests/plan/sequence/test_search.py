"""The local search against every order, its starts, and itself."""

from __future__ import annotations

import numpy as np
import pytest

from clew.plan.sequence import search as searching
from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.judge import judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.search import by_due, by_least_change, search
from naive_sequence import drawn, least_cost

pytestmark = pytest.mark.kernel


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "STEPS_A_RUN", 10_000)


@pytest.mark.parametrize("seed", range(30))
def test_small_problems_are_solved(seed: int) -> None:
    lines = 1 + seed % 3
    problem = drawn(seed, 6 if lines == 1 else 5, lines, frozen=seed % 4 == 0)
    assert search(problem, [], seed=seed).cost == least_cost(problem)


@pytest.mark.parametrize("seed", range(6))
def test_it_is_never_worse_than_a_start_and_keeps_frozen_runs(seed: int) -> None:
    problem = drawn(100 + seed, 25, 3, frozen=True)
    start = light_to_dark(problem, np.arange(25.0))
    free = free_part(problem)
    starts = [start, *(free.whole(f(free.problem)) for f in (by_due, by_least_change))]
    found = search(problem, [start], seed=seed)
    assert found.cost <= min(judge(problem, one).cost for one in starts)
    assert judge(problem, found.order) == found


def test_the_same_seed_gives_the_same_order() -> None:
    problem = drawn(7, 30, 2)
    assert search(problem, [], seed=5).order == search(problem, [], seed=5).order


def test_a_descent_gains_on_the_starts_and_shaking_on_the_descent(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without time nothing is begun; with the bound reached nothing is shaken."""
    monkeypatch.setattr(searching, "STEPS_A_RUN", 500_000)
    fallen, gained = 0, 0
    for seed in range(4):
        problem = drawn(seed, 30, 2)
        start = min(judge(problem, f(problem)).cost for f in (by_due, by_least_change))
        assert search(problem, [], within_s=-1.0).cost == start
        down = search(problem, [], most=10**15).cost
        fallen += start - down
        gained += down - search(problem, []).cost
    assert fallen > 0
    assert gained > 0
