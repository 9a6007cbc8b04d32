"""Every kind of chart set to the same false alarms."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.checks.charts.run_length_cusum import cusum_h_for, cusum_run_length
from clew.checks.charts.run_length_ewma import ewma_run_length, ewma_width_for
from clew.checks.charts.set_to_alarms import SIMPLEST, mean_later, mean_run, set_to


@settings(max_examples=12)
@given(st.floats(10.0, 2e4), st.floats(0.2, 12.0))
def test_each_kind_gives_the_false_alarms_allowed(quiet, shift):
    for kind in SIMPLEST:
        terms = set_to(kind, quiet, shift)
        assert mean_run(kind, terms, 0.0) == pytest.approx(quiet, rel=1e-5), kind
        assert 1.0 - 1e-9 <= mean_run(kind, terms, shift) < quiet


def test_the_smallest_shifts_at_the_longest_runs():
    terms = set_to("cusum", 1e6, 0.01)
    assert terms["k"] == 0.05
    assert mean_run("cusum", terms, 0.0) == pytest.approx(1e6, rel=1e-4)


@pytest.mark.parametrize("shift", [0.25, 0.7, 1.5])
def test_no_other_weight_sees_it_sooner(shift):
    terms = set_to("ewma", 500.0, shift)
    best = mean_run("ewma", terms, shift)
    for weight in (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.0):
        other = ewma_run_length(weight, ewma_width_for(500.0, weight), shift).arl
        assert best < 1.001 * other


@pytest.mark.parametrize("shift", [0.5, 1.0, 2.0])
def test_half_the_shift_is_near_the_best_k(shift):
    terms = set_to("cusum", 500.0, shift)
    best = mean_run("cusum", terms, shift)
    for k in (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5):
        assert best < 1.01 * cusum_run_length(k, cusum_h_for(500.0, k), shift).arl


def test_a_late_shift_costs_a_plain_chart_nothing_more():
    terms = set_to("xbar", 500.0, 1.0)
    assert mean_later("xbar", terms, 1.0) == pytest.approx(mean_run("xbar", terms, 1.0))
    terms = set_to("cusum", 500.0, 1.0)
    assert mean_later("cusum", terms, 1.0) < mean_run("cusum", terms, 1.0)
