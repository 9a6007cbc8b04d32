"""Charts as JSON: the keys that scripts rely on."""

from __future__ import annotations

import json

import numpy as np
import pytest

from clew.checks.charts.chart_plain import plain_chart, plain_counts
from clew.checks.charts.charting import KINDS, ChartTerms, chart_of
from clew.checks.charts.counts import count_chart

X = np.concatenate((np.random.default_rng(2).normal(100, 1, 50), np.full(10, 106.0)))


@pytest.mark.parametrize("kind", KINDS)
def test_the_fixed_keys_come_first_and_nothing_is_nan(kind: str) -> None:
    places = np.arange(60) // 5 if kind.startswith("xbar") else np.arange(60)
    plain = plain_chart(chart_of(X, places, ChartTerms(kind)))
    assert list(plain)[:4] == ["center", "ucl", "lcl", "signals"]
    assert isinstance(plain["ucl"], float)
    assert isinstance(plain["lcl"], float)
    assert plain["lcl"] < plain["ucl"]
    assert all(isinstance(group, int) and group >= 1 for group in plain["signals"])
    assert plain["signals"]
    assert plain["lag_one_correlation"] > 0.3
    assert len(plain["ucl_by_group"]) == len(plain["points"]) == len(plain["groups"])
    json.dumps(plain, allow_nan=False)


def test_unequal_groups_list_their_limits() -> None:
    places = np.repeat(np.arange(20), [2, 4] * 10)
    plain = plain_chart(chart_of(X, places, ChartTerms()))
    assert plain["ucl"] == plain["ucl_by_group"]
    assert plain["sizes"] == [2, 4] * 10


def test_both_averages_of_a_head_start_signal() -> None:
    low = np.full(12, -2.0)
    terms = ChartTerms("ewma", target=0.0, sd=1.0, head_start=0.5)
    plain = plain_chart(chart_of(low, np.arange(12), terms))
    assert plain["signals"][0] <= 3
    assert plain["lcl"] == -plain["ucl"]


def test_counts_carry_the_test_against_chance() -> None:
    plain = plain_counts(count_chart(np.array([4.0, 40, 5, 6, 3])))
    assert plain["dispersion"]["more_than_chance"] is True
    assert plain["signals"] == [2]
    assert plain["wider"]["ucl_by_group"][0] > plain["ucl"]
    json.dumps(plain, allow_nan=False)
    json.dumps(plain_counts(count_chart(np.array([4.0]))), allow_nan=False)
