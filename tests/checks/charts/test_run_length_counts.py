"""CUSUM of counts: the chain against drawn counts."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.run_length_counts import poisson_cusum_chain, poisson_cusum_run_length
from clew.faults import BadInput


def drawn(mean, k, h, runs, seed, *, start=0.0, lower=False):
    random = np.random.default_rng(seed)
    lengths = np.zeros(runs)
    who = np.arange(runs)
    total = np.full(runs, start)
    points = 0
    while who.size:
        points += 1
        step = random.poisson(mean, who.size) - k
        total = np.maximum(total + (-step if lower else step), 0.0)
        calls = total >= h - 1e-9
        lengths[who[calls]] = points
        who, total = who[~calls], total[~calls]
    return lengths.mean(), lengths.std(ddof=1) / math.sqrt(runs)


@pytest.mark.parametrize("lower", [False, True])
@pytest.mark.parametrize(
    ("mean", "k", "h", "start"),
    [(1.0, 1.2, 4.0, 0.0), (0.7, 0.75, 3.0, 1.5), (4.0, 4.0, 6.0, 2.0), (2.0, 2.25, 3.1, 0.0)],
)
def test_against_drawn_counts(lower, mean, k, h, start):
    average, error = drawn(mean, k, h, 20_000, 8, start=start, lower=lower)
    found = poisson_cusum_run_length(mean, k, h, head_start=start, lower=lower).arl
    assert abs(found - average) < 4.0 * error


def test_rows_are_chances():
    for lower in (False, True):
        chain = poisson_cusum_chain(1.5, 1.3, 5.0, lower=lower)
        total = chain.quiet.sum(axis=1)
        assert (total > 0.0).all()
        assert (total <= 1.0 + 1e-12).all()


@given(st.floats(0.5, 5.0), st.floats(0.05, 2.0))
def test_more_counts_are_seen_sooner(mean, more):
    first = poisson_cusum_run_length(mean, 2.0, 6.0).arl
    assert poisson_cusum_run_length(mean + more, 2.0, 6.0).arl < first


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ((0.0, 1.0, 4.0), "mean: out of range"),
        ((1.0, 1.001, 4.0), "k: too fine"),
        ((1.0, 1.01, 40.0), "h: too fine a grid"),
        ((1.0, 1.0, math.nan), "h: out of range"),
    ],
)
def test_bad_terms(terms, words):
    with pytest.raises(BadInput, match=words):
        poisson_cusum_run_length(*terms)
