"""How often charts call falsely, against what is known in closed form and by drawing."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import poisson

from clew.checks.charts.charting import ChartTerms, chart_of
from clew.checks.charts.counts import count_chart
from clew.checks.charts.false_calls import false_call_groups
from clew.checks.charts.rules import run_signals
from clew.checks.charts.run_length_rules import rules_run_length

X = np.random.default_rng(1).normal(size=60)


def often(terms: ChartTerms, *, places: np.ndarray | None = None) -> float | None:
    return false_call_groups(chart_of(X, np.arange(60) if places is None else places, terms), terms)


def test_limits_alone() -> None:
    assert often(ChartTerms("individuals")) == pytest.approx(370.398, abs=0.001)
    assert often(ChartTerms("individuals", width=2.0)) == pytest.approx(21.98, abs=0.01)


def test_each_rule_costs_false_calls() -> None:
    known = [
        often(ChartTerms("individuals", rules=rules))
        for rules in (
            ("beyond-3",),
            ("beyond-3", "2-of-3"),
            ("beyond-3", "2-of-3", "4-of-5"),
            ("beyond-3", "2-of-3", "4-of-5", "8-one-side"),
        )
    ]
    lengths = [length for length in known if length is not None]
    assert len(lengths) == 4
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < 0.3 * lengths[0]


def test_rules_at_another_width_have_no_law() -> None:
    assert often(ChartTerms("individuals", width=2.5, rules=("beyond-3", "2-of-3"))) is None


def test_a_cusum_says_the_same_in_either_unit() -> None:
    sds = often(ChartTerms("cusum", sd=2.0, k=0.5, h=5.0))
    unit = often(ChartTerms("cusum", sd=2.0, k=1.0, h=10.0, in_unit=True))
    assert sds == pytest.approx(465.44, abs=0.01)
    assert unit == pytest.approx(sds)


def test_an_ewma_with_exact_limits_calls_sooner_than_with_fixed_ones() -> None:
    exact = often(ChartTerms("ewma", weight=0.1, width=2.814))
    fixed = often(ChartTerms("ewma", weight=0.1, width=2.814, exact=False))
    assert fixed == pytest.approx(500.0, abs=1.0)
    assert exact is not None
    assert exact < 500.0


def test_counts_by_their_own_law() -> None:
    chart = count_chart(np.full(10, 16.0)).chart
    chance = poisson.sf(28, 16) + poisson.cdf(3, 16)
    assert false_call_groups(chart, ChartTerms()) == pytest.approx(1 / chance, rel=1e-9)


def test_no_spread_has_no_law_for_a_cusum() -> None:
    terms = ChartTerms("cusum")
    chart = chart_of(np.full(9, 3.0), np.arange(9), terms)
    assert false_call_groups(chart, terms) is None


@pytest.mark.parametrize(
    "rules",
    [
        ("beyond-3", "2-of-3", "4-of-5", "8-one-side"),
        ("beyond-3", "15-within-1", "6-rising", "14-alternating"),
    ],
)
def test_the_rules_that_call_are_the_rules_that_are_priced(rules: tuple[str, ...]) -> None:
    """Drawn charts, called by the rules of this room, run as long as its run lengths say."""
    rng = np.random.default_rng(21)
    zero, one = np.zeros(700), np.ones(700)
    runs = []
    for _ in range(700):
        signals = run_signals(rng.normal(0.5, 1, 700), zero, one, (-3 * one, 3 * one), rules)
        runs.append(signals[0].group if signals else 700)
    expected = rules_run_length(rules, 0.5)
    assert np.mean(runs) == pytest.approx(expected, abs=3.5 * np.std(runs) / 700**0.5)


def cones_of(balls_each: int, groups: int = 400) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Balls of cones that differ as much as balls of one cone do; groups of five."""
    rng = np.random.default_rng(8)
    cones = (np.arange(5 * groups) // balls_each).astype(np.int32)
    balls = rng.normal(100, 1, cones.max() + 1)[cones] + rng.normal(0, 1, cones.size)
    return balls, np.arange(5 * groups) // 5, cones


@pytest.mark.parametrize(
    ("terms", "balls_each", "known"),
    [
        (ChartTerms(), 40, True),
        (ChartTerms("cusum"), 5, True),
        (ChartTerms("ewma"), 40, True),
        (ChartTerms("cusum"), 40, False),
        (ChartTerms(rules=("beyond-3", "8-one-side")), 40, False),
        (ChartTerms(limits_from="within"), 5, False),
        (ChartTerms(sd=1.0), 5, False),
        (ChartTerms(sd=1.0), 1, True),
    ],
)
def test_no_figure_where_cones_tie_points_together_or_are_not_counted(
    terms: ChartTerms, balls_each: int, known: bool
) -> None:
    balls, places, cones = cones_of(balls_each)
    chart = chart_of(balls, places, terms, cones)
    assert (false_call_groups(chart, terms) is not None) is known
    uncounted = terms.sd is not None or terms.limits_from is not None
    said = any("Cones are not counted" in caution for caution in chart.cautions)
    assert said is (uncounted and balls_each > 1)


def test_a_cusum_over_shared_cones_calls_much_sooner_than_independent_points_would() -> None:
    """Why no figure is given there: 465 groups would be said, some 30 are found."""
    balls, places, cones = cones_of(40, 8000)
    chart = chart_of(balls, places, ChartTerms("cusum", target=100.0), cones)
    episodes = len(chart.shifts)
    assert 8000 / episodes < 200


def test_a_head_start_is_a_share_of_the_limit_and_costs_false_calls() -> None:
    """J. M. Lucas and R. B. Crosier, 1982, table 1: 168 without, 149 with half the limit."""
    assert often(ChartTerms("cusum", sd=1.0, h=4.0)) == pytest.approx(168, abs=0.5)
    assert often(ChartTerms("cusum", sd=1.0, h=4.0, head_start=0.5)) == pytest.approx(149, abs=0.5)
