"""Rates: lengths from mass and count, pooling, and intervals that hold what they promise."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.knots.rates import CountedCone, check_cones, poisson_interval, pooled_rate, rate_of


def cone(name: str, knots: int, mass_g: float = 1500.0, count_tex: float = 250.0) -> CountedCone:
    return CountedCone(name, "Fell", "L1", mass_g, count_tex, knots)


def test_length_is_mass_over_count() -> None:
    assert cone("1", 0).length_km == pytest.approx(6.0)


def test_cones_without_a_knot_count_with_their_length() -> None:
    found = pooled_rate([cone("1", 3), cone("2", 0), cone("3", 0, mass_g=3000.0)])
    assert (found.knots, found.length_km) == (3, pytest.approx(24.0))
    assert found.per_km == pytest.approx(0.125)
    assert found.low_per_km < 0.125 < found.high_per_km


def test_no_knots_at_all_still_have_an_upper_end() -> None:
    found = rate_of(0, 30.0)
    assert (found.per_km, found.low_per_km) == (0.0, 0.0)
    assert found.high_per_km == pytest.approx(3.6889 / 30.0, abs=1e-5)


@given(st.integers(0, 100_000), st.floats(0.5, 0.999))
def test_interval_holds_the_count_and_widens_with_confidence(count: int, confidence: float) -> None:
    low, high = poisson_interval(count, confidence=confidence)
    wide_low, wide_high = poisson_interval(count, confidence=(1 + confidence) / 2)
    assert wide_low <= low <= count < high < wide_high


@pytest.mark.parametrize("mean", [0.3, 1.0, 2.7, 8.0])
def test_interval_covers_at_least_as_often_as_it_says(mean: float) -> None:
    """Chance of every count, added where its interval holds the mean."""
    counts = np.arange(60)
    log_chance = counts * np.log(mean) - mean - np.cumsum(np.log(np.maximum(counts, 1)))
    covered = sum(
        np.exp(chance)
        for count, chance in zip(counts, log_chance, strict=True)
        if poisson_interval(int(count))[0] <= mean <= poisson_interval(int(count))[1]
    )
    assert 0.95 <= covered <= 1.0


def test_every_bad_cone_is_named() -> None:
    bad = [
        cone("a", -1),
        cone("b", 1, mass_g=0.0),
        cone("c", 1, count_tex=float("nan")),
        cone("d", 1, mass_g=1.0e6, count_tex=0.01),
        cone("e", 1),
        cone("e", 2),
    ]
    with pytest.raises(BadInput) as caught:
        check_cones(bad)
    named = [fault.section for fault in caught.value.faults]
    assert named == [f'cone "{name}"' for name in "abcde"]


@pytest.mark.parametrize("length", [0.0, -1.0, float("inf"), float("nan")])
def test_a_rate_needs_a_length(length: float) -> None:
    with pytest.raises(BadInput, match="no length"):
        rate_of(1, length)


@pytest.mark.parametrize("confidence", [0.0, 1.0, 1.5, float("nan")])
def test_a_confidence_lies_between_nothing_and_all(confidence: float) -> None:
    with pytest.raises(BadInput, match="confidence"):
        poisson_interval(3, confidence=confidence)


def test_an_empty_log_is_refused() -> None:
    with pytest.raises(BadInput, match="no cones"):
        pooled_rate([])
