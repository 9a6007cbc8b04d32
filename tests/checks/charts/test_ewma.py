"""Exponentially weighted averages against a loop, and their variance against drawn charts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.charting import ChartTerms, chart_of
from clew.checks.charts.ewma import _variance_with_cones
from clew.checks.charts.variance import ConeSpread, cone_spread
from clew.faults import BadInput

SIZES = st.lists(st.integers(1, 4), min_size=2, max_size=25)


@given(SIZES, st.floats(0.02, 1.0), st.floats(0.5, 4.0))
def test_points_and_exact_limits_by_a_loop(sizes: list[int], weight: float, width: float) -> None:
    rng = np.random.default_rng(len(sizes))
    groups = [rng.normal(100, 2, n) for n in sizes]
    found = chart_of(
        np.concatenate(groups),
        np.repeat(np.arange(len(sizes)), sizes),
        ChartTerms("ewma", target=100.0, sd=2.0, weight=weight, width=width),
    )
    z, variance = 100.0, 0.0
    for at, group in enumerate(groups):
        z = weight * group.mean() + (1 - weight) * z
        variance = (1 - weight) ** 2 * variance + weight**2 * 4.0 / len(group)
        assert found.panel.points[at] == pytest.approx(z, abs=1e-9)
        assert found.panel.ucl[at] == pytest.approx(100 + width * variance**0.5, abs=1e-9)
        assert found.panel.lcl[at] == pytest.approx(100 - width * variance**0.5, abs=1e-9)


@pytest.mark.parametrize("exact", [True, False])
def test_equal_groups_have_the_limits_of_the_textbook(exact: bool) -> None:
    terms = ChartTerms("ewma", target=0.0, sd=2.0, weight=0.25, exact=exact)
    found = chart_of(np.zeros(40), np.arange(40) // 4, terms)
    t = np.arange(1, 11)
    start = 1 - 0.75 ** (2 * t) if exact else np.ones(10)
    assert found.panel.ucl == pytest.approx(3 * 1.0 * np.sqrt(0.25 / 1.75 * start))
    assert found.ucl == pytest.approx(3 * np.sqrt(0.25 / 1.75))


def test_a_weight_of_one_is_the_chart_of_individuals() -> None:
    x = np.random.default_rng(0).normal(size=30)
    ewma = chart_of(x, np.arange(30), ChartTerms("ewma", weight=1.0))
    alone = chart_of(x, np.arange(30), ChartTerms("individuals"))
    assert ewma.panel.points == pytest.approx(x)
    assert ewma.panel.ucl == pytest.approx(alone.panel.ucl)


def test_a_head_start_sees_a_start_that_is_off() -> None:
    x = np.full(12, 1.5)
    plain = chart_of(x, np.arange(12), ChartTerms("ewma", target=0.0, sd=1.0, exact=False))
    ahead = chart_of(x, np.arange(12), ChartTerms("ewma", target=0.0, sd=1.0, head_start=0.5))
    assert (ahead.signals[0], plain.signals[0]) == (4, 5)
    assert ahead.second is not None
    assert not ahead.second.signals
    settled = 3 * (0.2 / 1.8) ** 0.5
    assert ahead.panel.points[0] == pytest.approx(0.8 * 0.5 * settled + 0.3)
    assert ahead.second.points[0] == pytest.approx(-0.8 * 0.5 * settled + 0.3)


def of_groups(groups: np.ndarray, cones: np.ndarray, cone_sd: float, within: float) -> ConeSpread:
    """Known spreads laid over the groups and cones of some balls."""
    shape = cone_spread(np.random.default_rng(0).normal(size=groups.size), groups, cones)
    return ConeSpread(
        cone_sd, within, cone_sd, False, shape.cones, 0, shape.group, shape.cone, shape.share,
        shape.likeness, shape.cones_are_groups,
    )  # fmt: skip


def test_groups_that_share_cones_against_the_whole_covariance() -> None:
    """The same variance from the covariance matrix of the group means, written out."""
    rng = np.random.default_rng(6)
    groups = np.repeat(np.arange(15), rng.integers(1, 5, 15))
    cones = np.sort(rng.integers(0, 6, groups.size)).astype(np.int32)
    cones[::7] = 5
    spread = of_groups(groups, cones, 1.3, 0.7)
    sizes = np.bincount(groups)
    share = np.zeros((15, 6))
    np.add.at(share, (groups, cones), 1.0)
    share /= sizes[:, None]
    covariance = 1.3**2 * share @ share.T + np.diag(0.7**2 / sizes)
    weight = 0.3
    found = _variance_with_cones(spread, sizes, weight)
    for t in range(15):
        a = weight * (1 - weight) ** np.arange(t, -1.0, -1.0)
        assert found[t] == pytest.approx(a @ covariance[: t + 1, : t + 1] @ a, rel=1e-10)


def test_without_spread_between_cones_they_do_not_matter() -> None:
    groups = np.arange(60) // 3
    cones = (np.arange(60) // 10).astype(np.int32)
    spread = of_groups(groups, cones, 0.0, 1.0)
    sizes = np.full(20, 3)
    plain = 1 / 3 * 0.2 / 1.8 * (1 - 0.8 ** (2 * np.arange(1, 21)))
    assert _variance_with_cones(spread, sizes, 0.2) == pytest.approx(plain)


@pytest.mark.parametrize(
    ("terms", "said"),
    [
        (ChartTerms("ewma", weight=0.0), "no such weight"),
        (ChartTerms("ewma", weight=1.1), "no such weight"),
        (ChartTerms("ewma", head_start=1.0), "no such head start"),
        (ChartTerms("ewma", head_start=0.5, exact=True), "counts the start twice"),
    ],
)
def test_terms_out_of_range_are_refused(terms: ChartTerms, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        chart_of(np.arange(5.0), np.arange(5), terms)
