"""Times and prices of an order, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.plan.sequence.checks import check_problem
from clew.plan.sequence.free_part import free_part
from clew.plan.sequence.judge import judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.problem import NEVER_MIN
from naive_sequence import cost_by_the_clock, drawn, every_order, plain


def test_a_case_by_hand() -> None:
    """Two runs: wait until 10, change 5, run 20; change 7, run 8 and end 50, five minutes late."""
    problem = replace(
        plain(2),
        run_min=np.array([[20, 8]]),
        run_cost=np.array([[3, 4]]),
        change_min=np.array([[[0, 7], [9, 0], [5, 6]]]),
        change_cost=np.array([[[0, 70], [90, 0], [50, 60]]]),
        ready_min=np.array([[10, 0]]),
        due_min=np.array([[35, 45]]),
        late_cost_per_min=np.array([1000, 11]),
    )
    found = judge(problem, ((0, 1),))
    assert [(t.change_from_min, t.from_min, t.upto_min) for t in found.timed] == [
        (10, 15, 35),
        (35, 42, 50),
    ]
    assert (found.change_cost, found.late_cost, found.run_cost) == (120, 55, 7)
    assert (found.late_runs, found.cost) == (1, 182)


@pytest.mark.parametrize("seed", range(6))
def test_costs_are_those_of_a_walk_minute_by_minute(seed: int) -> None:
    problem = drawn(seed, 4, 1 + seed % 3)
    for order in list(every_order(problem))[::5]:
        assert judge(problem, order).cost == cost_by_the_clock(problem, order)


@pytest.mark.parametrize("seed", range(8))
def test_without_its_frozen_runs_an_order_costs_less_by_theirs(seed: int) -> None:
    problem = drawn(seed, 5, 1 + seed % 3, frozen=True)
    free = free_part(problem)
    for order in list(every_order(problem))[::7]:
        part = free.part(order)
        assert free.whole(part) == order
        assert judge(free.problem, part).cost + free.frozen_cost == judge(problem, order).cost


@pytest.mark.parametrize(
    ("order", "words"),
    [
        (((0, 1),), "missing"),
        (((0, 1, 2, 2),), "twice"),
        (((0, 1, 2, 7),), "no such run"),
        (((0, 1, 2), ()), "another number of lines"),
        (((1, 0, 2),), "frozen runs moved"),
    ],
)
def test_an_order_that_cannot_be_is_refused(order: tuple[tuple[int, ...], ...], words: str) -> None:
    problem = replace(plain(3), frozen=((0,),))
    with pytest.raises(BadInput, match=words):
        judge(problem, order)


def test_a_run_on_a_line_that_cannot_make_it_is_refused() -> None:
    problem = replace(plain(1, 2), run_min=np.array([[5], [NEVER_MIN]]))
    with pytest.raises(BadInput, match="cannot make"):
        judge(problem, ((), (0,)))


def test_everything_wrong_with_a_problem_is_said_at_once() -> None:
    bad = replace(
        plain(2),
        run_min=np.array([[NEVER_MIN, -1]]),
        change_cost=np.full((1, 3, 2), -4),
        frozen=((1, 1, 0, 9),),
    )
    with pytest.raises(BadInput) as caught:
        check_problem(bad)
    said = str(caught.value)
    for words in (
        "no line can make this run",
        "run_min: below 0",
        "change_cost: below 0",
        "frozen twice",
        "cannot make the frozen run",
        "no such run",
    ):
        assert words in said


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"run_min": np.zeros((2, 2), dtype=np.int64)}, "wrong shape"),
        ({"run_cost": np.zeros((1, 2))}, "not whole"),
        ({"lines": ()}, "no line"),
        ({"frozen": ()}, "one entry a line"),
        ({"run_cost": np.full((1, 2), 2**53)}, "too large"),
    ],
)
def test_tables_that_do_not_fit_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        check_problem(replace(plain(2), **change))


def test_light_to_dark_is_what_its_name_says() -> None:
    problem = replace(plain(4), run_min=np.full((1, 4), 10))
    assert light_to_dark(problem, np.array([20.0, 90.0, 50.0, 70.0])) == ((1, 3, 2, 0),)


def test_light_to_dark_keeps_frozen_runs_first_and_limits_of_lines() -> None:
    problem = replace(
        plain(4, 2),
        run_min=np.array([[10, 10, 10, NEVER_MIN], [10, 10, NEVER_MIN, 10]]),
        frozen=((0,), ()),
    )
    lightness = np.array([5.0, 60.0, 50.0, 40.0])
    order = light_to_dark(problem, lightness)
    assert order == ((0, 2), (1, 3))


def test_light_to_dark_keeps_runs_together_that_need_no_change() -> None:
    change = np.full((1, 5, 4), 9)
    change[0, 0, 2] = change[0, 2, 0] = change[0, 1, 3] = change[0, 3, 1] = 0
    problem = replace(plain(4), run_min=np.full((1, 4), 10), change_cost=change)
    assert light_to_dark(problem, np.full(4, 50.0)) == ((0, 2, 1, 3),)


def test_light_to_dark_shares_the_load() -> None:
    problem = replace(plain(6, 2), run_min=np.full((2, 6), 10))
    assert [len(runs) for runs in light_to_dark(problem, np.arange(6.0))] == [3, 3]


def test_light_to_dark_wants_a_lightness_a_run() -> None:
    with pytest.raises(BadInput, match="lightness"):
        light_to_dark(plain(2), np.array([1.0]))
