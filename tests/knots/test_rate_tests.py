"""Two rates against each other, and how many cones it takes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.rate_tests import compare_rates, cones_against_cones, cones_against_rate


@settings(deadline=None)
@given(st.integers(0, 60), st.floats(0.5, 50.0), st.integers(0, 60), st.floats(0.5, 50.0))
def test_p_value_and_interval_agree_and_sides_may_be_swapped(
    first: int, first_km: float, second: int, second_km: float
) -> None:
    found = compare_rates(first, first_km, second, second_km)
    swapped = compare_rates(second, second_km, first, first_km)
    high = float("inf") if found.ratio_high is None else found.ratio_high
    if abs(found.p_value - 0.05) > 1e-9:
        assert (found.p_value < 0.05) == (not found.ratio_low <= 1.0 <= high)
    assert swapped.p_value == pytest.approx(found.p_value, rel=1e-9)
    if found.ratio_low > 0.0:
        assert swapped.ratio_high == pytest.approx(1.0 / found.ratio_low, rel=1e-6)
    assert 0.0 < found.p_least_likely <= 1.0


def test_counts_against_none_by_hand() -> None:
    """Three knots against none on equal lengths: all on one side has a chance of 1 in 8."""
    found = compare_rates(3, 10.0, 0, 10.0)
    assert found.p_value == pytest.approx(0.25)
    assert (found.ratio, found.ratio_high) == (None, None)
    assert found.ratio_low > 0.0


def test_nothing_against_nothing_tells_nothing() -> None:
    found = compare_rates(0, 10.0, 0, 1.0)
    assert (found.p_value, found.ratio_low, found.ratio_high) == (1.0, 0.0, None)


def test_bad_counts_and_lengths_are_refused() -> None:
    with pytest.raises(BadInput, match="fewer than no knots"):
        compare_rates(-1, 1.0, 1, 1.0)
    with pytest.raises(BadInput, match="no length"):
        compare_rates(1, 1.0, 1, 0.0)


@pytest.mark.parametrize("shape", [None, 2.0])
def test_the_number_of_cones_holds_risk_and_power(shape: float | None) -> None:
    found = cones_against_rate(0.4, 6.0, shape=shape)
    assert found.cones is not None
    assert found.power >= 0.8
    assert found.risk <= 0.05


def test_more_is_needed_for_less_and_for_cones_that_differ_and_for_a_pair() -> None:
    double = cones_against_rate(0.4, 6.0).cones
    half_more = cones_against_rate(0.4, 6.0, times=1.5).cones
    differing = cones_against_rate(0.4, 6.0, shape=1.0).cones
    surer = cones_against_rate(0.4, 6.0, power=0.95).cones
    pair = cones_against_cones(0.4, 6.0).cones
    pair_differing = cones_against_cones(0.4, 6.0, shape=1.0).cones
    assert double is not None
    assert half_more is not None
    assert differing is not None
    assert surer is not None
    assert pair is not None
    assert pair_differing is not None
    assert double < min(half_more, differing, surer, pair)
    assert pair < pair_differing


def test_what_no_number_of_cones_shows_is_said() -> None:
    for find in (cones_against_rate, cones_against_cones):
        found = find(1e-6, 1.0, times=1.1)
        assert found.cones is None
        assert found.power < 0.8


@pytest.mark.parametrize(
    "wrong",
    [
        {"times": 1.0},
        {"times": 1e300},
        {"times": float("nan")},
        {"shape": 0.0},
        {"power": 1.0},
        {"risk": 0.0},
    ],
)
def test_plans_that_cannot_be_are_refused(wrong: dict[str, float]) -> None:
    for find in (cones_against_rate, cones_against_cones):
        with pytest.raises(BadInput):
            find(0.4, 6.0, **wrong)
    with pytest.raises(BadInput):
        cones_against_rate(0.0, 6.0)
