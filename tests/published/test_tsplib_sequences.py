"""Travelling-salesman instances of a public library as colour sequences, solved and proven."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from clew.plan.sequence.all_orders import all_orders
from clew.plan.sequence.cp_sat import cp_sat
from clew.plan.sequence.judge import judge
from clew.plan.sequence.problem import SequenceProblem, Wholes
from clew.plan.sequence.search import by_least_change, search
from clew.plan.sequence.solve import solve
from naive_sequence import plain

pytestmark = pytest.mark.kernel

BR17 = """
9999 3 5 48 48 8 8 5 5 3 3 0 3 5 8 8 5
3 9999 3 48 48 8 8 5 5 0 0 3 0 3 8 8 5
5 3 9999 72 72 48 48 24 24 3 3 5 3 0 48 48 24
48 48 74 9999 0 6 6 12 12 48 48 48 48 74 6 6 12
48 48 74 0 9999 6 6 12 12 48 48 48 48 74 6 6 12
8 8 50 6 6 9999 0 8 8 8 8 8 8 50 0 0 8
8 8 50 6 6 0 9999 8 8 8 8 8 8 50 0 0 8
5 5 26 12 12 8 8 9999 0 5 5 5 5 26 8 8 0
5 5 26 12 12 8 8 0 9999 5 5 5 5 26 8 8 0
3 0 3 48 48 8 8 5 5 9999 0 3 0 3 8 8 5
3 0 3 48 48 8 8 5 5 0 9999 3 0 3 8 8 5
0 3 5 48 48 8 8 5 5 3 3 9999 3 5 8 8 5
3 0 3 48 48 8 8 5 5 0 0 3 9999 3 8 8 5
5 3 0 72 72 48 48 24 24 3 3 5 3 9999 48 48 24
8 8 50 6 6 0 0 8 8 8 8 8 8 50 9999 0 8
8 8 50 6 6 0 0 8 8 8 8 8 8 50 0 9999 8
5 5 26 12 12 8 8 0 0 5 5 5 5 26 8 8 9999
"""

ESC07 = """
0 0 0 0 0 0 0 0 1000000
-1 0 100 200 75 0 300 100 0
-1 400 0 500 325 400 600 0 0
-1 700 800 0 550 700 900 800 0
-1 -1 250 225 0 275 525 250 0
-1 -1 100 200 -1 0 -1 -1 0
-1 -1 1100 1200 1075 1000 0 1100 0
-1 -1 0 500 325 400 600 0 0
-1 -1 -1 -1 -1 -1 -1 -1 0
"""

FORBIDDEN = 10**6


def table(text: str) -> Wholes:
    return np.array([row.split() for row in text.strip().splitlines()], dtype=np.int64)


def from_town_0(costs: Wholes) -> SequenceProblem:
    """Every other town is a run, town 0 where the line stands now."""
    changes = np.concatenate((costs[1:, 1:], costs[:1, 1:]))[None]
    return replace(plain(len(costs) - 1), change_cost=changes)


def anywhere(costs: Wholes) -> SequenceProblem:
    """Every town is a run and the first costs nothing."""
    changes = np.concatenate((costs, np.zeros((1, len(costs)), dtype=np.int64)))[None]
    return replace(plain(len(costs)), change_cost=changes)


def there_and_back(costs: Wholes) -> SequenceProblem:
    """Town 0 is parted: the line stands there, and a run that nothing may follow ends there."""
    towns = len(costs)
    split = np.zeros((towns + 1, towns + 1), dtype=np.int64)
    split[:towns, :towns] = costs
    split[:towns, towns] = costs[:, 0]
    split[towns] = FORBIDDEN
    split[0, towns] = FORBIDDEN
    return from_town_0(split)


VARIANTS = [(there_and_back, 39), (from_town_0, 27), (anywhere, 25)]


@pytest.mark.outside(
    document="TSPLIB95, ATSP",
    edition="bestSolutions.txt",
    section="br17: closed tour 39; open from town 0 27, open 25 computed",
    mark="READ",
)
@pytest.mark.parametrize(("variant", "optimum"), VARIANTS, ids=["closed", "from 0", "open"])
def test_br17_is_found_and_proven_by_the_count(variant, optimum) -> None:
    problem = variant(table(BR17))
    found = all_orders(problem, judge(problem, by_least_change(problem)), 600.0)
    assert found.proven
    assert found.best.cost == found.bound == optimum


@pytest.mark.outside(
    document="TSPLIB95, ATSP",
    edition="bestSolutions.txt",
    section="br17: by search and solver",
    mark="READ",
)
@pytest.mark.parametrize(("variant", "optimum"), VARIANTS, ids=["closed", "from 0", "open"])
def test_br17_is_found_by_the_search(variant, optimum, monkeypatch) -> None:
    monkeypatch.setattr("clew.plan.sequence.search.STEPS_A_RUN", 100_000)
    problem = variant(table(BR17))
    assert search(problem, []).cost == optimum
    answer = solve(problem, lightness=np.zeros(problem.runs), within_s=600.0)
    assert answer.proven
    assert answer.best.cost == answer.bound == optimum


@pytest.mark.outside(
    document="TSPLIB95, SOP",
    edition="bestSolutions.txt",
    section="ESC07: 2125 with every precedence kept",
    mark="READ",
)
def test_esc07_by_judging_every_order_that_keeps_what_must_come_before() -> None:
    """A sequence problem knows no precedence; the referee prices those orders that keep it."""
    costs = table(ESC07)
    problem = from_town_0(np.maximum(costs, 0))
    must = [(j, i) for i in range(1, 9) for j in range(1, 9) if costs[i, j] == -1]
    best = FORBIDDEN
    for way in permutations(range(1, 9)):
        place = {town: number for number, town in enumerate(way)}
        if all(place[first] < place[then] for first, then in must):
            order = (tuple(town - 1 for town in way),)
            best = min(best, judge(problem, order).cost)
    assert best == 2125


@pytest.mark.outside(
    document="TSPLIB95, SOP",
    edition="bestSolutions.txt",
    section="ESC07: no more than 2125 with forbidden changes alone",
    mark="READ",
)
def test_esc07_with_forbidden_changes_is_no_dearer_and_both_proofs_agree() -> None:
    costs = table(ESC07)
    problem = from_town_0(np.where(costs < 0, FORBIDDEN, costs))
    start = judge(problem, by_least_change(problem))
    counted = all_orders(problem, start, 600.0)
    solved = cp_sat(problem, start, 600.0, 1)
    assert counted.proven
    assert solved.proven
    assert counted.best.cost == solved.best.cost <= 2125
