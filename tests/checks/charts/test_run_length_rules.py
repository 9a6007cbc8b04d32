"""Run rules: the chain against a naive reading of every rule."""

import numpy as np
import pytest

from clew.checks.charts.run_length_rules import (
    RULES,
    is_exact,
    rules_chain,
    rules_run_length,
    rules_simulated,
)
from clew.checks.charts.run_length_shewhart import shewhart_run_length
from clew.faults import BadInput


def calls(name: str, points: list[float]) -> bool:
    """Whether a rule calls at the last of these points, read off as it is worded."""

    def beyond(need: int, of: int, sd: float) -> bool:
        last = points[-of:]
        return sum(one > sd for one in last) >= need or sum(one < -sd for one in last) >= need

    steps = np.diff(points)
    if name in ("beyond-3", "2-of-3", "4-of-5", "8-one-side"):
        numbers = {"beyond-3": (1, 1, 3), "2-of-3": (2, 3, 2), "4-of-5": (4, 5, 1)}
        return beyond(*numbers.get(name, (8, 8, 0)))
    if name == "15-within-1":
        return len(points) >= 15 and all(abs(one) < 1.0 for one in points[-15:])
    if name == "6-rising":
        last = steps[-5:]
        return len(points) >= 6 and (bool((last > 0).all()) or bool((last < 0).all()))
    last = steps[-13:]
    return len(points) >= 14 and bool((last[1:] * last[:-1] < 0).all())


def naive(rules, shift, runs, seed):
    random = np.random.default_rng(seed)
    lengths = []
    for _ in range(runs):
        points: list[float] = []
        while True:
            points.append(float(random.standard_normal() + shift))
            if any(calls(name, points[-15:]) for name in rules):
                break
        lengths.append(len(points))
    return np.mean(lengths), np.std(lengths, ddof=1) / np.sqrt(runs)


@pytest.mark.parametrize(
    ("rules", "shift"),
    [
        (("beyond-3", "2-of-3", "4-of-5", "8-one-side"), 0.8),
        (("2-of-3", "4-of-5"), -0.7),
        (("15-within-1",), 0.0),
        (("beyond-3", "6-rising"), 1.0),
        (("14-alternating", "beyond-3"), 0.5),
        (RULES, 0.0),
    ],
)
def test_against_a_naive_reading(rules, shift):
    mean, error = naive(rules, shift, 300, 11)
    found = rules_run_length(rules, shift)
    spare = 0.0 if is_exact(rules) else rules_simulated(rules, shift).standard_error
    assert abs(found - mean) < 4.0 * (error + spare)


@pytest.mark.parametrize("shift", [0.0, 1.0])
def test_the_drawing_agrees_with_the_chain(shift):
    rules = ("beyond-3", "2-of-3", "4-of-5", "8-one-side")
    drawn = rules_simulated(rules, shift, runs=20_000, seed=3)
    assert abs(drawn.arl - rules_run_length(rules, shift)) < 4.0 * drawn.standard_error
    assert drawn == rules_simulated(rules, shift, runs=20_000, seed=3)


def test_eight_on_one_side_alone_in_closed_form():
    # eight heads in a row or eight tails: 2^8 - 1 tosses on average
    assert rules_run_length(["8-one-side"]) == pytest.approx(255.0, rel=1e-10)


def test_limits_alone_are_the_plain_chart():
    assert rules_run_length(["beyond-3"], 0.5) == pytest.approx(shewhart_run_length(3.0, 0.5).arl)
    stretched = rules_run_length(["beyond-3"], 0.5, scale=1.2)
    assert stretched == pytest.approx(shewhart_run_length(3.6, 0.5).arl)


def test_every_rule_more_costs_false_alarms_and_sees_sooner():
    rules = ["beyond-3", "2-of-3", "4-of-5", "8-one-side", "15-within-1"]
    for shift in (0.0, 0.5, 2.0):
        runs = [rules_run_length(rules[: count + 1], shift) for count in range(len(rules))]
        assert runs == sorted(runs, reverse=True)
        assert len(set(runs)) == len(runs)


def test_order_and_doubles_do_not_matter():
    one = rules_run_length(["4-of-5", "beyond-3", "beyond-3"])
    assert one == rules_run_length(("beyond-3", "4-of-5"))


def test_both_sides_are_alike():
    rules = ("beyond-3", "2-of-3")
    up, down = rules_run_length(rules, 0.7), rules_run_length(rules, -0.7)
    assert up == pytest.approx(down, rel=1e-12)


@pytest.mark.parametrize("rules", [[], ["9-one-side"], ["beyond-3", ""]])
def test_bad_rules(rules):
    with pytest.raises(BadInput, match="rule"):
        rules_run_length(rules)


def test_compared_rules_have_no_chain():
    with pytest.raises(BadInput, match="no exact chain"):
        rules_chain(["6-rising"])
    assert not is_exact(["6-rising"])


def test_a_simulation_that_would_not_end_is_refused():
    with pytest.raises(BadInput, match="too long a run"):
        rules_simulated(["beyond-3"], scale=2.0)
