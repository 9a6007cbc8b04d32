"""Charts set on a few groups, against charts set on drawn groups."""

import numpy as np
import pytest
from scipy.stats import norm

from clew.checks.charts.run_length_cusum import cusum_chain
from clew.checks.charts.run_length_estimated import (
    estimated_cusum,
    estimated_ewma,
    estimated_shewhart,
)
from clew.checks.charts.run_length_ewma import ewma_chain
from clew.faults import BadInput


def drawn_errors(groups, size, charts, seed):
    """Error of the centre in sd of a plotted point, and s over sd, from drawn balls."""
    balls = np.random.default_rng(seed).standard_normal((charts, groups, size))
    centre = balls.mean(axis=(1, 2)) * np.sqrt(size)
    if size == 1:
        return centre, balls[:, :, 0].std(axis=1, ddof=1)
    return centre, np.sqrt(balls.var(axis=2, ddof=1).mean(axis=1))


@pytest.mark.parametrize(("groups", "size"), [(20, 5), (60, 1), (10, 4)])
def test_shewhart(groups, size):
    centre, spread = drawn_errors(groups, size, 60_000, 2)
    runs = 1.0 / (norm.cdf(-3.0 * spread - centre) + norm.cdf(-3.0 * spread + centre))
    found = estimated_shewhart(3.0, groups=groups, group_size=size)
    error = runs.std(ddof=1) / np.sqrt(runs.size)
    assert found.mean_arl is not None
    assert abs(found.mean_arl - runs.mean()) < 5.0 * error
    ends = np.quantile(runs, [0.1, 0.5, 0.9])
    assert [found.low_arl, found.middle_arl, found.high_arl] == pytest.approx(ends, rel=0.02)


def test_ewma():
    centre, spread = drawn_errors(25, 5, 3000, 2)
    runs = np.array(
        [
            ewma_chain(0.2, 2.5 * wide, off, nodes=40).arl()
            for off, wide in zip(centre, spread, strict=True)
        ]
    )
    found = estimated_ewma(0.2, 2.5, groups=25, group_size=5)
    assert found.mean_arl == pytest.approx(runs.mean(), rel=0.06)
    assert found.low_arl == pytest.approx(np.quantile(runs, 0.1), rel=0.06)
    assert found.high_arl == pytest.approx(np.quantile(runs, 0.9), rel=0.06)


def test_cusum():
    centre, spread = drawn_errors(25, 5, 3000, 2)
    runs = []
    for off, wide in zip(centre, spread, strict=True):
        up = cusum_chain(0.5 * wide, 4.0 * wide, off).arl()
        down = cusum_chain(0.5 * wide, 4.0 * wide, -off).arl()
        runs.append(1.0 / (1.0 / up + 1.0 / down))
    found = estimated_cusum(0.5, 4.0, groups=25, group_size=5)
    assert found.mean_arl == pytest.approx(np.mean(runs), rel=0.06)
    assert found.low_arl == pytest.approx(np.quantile(runs, 0.1), rel=0.06)
    assert found.high_arl == pytest.approx(np.quantile(runs, 0.9), rel=0.06)


@pytest.mark.parametrize(
    "chart",
    [
        lambda groups: estimated_shewhart(3.0, groups=groups, group_size=5),
        lambda groups: estimated_ewma(0.1, 2.814, groups=groups, group_size=5),
        lambda groups: estimated_cusum(0.5, 5.0, groups=groups, group_size=5),
    ],
)
def test_more_groups_come_to_the_known_chart(chart):
    few, many = chart(20), chart(10_000)
    assert few.high_arl / few.low_arl > 3.0
    assert many.high_arl / many.low_arl < 1.2
    assert many.mean_arl == pytest.approx(many.known_arl, rel=0.02)
    assert few.low_arl < many.low_arl < many.high_arl < few.high_arl


def test_too_few_have_no_average():
    assert estimated_shewhart(3.0, groups=4, group_size=3).mean_arl is None
    with pytest.raises(BadInput, match="groups: out of range"):
        estimated_shewhart(3.0, groups=2, group_size=5)
