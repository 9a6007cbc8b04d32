"""The laws of the loop's chance, each against another library or its own definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import gamma, kstest

from clew.line.simulate.loop import chance

DRAWS = 20_000
MIDDLES = (np.arange(DRAWS) + 0.5) / DRAWS


def drawn(seed: int, replication: int, lane: int, purpose: int) -> np.ndarray:
    key = np.uint64(chance.stream(seed, replication, lane, purpose))
    return np.array([chance.uniform(key, number) for number in range(DRAWS)])


def test_normal_quantile() -> None:
    """Acklam states 1.15e-9 relative."""
    u = np.concatenate([np.linspace(1e-9, 1.0 - 1e-9, 2000), 10.0 ** -np.arange(1.0, 17.0)])
    ours = [chance.normal(one) for one in u]
    assert ours == pytest.approx(ndtri(u), rel=1.2e-9)


@pytest.mark.parametrize("spread", [0.05, 0.1, 0.2, 0.3])
def test_cones_are_gamma_but_for_their_tails(spread: float) -> None:
    """Mean and spread are as asked; a length is off by a fiftieth of the spread, 998 in 1000."""
    lengths_m = np.array([chance.cone_length(one, 800.0, spread) for one in MIDDLES])
    assert lengths_m.mean() == pytest.approx(800.0, rel=1e-5)
    assert lengths_m.std() == pytest.approx(800.0 * spread, rel=1e-3)
    inside = (MIDDLES > 0.001) & (MIDDLES < 0.999)
    exact_m = gamma.ppf(MIDDLES, spread**-2, scale=800.0 * spread**2)
    assert np.abs(lengths_m - exact_m)[inside].max() < 0.02 * 800.0 * spread


def test_cones_without_spread() -> None:
    assert {chance.cone_length(one, 800.0, 0.0) for one in (0.001, 0.5, 0.999)} == {800.0}


@pytest.mark.parametrize(
    "stream", [(0, 0, 0, 0), (7, 0, 0, 4), (7, 1, 0, 4), (2**62, 9_999_999, 63, 9)]
)
def test_a_stream_is_uniform(stream: tuple[int, int, int, int]) -> None:
    u = drawn(*stream)
    assert 0.0 < u.min() < u.max() < 1.0
    assert kstest(u, "uniform").pvalue > 0.001
    assert abs(np.corrcoef(u[:-1], u[1:])[0, 1]) < 4.0 / math.sqrt(DRAWS)


def test_neighbouring_streams_have_nothing_to_do_with_each_other() -> None:
    """Another seed, shift, lane or purpose: correlations by chance alone."""
    here = drawn(7, 3, 2, 4)
    for other in ((8, 3, 2, 4), (7, 4, 2, 4), (7, 3, 3, 4), (7, 3, 2, 5)):
        u = drawn(*other)
        assert abs(np.corrcoef(here, u)[0, 1]) < 4.0 / math.sqrt(DRAWS), other
        assert not set(here) & set(u)
