"""The count of all orders against every order tried one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.plan.sequence import all_orders as counting
from clew.plan.sequence.all_orders import all_orders, can_count
from clew.plan.sequence.judge import judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.problem import SequenceProblem
from naive_sequence import drawn, every_order, least_cost, plain

pytestmark = pytest.mark.kernel


def worst(problem: SequenceProblem) -> tuple[tuple[int, ...], ...]:
    return max(every_order(problem), key=lambda order: judge(problem, order).cost)


@pytest.mark.parametrize("seed", range(45))
def test_it_is_the_least_of_every_order(seed: int) -> None:
    lines = 1 + seed % 3
    runs = 6 if lines == 1 else 5
    problem = drawn(seed, runs, lines, frozen=seed % 4 == 0)
    found = all_orders(problem, judge(problem, worst(problem)), 60.0)
    assert found.proven
    assert found.best.cost == found.bound == least_cost(problem)


@pytest.mark.parametrize("lines", [1, 2])
def test_seven_runs(lines: int) -> None:
    problem = drawn(70 + lines, 7, lines)
    start = light_to_dark(problem, np.arange(7.0))
    found = all_orders(problem, judge(problem, start), 60.0)
    assert found.best.cost == found.bound == least_cost(problem)


def test_the_best_order_known_is_given_back_with_its_proof() -> None:
    problem = drawn(5, 6, 1)
    first = all_orders(problem, judge(problem, worst(problem)), 60.0).best
    again = all_orders(problem, first, 60.0)
    assert again.best is first
    assert again.proven


def test_without_time_or_memory_a_bound_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = drawn(11, 6, 1)
    start = judge(problem, worst(problem))
    best = least_cost(problem)
    late = all_orders(problem, start, 0.0)
    assert late.best is start
    assert 0 < late.bound <= best
    monkeypatch.setattr(counting, "MOST_LABELS", 0)
    assert all_orders(problem, start, 60.0) == late


def test_what_is_too_large_is_known_before() -> None:
    assert can_count(plain(18))
    assert not can_count(plain(19))
    assert can_count(replace(plain(19), frozen=((3,),)))
    assert can_count(plain(17, 3))
    assert not can_count(plain(18, 3))
    assert not can_count(plain(60))


@pytest.mark.parametrize("scale", [0, 30])
def test_fifteen_runs_on_one_line_are_proven(scale: int) -> None:
    """Lateness priced at nothing, or dear; by the clock of the benchmark both take a moment."""
    problem = drawn(15, 15, 1)
    problem = replace(problem, late_cost_per_min=problem.late_cost_per_min * scale)
    start = judge(problem, light_to_dark(problem, np.arange(15.0)))
    found = all_orders(problem, start, 600.0)
    assert found.proven
    assert found.best.cost < start.cost
