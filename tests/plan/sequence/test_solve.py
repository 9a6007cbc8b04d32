"""The whole solver: never worse than what is there, whatever the problem."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.plan.sequence import search as searching
from clew.plan.sequence.judge import judge
from clew.plan.sequence.light_to_dark import light_to_dark
from clew.plan.sequence.problem import NEVER_MIN
from clew.plan.sequence.solve import solve
from naive_sequence import drawn, least_cost, plain


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "STEPS_A_RUN", 10_000)


@pytest.mark.parametrize("seed", range(12))
def test_small_problems_are_solved_and_proven(seed: int) -> None:
    problem = drawn(seed, 5, 1 + seed % 3, frozen=seed % 2 == 1)
    answer = solve(problem, lightness=np.arange(5.0), within_s=60.0)
    assert answer.proven
    assert answer.best.cost == answer.bound == least_cost(problem)
    assert answer.gap_frac == 0.0


@pytest.mark.parametrize("runs", [0, 1])
@pytest.mark.parametrize("lines", [1, 2])
def test_no_run_and_one_run(runs: int, lines: int) -> None:
    problem = drawn(4, runs, lines)
    answer = solve(problem, lightness=np.zeros(runs))
    assert answer.proven
    assert answer.best.cost == least_cost(problem)


def test_equal_colours_cost_nothing_and_are_proven_at_once() -> None:
    answer = solve(plain(12, 2), lightness=np.full(12, 50.0))
    assert (answer.best.cost, answer.bound, answer.proven) == (0, 0, True)
    assert answer.found_by == "light to dark"
    assert answer.bound_by == "assignment"
    assert answer.gap_frac == 0.0


@pytest.mark.parametrize("within_s", [0.05, 1.0])
def test_it_is_never_worse_than_what_is_there_however_short_the_time(within_s: float) -> None:
    problem = drawn(20, 24, 3, frozen=True)
    present = light_to_dark(problem, -np.arange(24.0))
    said: list[str] = []
    answer = solve(
        problem,
        lightness=np.arange(24.0),
        present=present,
        within_s=within_s,
        progress=said.append,
    )
    assert answer.present == judge(problem, present)
    assert answer.best.cost <= min(answer.light_to_dark.cost, answer.present.cost)
    assert answer.assignment_bound <= answer.bound <= answer.best.cost
    assert said[0].startswith(("light to dark: costs", "present plan: costs"))
    assert judge(problem, answer.best.order) == answer.best


def test_the_present_plan_is_kept_when_nothing_is_better() -> None:
    problem = drawn(2, 5, 1)
    best = solve(problem, lightness=np.arange(5.0), within_s=60.0).best
    again = solve(problem, lightness=np.arange(5.0), present=best.order, within_s=60.0)
    assert again.best.order == best.order
    assert again.found_by in {"present plan", "light to dark"}


def test_a_run_no_line_can_make_is_refused() -> None:
    problem = replace(plain(2), run_min=np.array([[5, NEVER_MIN]]))
    with pytest.raises(BadInput, match=r'run "run 1".*no line can make'):
        solve(problem, lightness=np.zeros(2))


@pytest.mark.parametrize(
    ("within_s", "seed", "words"),
    [(0.0, 1, "no time"), (float("nan"), 1, "no time"), (1.0, -1, "not a seed")],
)
def test_no_time_and_no_seed_are_refused(within_s: float, seed: int, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        solve(plain(2), lightness=np.zeros(2), within_s=within_s, seed=seed)
