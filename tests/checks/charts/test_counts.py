"""Charts of counts against the definition, and the test against chance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.counts import count_chart
from clew.faults import BadInput


@given(
    st.lists(st.tuples(st.integers(0, 40), st.floats(0.5, 20)), min_size=2, max_size=20).filter(
        lambda rows: sum(found for found, _ in rows) > 0
    )
)
def test_unequal_units_by_the_definition(rows: list[tuple[int, float]]) -> None:
    found, units = np.array(rows).T
    chart = count_chart(found, units)
    rate = found.sum() / units.sum()
    assert chart.chart.center == pytest.approx(rate)
    assert chart.chart.panel.ucl == pytest.approx(rate + 3 * np.sqrt(rate / units))
    assert chart.chart.panel.lcl == pytest.approx(
        np.maximum(0, rate - 3 * np.sqrt(rate / units)), abs=1e-9
    )
    statistic = sum((x - rate * n) ** 2 / (rate * n) for x, n in zip(found, units, strict=True))
    assert chart.dispersion.statistic == pytest.approx(statistic)


@given(st.lists(st.integers(0, 40), min_size=2, max_size=20).filter(sum), st.floats(0.5, 20))
def test_equal_units_reduce_to_counts(found: list[int], unit: float) -> None:
    counts = np.array(found, dtype=float)
    c = count_chart(counts)
    u = count_chart(counts, np.full(counts.size, unit))
    assert c.chart.panel.ucl == pytest.approx(unit * u.chart.panel.ucl)
    assert c.dispersion.statistic == pytest.approx(u.dispersion.statistic)
    assert c.dispersion.statistic == pytest.approx(
        (counts.size - 1) * counts.var(ddof=1) / counts.mean()
    )
    extra = max(0.0, counts.var(ddof=1) - counts.mean())
    assert c.dispersion.between_sd**2 == pytest.approx(extra, abs=1e-9)


def test_spread_beyond_chance_is_told_and_widens_the_offered_limits() -> None:
    rng = np.random.default_rng(3)
    units = rng.uniform(5, 20, 3000)
    found = rng.poisson(units * rng.gamma(4.0, 0.5, 3000)).astype(float)
    chart = count_chart(found, units)
    assert chart.dispersion.more_than_chance
    assert chart.dispersion.between_sd == pytest.approx(1.0, rel=0.1)
    assert (chart.wider.ucl > chart.chart.panel.ucl).all()
    assert len(chart.wider.signals) < len(chart.chart.panel.signals)
    assert any("more than chance" in caution for caution in chart.chart.cautions)


def test_counts_of_chance_alone_are_seldom_told_apart() -> None:
    rng = np.random.default_rng(9)
    calls = sum(
        count_chart(rng.poisson(12, 25).astype(float)).dispersion.more_than_chance
        for _ in range(400)
    )
    assert 6 <= calls <= 36


def test_counts_more_even_than_chance_do_not_narrow_anything() -> None:
    chart = count_chart(np.array([10.0, 10, 11, 10, 10, 9]))
    assert chart.dispersion.between_sd == 0.0
    assert chart.wider.ucl == pytest.approx(chart.chart.panel.ucl)


def test_no_faults_at_all_and_a_single_group() -> None:
    none = count_chart(np.zeros(10))
    assert none.chart.signals == ()
    assert (none.chart.center, none.chart.ucl, none.dispersion.p_more) == (0.0, 0.0, 1.0)
    alone = count_chart(np.array([7.0]))
    assert alone.dispersion.degrees == 0
    assert not alone.dispersion.more_than_chance


@pytest.mark.parametrize(
    ("found", "units"),
    [
        ([], None),
        ([1.5], None),
        ([-1.0], None),
        ([float("nan")], None),
        ([1.0], [0.0]),
        ([1.0], [float("nan")]),
    ],
)
def test_what_is_no_count_is_refused(found: list[float], units: list[float] | None) -> None:
    with pytest.raises(BadInput):
        count_chart(np.array(found), None if units is None else np.array(units))
