"""The chain that every chart is brought to."""

import math

import numpy as np
import pytest

from clew.checks.charts.run_length_chain import Chain, check_between, refined, steady_length
from clew.checks.charts.run_length_cusum import cusum_chain
from clew.checks.charts.run_length_ewma import ewma_chain
from clew.faults import BadInput


def one_state(quiet: float) -> Chain:
    return Chain(np.array([[quiet]]), np.array([quiet]))


def test_a_chart_without_memory_is_geometric():
    chain = one_state(0.99)
    assert chain.arl() == pytest.approx(100.0, rel=1e-12)
    assert chain.silence(3) == pytest.approx([1.0, 0.99, 0.99**2, 0.99**3])
    for share in (0.1, 0.5, 0.9, 0.999):
        assert chain.quantile(share) == math.ceil(math.log(1.0 - share) / math.log(0.99))


def test_a_quantile_past_every_count_is_taken_from_the_average():
    chain = one_state(1.0 - 1e-9)
    assert chain.quantile(0.5) == pytest.approx(math.log(2.0) * 1e9, rel=1e-6)


@pytest.mark.parametrize("chain", [ewma_chain(0.03, 2.437), cusum_chain(0.25, 8.0, 0.25)])
def test_quantiles_agree_with_silence_counted_out(chain):
    silence = chain.silence(6000)
    for share in (0.02, 0.5, 0.9):
        assert chain.quantile(share) == int(np.argmax(silence <= 1.0 - share))


@pytest.mark.parametrize("chain", [ewma_chain(0.2, 2.5), cusum_chain(0.5, 3.0, 1.0)])
def test_the_average_is_the_sum_of_the_silence(chain):
    assert float(chain.silence(5000).sum()) == pytest.approx(chain.arl(), rel=1e-9)


def test_a_chart_without_memory_does_not_care_when_the_shift_comes():
    assert steady_length(one_state(0.99), one_state(0.5)) == pytest.approx(2.0)


def test_steady_state_agrees_with_a_late_shift_counted_out():
    before, after = cusum_chain(0.5, 3.0), cusum_chain(0.5, 3.0, 1.0)
    spread = before.start
    for _ in range(400):
        spread = spread @ before.quiet
        spread = spread / spread.sum()
    late = float(spread @ after.remaining())
    assert steady_length(before, after) == pytest.approx(late, rel=1e-10)


def test_refining_says_when_it_does_not_stand_still():
    assert refined(lambda nodes: 10.0 + 1.0 / nodes, 8).converged is False
    assert refined(lambda nodes: 10.0 + 2.0**-nodes, 32).converged is True


def test_never_is_refused():
    with pytest.raises(BadInput, match="practically never calls"):
        refined(lambda nodes: 1e15, 8)


@pytest.mark.parametrize("value", [math.nan, -0.1, 1.1, math.inf])
def test_ranges(value):
    with pytest.raises(BadInput, match="share: out of range"):
        check_between("share", value, 0.0, 1.0)
