"""Charts of means with standard deviations or ranges, against the definitions read plainly."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.chart import Chart
from clew.checks.charts.charting import ChartTerms, chart_of
from clew.checks.charts.constants import c4, chart_constants, d2, d3
from clew.faults import BadInput

GROUPS = st.lists(
    st.lists(st.floats(-50, 50), min_size=2, max_size=6), min_size=2, max_size=12
).filter(lambda groups: max(max(g) - min(g) for g in groups) > 0.01)


def chart(groups: list[list[float]], kind: str = "xbar-s", **terms: object) -> Chart:
    values = np.array([v for g in groups for v in g])
    places = np.repeat(np.arange(len(groups)), [len(g) for g in groups])
    return chart_of(values, places, ChartTerms(kind, **terms))  # type: ignore[arg-type]


@given(GROUPS)
def test_unequal_groups_by_standard_deviations(groups: list[list[float]]) -> None:
    found = chart(groups)
    weights = [c4(len(g)) ** 2 / (1 - c4(len(g)) ** 2) for g in groups]
    each = [np.std(g, ddof=1) / c4(len(g)) for g in groups]
    sigma = sum(w * s for w, s in zip(weights, each, strict=True)) / sum(weights)
    center = np.mean([v for g in groups for v in g])
    assert found.sd == pytest.approx(sigma, rel=1e-9)
    assert found.center == pytest.approx(center, abs=1e-9)
    for at, g in enumerate(groups):
        assert found.panel.ucl[at] - center == pytest.approx(3 * sigma / len(g) ** 0.5, rel=1e-8)
        assert found.second is not None
        high = sigma * (c4(len(g)) + 3 * (1 - c4(len(g)) ** 2) ** 0.5)
        assert found.second.ucl[at] == pytest.approx(high, rel=1e-9)


@given(GROUPS)
def test_unequal_groups_by_ranges(groups: list[list[float]]) -> None:
    found = chart(groups, "xbar-r")
    weights = [(d2(len(g)) / d3(len(g))) ** 2 for g in groups]
    each = [(max(g) - min(g)) / d2(len(g)) for g in groups]
    sigma = sum(w * s for w, s in zip(weights, each, strict=True)) / sum(weights)
    assert found.sd == pytest.approx(sigma, rel=1e-9)
    assert found.second is not None
    for at, g in enumerate(groups):
        low = max(0.0, sigma * (d2(len(g)) - 3 * d3(len(g))))
        assert found.second.lcl[at] == pytest.approx(low, rel=1e-9)


@pytest.mark.parametrize(("kind", "n"), [("xbar-s", 4), ("xbar-r", 4), ("xbar-s", 9)])
def test_groups_of_one_size_have_the_classic_limits(kind: str, n: int) -> None:
    rows = np.random.default_rng(n).normal(100, 2, (15, n))
    found = chart(rows.tolist(), kind)
    of = chart_constants(n)
    assert found.second is not None
    if kind == "xbar-s":
        mean = rows.std(axis=1, ddof=1).mean()
        a, low, high = of.A3, of.B3, of.B4
    else:
        mean = np.ptp(rows, axis=1).mean()
        a, low, high = of.A2, of.D3, of.D4
    assert found.ucl == pytest.approx(rows.mean() + a * mean)
    assert found.lcl == pytest.approx(rows.mean() - a * mean)
    assert found.second.center[0] == pytest.approx(mean)
    assert found.second.ucl[0] == pytest.approx(high * mean)
    assert found.second.lcl[0] == pytest.approx(low * mean)


@given(GROUPS, st.floats(-20, 20), st.floats(0.1, 10), st.sampled_from(["xbar-s", "xbar-r"]))
def test_another_zero_and_another_unit_change_nothing_else(
    groups: list[list[float]], shift: float, scale: float, kind: str
) -> None:
    one = chart(groups, kind)
    other = chart([[scale * v + shift for v in g] for g in groups], kind)
    assert other.panel.ucl == pytest.approx(scale * one.panel.ucl + shift, abs=1e-7)
    assert other.center == pytest.approx(scale * one.center + shift, abs=1e-7)
    assert other.sd == pytest.approx(scale * one.sd, rel=1e-6)


def test_a_group_of_one_has_limits_but_no_spread() -> None:
    found = chart([[1.0, 2.0, 3.0], [2.5], [1.5, 2.5]])
    assert found.panel.ucl[1] - found.center == pytest.approx(3 * found.sd)
    assert found.second is not None
    assert np.isnan([found.second.points[1], found.second.ucl[1]]).all()
    assert found.ucl is None


def test_a_given_centre_and_spread_are_used() -> None:
    found = chart([[9.0, 11.0], [10.0, 14.0]], target=10.0, sd=1.0)
    assert found.ucl == pytest.approx(10 + 3 / 2**0.5)
    assert found.sd_words == "given"
    assert found.signals == ()
    assert chart([[9.0, 11.0], [11.0, 14.0]], target=10.0, sd=1.0).signals == (2,)


def test_all_equal_is_no_signal_and_says_so() -> None:
    found = chart([[100.1] * 5] * 8, rules=("beyond-3", "8-one-side"))
    assert found.signals == ()
    assert (found.ucl, found.lcl) == (100.1, 100.1)
    assert any("alike" in caution for caution in found.cautions)


def test_groups_of_single_balls_are_sent_to_the_chart_of_individuals() -> None:
    with pytest.raises(BadInput, match="individuals"):
        chart([[1.0], [2.0], [3.0]])
    with pytest.raises(BadInput, match="individuals"):
        chart([[1.0], [2.0], [3.0]], sd=1.0)


def test_a_signal_of_the_spread_stands_in_its_own_panel() -> None:
    calm = [[99.0, 101.0, 100.0, 100.5, 99.5]] * 20
    found = chart([*calm, [90.0, 110.0, 100.0, 95.0, 105.0]])
    assert found.second is not None
    assert [signal.group for signal in found.second.signals] == [21]
    assert found.signals == ()
