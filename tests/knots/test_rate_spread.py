"""Whether cones differ: the dispersion test and the gamma fit at their edges."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.knots.rate_spread import dispersion_test, gamma_fit, mean_rate_at
from clew.knots.rates import CountedCone


def cones(knots: list[int], length_km: list[float] | None = None) -> list[CountedCone]:
    lengths = length_km or [6.0] * len(knots)
    return [
        CountedCone(str(place), "Fell", "L1", 250.0 * km, 250.0, found)
        for place, (found, km) in enumerate(zip(knots, lengths, strict=True))
    ]


def test_one_cone_or_no_knots_say_nothing_about_spread() -> None:
    for log in (cones([4]), cones([0, 0, 0])):
        assert dispersion_test(log) is None
        assert gamma_fit(log) is None


def test_knots_in_step_with_length_have_no_spread() -> None:
    log = cones([2, 4, 6], [3.0, 6.0, 9.0])
    test, fit = dispersion_test(log), gamma_fit(log)
    assert test is not None
    assert fit is not None
    assert test.index == pytest.approx(0.0, abs=1e-12)
    assert test.p_drawn == 1.0
    assert (fit.shape, fit.cone_cv, fit.p_value) == (None, 0.0, 1.0)
    assert fit.shape_high is None
    assert fit.shape_low > 0.0
    assert fit.per_km == pytest.approx(2 / 3)


def test_bad_cones_are_seen_and_widen_the_rate() -> None:
    log = cones([0, 1, 0, 0, 12, 1, 0, 14, 0, 0])
    test, fit = dispersion_test(log), gamma_fit(log)
    assert test is not None
    assert fit is not None
    assert test.p_drawn < 0.01
    assert fit.p_value < 0.001
    assert fit.shape is not None
    assert fit.shape_high is not None
    assert fit.shape_low < fit.shape < fit.shape_high
    assert fit.cone_cv == pytest.approx(fit.shape**-0.5)
    chance_only = np.exp(1.96 / np.sqrt(28))
    assert fit.high_per_km / fit.per_km > 1.5 * chance_only


def test_dealing_has_its_seed_and_agrees_with_the_law_where_counts_are_large() -> None:
    log = cones([18, 25, 31, 22, 20, 28, 35, 19])
    first, again, other = (dispersion_test(log, seed=seed) for seed in (1, 1, 2))
    assert first == again
    assert first is not None
    assert other is not None
    assert first.p_drawn != other.p_drawn
    assert first.p_drawn == pytest.approx(first.p_chi2, abs=0.03)


def test_dealing_is_right_for_three_cones_where_all_can_be_counted() -> None:
    """Two knots on three like cones: both on one has a chance of 1 in 3."""
    found = dispersion_test(cones([2, 0, 0]), draws=20_000)
    assert found is not None
    assert found.p_drawn == pytest.approx(1 / 3, abs=0.012)


def test_one_knot_among_few_cones_gives_an_answer_at_any_confidence() -> None:
    for confidence in (0.5, 0.95, 0.999_999_999):
        fit = gamma_fit(cones([1, 0]), confidence=confidence)
        assert fit is not None
        assert fit.shape_low >= 0.0
        assert fit.low_per_km < fit.per_km < fit.high_per_km


def test_the_fit_finds_the_shape_that_cones_were_drawn_with() -> None:
    rng = np.random.default_rng(5)
    length = rng.uniform(3.0, 8.0, 4000)
    drawn = rng.poisson(0.5 * length * rng.gamma(2.5, 1 / 2.5, 4000))
    fit = gamma_fit(cones([int(one) for one in drawn], [float(km) for km in length]))
    assert fit is not None
    assert fit.shape_high is not None
    assert fit.shape_low < 2.5 < fit.shape_high
    assert fit.shape_high / fit.shape_low < 1.6
    assert fit.low_per_km < 0.5 < fit.high_per_km


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.floats(0.5, 20.0)), min_size=2, max_size=12),
    st.floats(0.1, 10.0),
)
def test_the_unit_of_length_does_not_matter(rows: list[tuple[int, float]], factor: float) -> None:
    knots, lengths = [row[0] for row in rows], [row[1] for row in rows]
    here = gamma_fit(cones(knots, lengths))
    there = gamma_fit(cones(knots, [factor * km for km in lengths]))
    assert (here is None) == (there is None) == (sum(knots) == 0)
    if here is None or there is None:
        return
    assert there.per_km * factor == pytest.approx(here.per_km, rel=1e-4)
    assert there.likelihood_ratio == pytest.approx(here.likelihood_ratio, abs=1e-5)
    assert 0.0 <= here.p_value <= 1.0
    assert here.low_per_km < here.per_km < here.high_per_km


@given(st.floats(0.0, 100.0), st.lists(st.integers(1, 50), min_size=1, max_size=8))
def test_on_equal_lengths_the_mean_rate_is_the_pooled_one(
    variance: float, knots: list[int]
) -> None:
    counts = np.array(knots, dtype=np.float64)
    found = mean_rate_at(variance, counts, np.full(counts.size, 4.0))
    assert found == pytest.approx(counts.mean() / 4.0, rel=1e-6)


@pytest.mark.parametrize("variance", [10.0, 100.0, 10_000.0])
def test_when_cones_differ_beyond_measure_each_counts_alike_whatever_its_length(variance):
    """Towards endless variance the score is sum(x / m - 1) / variance: the plain mean of rates.

    One long bad cone among short clean ones: the root lies far below the pooled rate.
    """
    knots = np.array([1000.0, *[0.0] * 19])
    length_km = np.array([100.0, *[10.0] * 19])
    rate = mean_rate_at(variance, knots, length_km)
    mean = rate * length_km
    assert ((knots - mean) / (1.0 + variance * mean)).sum() == pytest.approx(0.0, abs=1e-9)
    plain = float((knots / length_km).mean())
    assert rate == pytest.approx(plain, rel=5.0 / (variance * plain))
