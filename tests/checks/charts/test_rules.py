"""Run rules against a naive reading of each, point by point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.rules import RULE_WORDS, check_rules, run_signals
from clew.faults import BadInput


def called(z: list[float], *rules: str) -> list[int]:
    points = np.array(z)
    zero, one = np.zeros(points.size), np.ones(points.size)
    signals = run_signals(points, zero, one, (-3 * one, 3 * one), rules)
    return sorted({signal.group for signal in signals})


def holds(s: list[float], rule: str) -> bool:
    """Whether a rule calls at the last of some points, on the upper side where it has sides."""
    step = np.diff(s)
    found = {
        "beyond-3": s[-1] > 3,
        "2-of-3": s[-1] > 2 and sum(v > 2 for v in s[-3:]) >= 2,
        "4-of-5": s[-1] > 1 and sum(v > 1 for v in s[-5:]) >= 4,
        "8-one-side": len(s) >= 8 and all(v > 0 for v in s[-8:]),
        "6-rising": len(s) >= 6 and all(step[-5:] > 0),
        "15-within-1": len(s) >= 15 and all(abs(v) < 1 for v in s[-15:]),
        "14-alternating": len(s) >= 14 and all(step[-12:] * step[-13:-1] < 0),
    }
    return found[rule]


def naive(z: list[float], rule: str) -> list[int]:
    return [
        t + 1
        for t in range(len(z))
        if holds(z[: t + 1], rule) or holds([-v for v in z[: t + 1]], rule)
    ]


GRID = st.integers(-8, 8).map(lambda n: n / 2 + 0.1 * (n % 2))


@pytest.mark.parametrize("rule", RULE_WORDS)
@given(z=st.lists(GRID, min_size=1, max_size=40))
def test_each_rule_is_what_it_says(rule: str, z: list[float]) -> None:
    assert called(z, rule) == naive(z, rule)


@pytest.mark.parametrize(
    ("rule", "z"),
    [
        ("beyond-3", [0.0, 3.1]),
        ("2-of-3", [2.1, 0.0, 2.1]),
        ("4-of-5", [1.1, 1.1, 0.0, 1.1, 1.1]),
        ("8-one-side", [-0.1] * 8),
        ("6-rising", [-2.0, -1.5, 0.0, 0.1, 0.2, 0.3]),
        ("15-within-1", [0.5, -0.5, 0.9] * 5),
        ("14-alternating", [0.5, -0.5] * 7),
    ],
)
def test_a_pattern_calls_where_it_is_complete_and_one_point_less_does_not(
    rule: str, z: list[float]
) -> None:
    assert called(z, rule) == [len(z)]
    assert called(z[:-1], rule) == []
    assert called([], rule) == []


def test_on_a_line_is_not_beyond_it() -> None:
    assert called([3.0, -3.0], "beyond-3") == []
    assert called([2.0, 2.0, 2.0], "2-of-3") == []
    assert called([1.0] * 5, "4-of-5") == []
    assert called([0.0] * 9, "8-one-side") == []
    assert called([1.0] * 20, "15-within-1") == []


def test_both_sides_of_the_centre_do_not_add_up() -> None:
    assert called([2.5, -2.5, 0.0, 2.5], "2-of-3") == []


def test_a_missing_point_breaks_a_run() -> None:
    assert called([-0.1] * 4 + [float("nan")] + [-0.1] * 4, "8-one-side") == []


def test_no_spread_is_no_signal_at_the_centre_and_one_off_it() -> None:
    points = np.array([5.0, 5.0, 5.1])
    five, zero = np.full(3, 5.0), np.zeros(3)
    signals = run_signals(points, five, zero, (five, five), ["beyond-3", "2-of-3"])
    assert [(signal.group, signal.rule) for signal in signals] == [(3, "beyond-3")]


def test_signals_are_named_in_words() -> None:
    points, zero, one = np.full(8, -0.5), np.zeros(8), np.ones(8)
    (signal,) = run_signals(points, zero, one, (-3 * one, 3 * one), ["8-one-side"])
    assert signal.words == "8 in a row below the centre"
    assert signal.value == -0.5


def test_unknown_rules_are_refused_all_at_once() -> None:
    with pytest.raises(BadInput) as bad:
        check_rules(["3-of-4", "beyond-3", "zone"])
    assert len(bad.value.faults) == 2
    assert check_rules(["8-one-side", "beyond-3", "8-one-side"]) == ("beyond-3", "8-one-side")
