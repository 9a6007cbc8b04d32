"""EWMA: integral equation against a fine Markov chain and drawn points."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from clew.checks.charts.run_length_ewma import (
    ewma_chain,
    ewma_limit,
    ewma_run_length,
    ewma_steady_length,
    ewma_width_for,
)
from clew.checks.charts.run_length_shewhart import shewhart_run_length
from clew.faults import BadInput


def by_cells(weight, width, shift, cells):
    """The Markov chain of Lucas and Saccucci: cells of equal width, each at its middle."""
    limit = ewma_limit(weight, width)
    edges = np.linspace(-limit, limit, cells + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    up = norm.cdf((edges[None, 1:] - (1.0 - weight) * middle[:, None]) / weight - shift)
    low = norm.cdf((edges[None, :-1] - (1.0 - weight) * middle[:, None]) / weight - shift)
    length = np.linalg.solve(np.eye(cells) - (up - low), np.ones(cells))
    return length[cells // 2]


def drawn(weight, width, shift, runs, seed, *, exact=False, head=0.0, quiet=0):
    """Two averages from ±head of the limit; the shift comes after so many quiet points."""
    random = np.random.default_rng(seed)
    final = ewma_limit(weight, width)
    start = head * (width * weight if exact else final)
    lengths = np.zeros(runs)
    who = np.arange(runs)
    high, low = np.full(runs, start), np.full(runs, -start)
    points = 0
    while who.size:
        points += 1
        point = random.standard_normal(who.size) + (shift if points > quiet else 0.0)
        high, low = high + weight * (point - high), low + weight * (point - low)
        limit = final * (math.sqrt(1.0 - (1.0 - weight) ** (2 * points)) if exact else 1.0)
        calls = (high > limit) | (low < -limit)
        lengths[who[calls]] = points
        who, high, low = who[~calls], high[~calls], low[~calls]
    lengths = lengths[lengths > quiet] - quiet
    return lengths.mean(), lengths.std(ddof=1) / math.sqrt(lengths.size)


@pytest.mark.parametrize(
    ("weight", "width", "shift"), [(0.1, 2.0, 0.0), (0.3, 2.5, 0.5), (0.05, 2.0, 1.0)]
)
def test_against_a_chain_of_cells_taken_to_the_limit(weight, width, shift):
    coarse, fine = by_cells(weight, width, shift, 201), by_cells(weight, width, shift, 402 + 1)
    # the error of cells falls with the square of their width
    ratio = (403.0 / 201.0) ** 2
    extrapolated = (ratio * fine - coarse) / (ratio - 1.0)
    run = ewma_run_length(weight, width, shift)
    assert run.converged
    assert run.arl == pytest.approx(extrapolated, rel=2e-5)


@pytest.mark.parametrize("exact", [False, True])
@pytest.mark.parametrize("head", [0.0, 0.5, 0.75])
@pytest.mark.parametrize(("weight", "width", "shift"), [(0.1, 2.0, 0.0), (0.3, 2.6, 0.7)])
def test_against_drawn_points(exact, head, weight, width, shift):
    mean, error = drawn(weight, width, shift, 20_000, 5, exact=exact, head=head)
    run = ewma_run_length(weight, width, shift, exact_limits=exact, head_start=head)
    assert run.converged
    assert abs(run.arl - mean) < 4.0 * error


def test_a_late_shift_against_drawn_points():
    mean, error = drawn(0.1, 2.6, 1.0, 40_000, 9, quiet=60)
    assert abs(ewma_steady_length(0.1, 2.6, 1.0).arl - mean) < 4.0 * error


def test_without_memory_it_is_the_plain_chart():
    for shift in (0.0, 1.0):
        run = ewma_run_length(1.0, 3.0, shift)
        assert run.arl == pytest.approx(shewhart_run_length(3.0, shift).arl, rel=1e-9)
        exact = ewma_run_length(1.0, 3.0, shift, exact_limits=True)
        assert exact.arl == pytest.approx(run.arl, rel=1e-9)


@given(st.floats(0.05, 1.0), st.floats(1.0, 3.5), st.floats(0.0, 4.0), st.floats(0.05, 2.0))
def test_a_greater_shift_is_seen_sooner(weight, width, shift, more):
    first = ewma_run_length(weight, width, shift)
    assert first.converged
    assert ewma_run_length(weight, width, shift + more).arl < first.arl
    assert ewma_run_length(weight, width, -shift).arl == pytest.approx(first.arl, rel=1e-7)


@given(st.floats(5.0, 1e5), st.floats(0.02, 1.0))
def test_a_width_gives_its_run_back(arl, weight):
    width = ewma_width_for(arl, weight)
    assert ewma_run_length(weight, width).arl == pytest.approx(arl, rel=1e-6)


def test_a_width_of_exact_limits_gives_its_run_back():
    width = ewma_width_for(500.0, 0.1, exact_limits=True)
    run = ewma_run_length(0.1, width, exact_limits=True)
    assert run.arl == pytest.approx(500.0, rel=1e-8)
    assert width > ewma_width_for(500.0, 0.1)


def test_nodes_that_suit_the_weight_are_enough():
    for weight in (0.02, 0.1, 0.6):
        rough = ewma_chain(weight, 3.0).arl()
        assert rough == pytest.approx(ewma_run_length(weight, 3.0).arl, rel=1e-7)


@pytest.mark.parametrize(
    ("terms", "key"),
    [
        ({"weight": 0.0}, "weight"),
        ({"weight": 1.01}, "weight"),
        ({"width": -1.0}, "width"),
        ({"width": math.nan}, "width"),
        ({"shift": math.inf}, "shift"),
        ({"head_start": 1.0}, "head_start"),
        ({"weight": 0.01, "exact_limits": True}, "weight"),
    ],
)
def test_bad_terms(terms, key):
    with pytest.raises(BadInput, match=f"^{key}: out of range"):
        ewma_run_length(**({"weight": 0.1, "width": 2.8} | terms))


def test_a_run_that_cannot_be_had():
    with pytest.raises(BadInput, match="arl"):
        ewma_width_for(1.0, 0.1)
    with pytest.raises(BadInput, match="practically never"):
        ewma_run_length(0.1, 8.0)
