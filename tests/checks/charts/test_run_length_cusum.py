"""CUSUM: integral equation against Brook and Evans's chain and drawn points."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from clew.checks.charts.run_length_cusum import (
    cusum_h_for,
    cusum_run_length,
    cusum_steady_length,
)
from clew.faults import BadInput


def by_cells(k, h, shift, cells):
    """One side: the sum at nought and cells of equal width up to h, as by Brook and Evans."""
    wide = 2.0 * h / (2 * cells - 1)
    places = wide * np.arange(cells)
    up = norm.cdf(places[None, :] + 0.5 * wide - places[:, None] + k - shift)
    low = norm.cdf(places[None, :] - 0.5 * wide - places[:, None] + k - shift)
    quiet = up - low
    quiet[:, 0] = up[:, 0]
    return np.linalg.solve(np.eye(cells) - quiet, np.ones(cells))[0]


def drawn(k, h, shift, runs, seed, *, start=0.0, sides="two", quiet=0):
    random = np.random.default_rng(seed)
    lengths = np.zeros(runs)
    who = np.arange(runs)
    high, low = np.full(runs, start), np.full(runs, start)
    points = 0
    while who.size:
        points += 1
        point = random.standard_normal(who.size) + (shift if points > quiet else 0.0)
        high = np.maximum(high + point - k, 0.0)
        low = np.maximum(low - point - k, 0.0)
        calls = high > h
        if sides == "two":
            calls |= low > h
        lengths[who[calls]] = points
        who, high, low = who[~calls], high[~calls], low[~calls]
    lengths = lengths[lengths > quiet] - quiet
    return lengths.mean(), lengths.std(ddof=1) / math.sqrt(lengths.size)


@pytest.mark.parametrize(("k", "h", "shift"), [(0.5, 3.0, 0.0), (0.25, 6.0, 0.5), (1.0, 2.0, -0.2)])
def test_against_a_chain_of_cells_taken_to_the_limit(k, h, shift):
    coarse, fine = by_cells(k, h, shift, 150), by_cells(k, h, shift, 300)
    ratio = (599.0 / 299.0) ** 2
    extrapolated = (ratio * fine - coarse) / (ratio - 1.0)
    run = cusum_run_length(k, h, shift, sides="one")
    assert run.converged
    assert run.arl == pytest.approx(extrapolated, rel=2e-4)


@pytest.mark.parametrize("sides", ["one", "two"])
@pytest.mark.parametrize(
    ("k", "h", "shift", "start"),
    [(0.5, 3.0, 0.0, 0.0), (0.5, 3.0, 0.0, 1.5), (0.5, 3.0, 0.5, 2.0), (0.25, 2.0, -0.3, 1.25)],
)
def test_against_drawn_points(sides, k, h, shift, start):
    mean, error = drawn(k, h, shift, 20_000, 4, start=start, sides=sides)
    found = cusum_run_length(k, h, shift, head_start=start, sides=sides)
    assert found.converged
    assert abs(found.arl - mean) < 4.0 * error


def test_a_late_shift_against_drawn_points():
    mean, error = drawn(0.5, 4.0, 1.0, 40_000, 9, sides="one", quiet=60)
    assert abs(cusum_steady_length(0.5, 4.0, 1.0).arl - mean) < 4.0 * error


def test_reciprocals_add_from_nought():
    up, down = (cusum_run_length(0.4, 4.0, one, sides="one").arl for one in (0.3, -0.3))
    both = cusum_run_length(0.4, 4.0, 0.3).arl
    assert 1.0 / both == pytest.approx(1.0 / up + 1.0 / down, rel=1e-10)


@given(st.floats(0.05, 1.5), st.floats(0.2, 6.0), st.floats(0.0, 3.0), st.floats(0.05, 2.0))
def test_a_greater_shift_is_seen_sooner(k, h, shift, more):
    first = cusum_run_length(k, h, shift)
    assert first.converged or first.arl > 1e6
    assert cusum_run_length(k, h, shift + more).arl < first.arl
    assert cusum_run_length(k, h, -shift).arl == pytest.approx(first.arl, rel=1e-6)


@given(st.floats(0.1, 0.45), st.floats(0.0, 3.0))
def test_a_head_start_calls_sooner(head, shift):
    first = cusum_run_length(0.5, 4.0, shift).arl
    assert cusum_run_length(0.5, 4.0, shift, head_start=4.0 * head).arl < first


@pytest.mark.parametrize("sides", ["one", "two"])
@pytest.mark.parametrize(
    ("arl", "k"), [(20.0, 0.5), (370.0, 0.5), (500.0, 0.05), (1e5, 0.3), (50.0, 1.5)]
)
def test_an_h_gives_its_run_back(arl, k, sides):
    h = cusum_h_for(arl, k, sides=sides)
    assert cusum_run_length(k, h, sides=sides).arl == pytest.approx(arl, rel=1e-7)


def test_a_k_that_already_runs_longer():
    with pytest.raises(BadInput, match="no chart runs so short"):
        cusum_h_for(20.0, 3.0)


def test_a_side_that_never_calls_does_not_spoil_the_other():
    run = cusum_run_length(0.25, 20.0, 3.0)
    assert run.arl == pytest.approx(cusum_run_length(0.25, 20.0, 3.0, sides="one").arl, rel=1e-9)


@pytest.mark.parametrize(
    ("terms", "key"),
    [
        ({"k": -0.1}, "k"),
        ({"h": 0.0}, "h"),
        ({"h": math.nan}, "h"),
        ({"head_start": 5.0, "sides": "one"}, "head_start"),
        ({"head_start": 3.1}, "head_start"),
    ],
)
def test_bad_terms(terms, key):
    with pytest.raises(BadInput, match=f"^{key}: out of range"):
        cusum_run_length(**({"k": 0.5, "h": 5.0} | terms))
