"""Charts without memory, and individuals with their moving range."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.run_length_shewhart import (
    moving_range_chain,
    moving_range_run_length,
    shewhart_chain,
    shewhart_run_length,
    width_for,
)
from clew.faults import BadInput


def drawn(width, range_width, shift, runs, seed):
    """Individuals with moving range, point by point."""
    random = np.random.default_rng(seed)
    lengths = np.zeros(runs)
    who = np.arange(runs)
    last = np.full(runs, np.nan)
    points = 0
    while who.size:
        points += 1
        ball = random.standard_normal(who.size) + shift
        calls = np.abs(ball) > width
        if points > 1:
            calls |= np.abs(ball - last) > range_width
        lengths[who[calls]] = points
        who, last = who[~calls], ball[~calls]
    return lengths.mean(), lengths.std(ddof=1) / math.sqrt(runs)


def test_three_sd():
    assert shewhart_run_length(3.0).arl == pytest.approx(370.398347, abs=1e-6)
    assert shewhart_chain(3.0, 1.0).arl() == pytest.approx(shewhart_run_length(3.0, 1.0).arl)


@given(st.floats(2.0, 1e9))
def test_a_width_gives_its_run_back(arl):
    assert shewhart_run_length(width_for(arl)).arl == pytest.approx(arl, rel=1e-9)


@given(st.floats(0.5, 5.0), st.floats(0.0, 6.0), st.floats(0.01, 2.0))
def test_a_greater_shift_is_seen_sooner(width, shift, more):
    first = shewhart_run_length(width, shift).arl
    assert shewhart_run_length(width, shift + more).arl < first
    assert shewhart_run_length(width, -shift).arl == pytest.approx(first)


@pytest.mark.parametrize(
    ("width", "range_width", "shift"), [(2.0, 3.0, 0.0), (3.0, 3.686, 1.0), (4.0, 3.0, 0.5)]
)
def test_moving_range_against_drawn_balls(width, range_width, shift):
    mean, error = drawn(width, range_width, shift, 20_000, 7)
    found = moving_range_run_length(width, range_width, shift)
    assert found.converged
    assert abs(found.arl - mean) < 4.0 * error


def test_a_range_limit_that_cannot_be_passed_leaves_the_individuals():
    found = moving_range_run_length(2.5, 5.01, 0.7).arl
    assert found == pytest.approx(shewhart_run_length(2.5, 0.7).arl, rel=1e-10)


@given(st.floats(1.0, 4.0), st.floats(0.3, 2.2), st.floats(-2.0, 2.0))
def test_moving_range_is_converged_and_never_longer(width, ratio, shift):
    run = moving_range_run_length(width, ratio * width, shift)
    assert run.converged
    assert run.arl <= shewhart_run_length(width, shift).arl * (1.0 + 1e-9)


def test_moving_range_silence_sums_to_the_average():
    chain = moving_range_chain(2.0, 3.0)
    assert float(chain.silence(2000).sum()) == pytest.approx(chain.arl(), rel=1e-10)


@pytest.mark.parametrize(
    ("terms", "key"),
    [
        ((math.nan, 3.0), "width"),
        ((9.0, 3.0), "width"),
        ((3.0, 0.1), "range_width"),
        ((3.0, 3.0, math.inf), "shift"),
    ],
)
def test_bad_terms(terms, key):
    with pytest.raises(BadInput, match=f"^{key}: out of range"):
        moving_range_run_length(*terms)
