"""The chart of joins: exact limits, each length its own."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.rate_chart import joins_chart, shape_of_stretch, usual_joins


def chance_up_to(count: int, mean: float) -> float:
    return sum(math.exp(-mean + k * math.log(mean) - math.lgamma(k + 1)) for k in range(count + 1))


@settings(deadline=None)
@given(st.floats(0.01, 200.0), st.floats(1e-4, 0.2))
def test_limits_are_the_tightest_that_hold_the_risk(mean: float, risk: float) -> None:
    least, most = usual_joins(mean, risk=risk)
    slack = 1e-9
    assert chance_up_to(least - 1, mean) <= risk + slack
    assert chance_up_to(least, mean) >= risk - slack
    assert 1.0 - chance_up_to(most, mean) <= risk + slack
    assert 1.0 - chance_up_to(most - 1, mean) >= risk - slack


def test_a_mean_of_nothing_allows_nothing() -> None:
    assert usual_joins(0.0) == (0, 0)


def test_longer_stretches_have_closer_limits() -> None:
    chart = joins_chart([4, 40, 400], [10.0, 100.0, 1000.0])
    widths = [point.high_per_100_km - point.low_per_100_km for point in chart.points]
    assert widths == sorted(widths, reverse=True)
    assert chart.centre_per_100_km == pytest.approx(40.0)
    assert all(not point.signal for point in chart.points)


def test_signals_on_either_side() -> None:
    chart = joins_chart([9, 200, 100], [1.0e2] * 3, centre_per_100_km=100.0)
    assert [point.signal for point in chart.points] == ["low", "high", ""]
    assert chart.points[1].per_100_km == pytest.approx(200.0)


def test_a_chart_of_no_joins_has_no_signal() -> None:
    chart = joins_chart([0, 0], [3.0, 4.0])
    assert [point.signal for point in chart.points] == ["", ""]


def test_false_alarms_are_no_more_than_the_risk() -> None:
    rng = np.random.default_rng(3)
    joins = [int(one) for one in rng.poisson(6.0, 20_000)]
    chart = joins_chart(joins, [15.0] * len(joins), centre_per_100_km=40.0, risk=0.01)
    assert np.mean([point.signal == "high" for point in chart.points]) <= 0.012
    assert np.mean([point.signal == "low" for point in chart.points]) <= 0.012


@pytest.mark.parametrize(
    ("joins", "length"), [([], []), ([1], [1.0, 2.0]), ([-1], [1.0]), ([1], [0.0])]
)
def test_bad_stretches_are_refused(joins: list[int], length: list[float]) -> None:
    with pytest.raises(BadInput):
        joins_chart(joins, length)


def test_a_centre_below_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match="centre"):
        joins_chart([1], [1.0], centre_per_100_km=-1.0)


@settings(deadline=None)
@given(st.floats(0.01, 200.0), st.floats(1e-4, 0.2), st.floats(0.3, 30.0))
def test_limits_with_a_shape_are_the_tightest_that_hold_the_risk(
    mean: float, risk: float, shape: float
) -> None:
    def up_to(count: int) -> float:
        return sum(
            math.exp(
                math.lgamma(k + shape) - math.lgamma(shape) - math.lgamma(k + 1)
                + shape * math.log(shape / (shape + mean)) + k * math.log(mean / (shape + mean))
            )
            for k in range(count + 1)
        )  # fmt: skip

    least, most = usual_joins(mean, risk=risk, shape=shape)
    slack = 1e-9
    assert up_to(least - 1) <= risk + slack
    assert up_to(least) >= risk - slack
    assert 1.0 - up_to(most) <= risk + slack
    assert 1.0 - up_to(most - 1) >= risk - slack


@pytest.mark.parametrize("lengths", [[3.5] * 10, [1.0, 2.0, 2.0, 3.0, 6.0, 6.0, 7.0, 8.0]])
def test_lots_of_cones_that_differ_give_no_more_false_signals_than_stated(
    lengths: list[float],
) -> None:
    """With 1.4 knots a cone and shape 1.235, limits of cones alike are far too narrow."""
    rng = np.random.default_rng(5)
    length_km = np.array(lengths)
    rates = 0.4 * rng.gamma(1.235, 1 / 1.235, (100_000, length_km.size))
    lots = rng.poisson(rates * length_km).sum(axis=1)
    counts, lots_of = np.unique(lots, return_counts=True)
    stretch = [float(length_km.sum())] * counts.size
    shape = shape_of_stretch(1.235, lengths)

    def false_high(shapes: list[float] | None) -> float:
        chart = joins_chart(counts.tolist(), stretch, centre_per_100_km=40.0, shapes=shapes)
        high = [point.signal == "high" for point in chart.points]
        return float(lots_of[high].sum() / lots_of.sum())

    assert false_high(None) > 5 * 0.00135
    assert false_high([shape] * counts.size) < 1.5 * 0.00135


def test_the_shape_of_a_stretch_by_hand() -> None:
    assert shape_of_stretch(1.5, [6.0] * 4) == pytest.approx(6.0)
    assert shape_of_stretch(1.0, [1.0, 3.0]) == pytest.approx(1.6)
    for shape, lengths in ((0.0, [1.0]), (1.0, []), (1.0, [0.0]), (math.nan, [1.0])):
        with pytest.raises(BadInput, match="no shape"):
            shape_of_stretch(shape, lengths)


@pytest.mark.parametrize("shapes", [[1.0], [1.0, 0.0], [1.0, math.inf]])
def test_bad_shapes_are_refused(shapes: list[float]) -> None:
    with pytest.raises(BadInput, match="no gamma shapes"):
        joins_chart([1, 2], [1.0, 2.0], shapes=shapes)
