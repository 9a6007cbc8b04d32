"""Cumulative sums against the loop of the definition, and what they say of a shift."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.chart import Shift
from clew.checks.charts.charting import ChartTerms, chart_of
from clew.faults import BadInput


def loop(z: np.ndarray, k: float, h: float, start: float) -> tuple[list[float], list[float]]:
    up = down = start * h
    ups, downs = [], []
    for value in z:
        up = max(0.0, up + value - k)
        down = max(0.0, down - value - k)
        ups.append(up)
        downs.append(down)
    return ups, downs


@given(
    st.lists(st.floats(-4, 4), min_size=1, max_size=60),
    st.floats(0.0, 1.5),
    st.floats(0.5, 6.0),
    st.floats(0.0, 0.9),
)
def test_sums_and_signals_are_those_of_the_loop(
    z: list[float], k: float, h: float, start: float
) -> None:
    terms = ChartTerms("cusum", target=100.0, sd=2.0, k=k, h=h, head_start=start)
    found = chart_of(100 + 2 * np.array(z), np.arange(len(z)), terms)
    ups, downs = loop(np.array(z), k, h, start)
    assert found.second is not None
    assert found.panel.points == pytest.approx(2 * np.array(ups), abs=1e-8)
    assert -found.second.points == pytest.approx(2 * np.array(downs), abs=1e-8)
    clear = [t for t in range(len(z)) if min(abs(ups[t] - h), abs(downs[t] - h)) > 1e-6]
    expected = {t + 1 for t in clear if ups[t] > h or downs[t] > h}
    assert {group for group in found.signals if group - 1 in clear} == expected


def test_a_call_stands_where_its_sum_is_drawn() -> None:
    """A rise and a fall: each call's value is the point of its own sum at that group."""
    z = np.concatenate((np.full(8, 2.0), np.full(12, -2.0)))
    found = chart_of(z, np.arange(z.size), ChartTerms("cusum", target=0.0, sd=1.0, k=0.5, h=4.0))
    assert found.second is not None
    drawn = {(n + 1, float(y)) for panel in (found.panel, found.second)
             for n, y in enumerate(panel.points)}  # fmt: skip
    assert {call.value > 0.0 for call in found.panel.signals} == {True, False}
    for call in found.panel.signals:
        assert abs(call.value) > 4.0
        assert (call.group, call.value) in drawn


def test_unequal_groups_run_in_standard_deviations() -> None:
    sizes = [1, 4, 9, 4]
    values = np.repeat([1.0, 1.0, 1.0, -2.0], sizes)
    found = chart_of(
        values, np.repeat(np.arange(4), sizes), ChartTerms("cusum", target=0.0, sd=1.0, h=3.0)
    )
    assert found.panel.points == pytest.approx([0.5, 2.0, 4.5, 0.0])
    assert found.signals == (3, 4)
    assert found.second is not None
    assert found.second.points[3] == pytest.approx(-3.5)
    assert any("standard deviations" in caution for caution in found.cautions)


def test_units_and_standard_deviations_say_the_same() -> None:
    x = np.random.default_rng(4).normal(50, 2, 200)
    places = np.arange(200) // 4
    one = chart_of(x, places, ChartTerms("cusum", target=50.0, sd=2.0, k=0.5, h=4.0))
    other = chart_of(
        x, places, ChartTerms("cusum", target=50.0, sd=2.0, k=0.5, h=4.0, in_unit=True)
    )
    assert one.panel.points == pytest.approx(other.panel.points)
    assert one.ucl == pytest.approx(other.ucl)


def test_when_a_shift_began_and_how_large_it_is() -> None:
    x = np.concatenate((np.zeros(20), np.full(10, 1.5)))
    found = chart_of(x, np.arange(30), ChartTerms("cusum", target=0.0, sd=1.0))
    assert found.shifts == (Shift(upward=True, began=21, seen=26, level=pytest.approx(1.5)),)


def test_a_fall_and_a_rise_are_two_shifts() -> None:
    x = np.concatenate((np.full(10, -2.0), np.zeros(30), np.full(10, 2.0)))
    found = chart_of(x, np.arange(50), ChartTerms("cusum", target=0.0, sd=1.0))
    assert [(shift.upward, shift.began) for shift in found.shifts] == [(False, 1), (True, 41)]
    assert found.shifts[1].level == pytest.approx(2.0)


def test_a_head_start_is_not_counted_into_the_shift() -> None:
    x = np.full(10, 2.0)
    found = chart_of(x, np.arange(10), ChartTerms("cusum", target=0.0, sd=1.0, head_start=0.5))
    assert found.shifts == (Shift(upward=True, began=1, seen=2, level=pytest.approx(2.0)),)


def test_a_sum_on_its_limit_does_not_call() -> None:
    terms = ChartTerms("cusum", target=0.0, sd=1.0, k=0.5, h=3.0)
    assert chart_of(np.full(6, 1.0), np.arange(6), terms).signals == ()
    assert chart_of(np.full(7, 1.0), np.arange(7), terms).signals == (7,)


@pytest.mark.parametrize(
    ("terms", "said"),
    [
        (ChartTerms("cusum", k=-0.1), "no such allowance"),
        (ChartTerms("cusum", h=-1.0), "no such limit"),
        (ChartTerms("cusum", h=0.0), "no such limit"),
        (ChartTerms("cusum", h=float("inf")), "no such limit"),
        (ChartTerms("cusum", k=float("nan")), "no such allowance"),
        (ChartTerms("cusum", k=float("inf")), "no such allowance"),
        (ChartTerms("cusum", head_start=-0.1), "no such head start"),
    ],
)
def test_terms_out_of_range_are_refused(terms: ChartTerms, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        chart_of(np.arange(5.0), np.arange(5), terms)


def test_units_of_the_values_need_groups_of_one_size() -> None:
    with pytest.raises(BadInput, match="one size"):
        chart_of(
            np.arange(5.0), np.array([0, 0, 0, 1, 1]), ChartTerms("cusum", sd=1.0, in_unit=True)
        )


def test_unequal_groups_without_any_spread_are_refused() -> None:
    with pytest.raises(BadInput, match="no spread"):
        chart_of(np.full(5, 7.0), np.array([0, 0, 0, 1, 1]), ChartTerms("cusum"))
