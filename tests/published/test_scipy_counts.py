"""Counts held against the laws and tests of SciPy, used the naive way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, stats

from clew.knots.rate_sources import GammaMixture
from clew.knots.rate_spread import gamma_fit
from clew.knots.rate_tests import (
    compare_rates,
    cones_against_rate,
    two_sample_power,
)
from clew.knots.rates import CountedCone, poisson_interval


@pytest.mark.outside(
    document="SciPy, scipy.stats.poisson",
    edition="1.17",
    section="each end leaves its half of the risk",
    mark="COMPUTED",
)
@pytest.mark.parametrize("count", [0, 1, 7, 120, 30_000])
def test_ends_of_the_interval_leave_their_tails(count: int) -> None:
    low, high = poisson_interval(count, confidence=0.9)
    assert stats.poisson.cdf(count, high) == pytest.approx(0.05, rel=1e-8)
    if count:
        assert stats.poisson.sf(count - 1, low) == pytest.approx(0.05, rel=1e-8)


@pytest.mark.outside(
    document="SciPy, scipy.stats.nbinom",
    edition="1.17",
    section="log-likelihood maximised over both parameters by the simplex method",
    mark="COMPUTED",
)
@pytest.mark.parametrize("seed", [3, 4, 5])
def test_gamma_fit_is_the_best_negative_binomial(seed: int) -> None:
    rng = np.random.default_rng(seed)
    length = rng.uniform(2.0, 9.0, 60)
    knots = rng.poisson(0.8 * length * rng.gamma(2.0, 0.5, 60))
    fit = gamma_fit(
        [
            CountedCone(str(place), "one", "", 250.0 * km, 250.0, int(found))
            for place, (km, found) in enumerate(zip(length, knots, strict=True))
        ]
    )

    def loss(point: np.ndarray) -> float:
        shape, mean = math.exp(point[0]), math.exp(point[1]) * length
        return -float(stats.nbinom.logpmf(knots, shape, shape / (shape + mean)).sum())

    best = optimize.minimize(
        loss, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-11}
    )
    plain = float(stats.poisson.logpmf(knots, knots.sum() / length.sum() * length).sum())
    assert fit is not None
    assert fit.shape is not None
    assert fit.shape == pytest.approx(math.exp(best.x[0]), rel=1e-5)
    assert fit.per_km == pytest.approx(math.exp(best.x[1]), rel=1e-5)
    assert fit.likelihood_ratio == pytest.approx(2 * (-best.fun - plain), abs=1e-6)
    assert fit.p_value == pytest.approx(0.5 * stats.chi2.sf(fit.likelihood_ratio, 1), rel=1e-6)
    # At either end of the shape's interval the best likelihood is down by half the quantile.
    for shape in (fit.shape_low, fit.shape_high):
        assert shape is not None
        at_end = optimize.minimize_scalar(
            lambda log_mean, shape=shape: loss(np.array([math.log(shape), log_mean])),
            bounds=(-3.0, 3.0),
            method="bounded",
            options={"xatol": 1e-9},
        )
        assert at_end.fun - best.fun == pytest.approx(stats.chi2.ppf(0.95, 1) / 2, abs=1e-5)


@pytest.mark.outside(
    document="SciPy, scipy.stats.binomtest",
    edition="1.17",
    section="two-sided test and exact interval of a share",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("first", "first_km", "second", "second_km"),
    [(5, 10.0, 2, 12.0), (0, 3.0, 4, 5.0), (30, 40.0, 30, 80.0), (7, 1.0, 0, 2.0)],
)
def test_two_rates_are_a_binomial_test(
    first: int, first_km: float, second: int, second_km: float
) -> None:
    found = compare_rates(first, first_km, second, second_km)
    share = first_km / (first_km + second_km)
    test = stats.binomtest(first, first + second, share)
    ends = test.proportion_ci(0.95, method="exact")
    assert found.p_least_likely == pytest.approx(test.pvalue, rel=1e-9)
    odds = second_km / first_km
    assert found.ratio_low == pytest.approx(ends.low / (1 - ends.low) * odds, rel=1e-8)
    if second:
        assert found.ratio_high == pytest.approx(ends.high / (1 - ends.high) * odds, rel=1e-8)
    else:
        assert found.ratio_high is None


@pytest.mark.outside(
    document="SciPy, scipy.stats.nbinom and numpy draws",
    edition="1.17",
    section="cones drawn at random, counted and tested",
    mark="COMPUTED",
)
def test_power_of_the_cones_asked_for_is_what_drawn_cones_show() -> None:
    plan = cones_against_rate(0.4, 5.0, shape=3.0)
    assert plan.cones is not None
    rng = np.random.default_rng(11)
    rates = rng.gamma(3.0, 0.8 / 3.0, (20_000, plan.cones))
    totals = rng.poisson(5.0 * rates).sum(axis=1)
    usual = stats.nbinom(3.0 * plan.cones, 3.0 / (3.0 + 2.0))
    seen = (usual.sf(totals - 1) <= 0.05).mean()
    assert seen == pytest.approx(plan.power, abs=0.012)


@pytest.mark.outside(
    document="SciPy, scipy.stats.poisson and binom",
    edition="1.17",
    section="every pair of counts, tested one by one",
    mark="COMPUTED",
)
def test_power_of_a_comparison_is_the_sum_over_all_pairs() -> None:
    first = stats.poisson.pmf(np.arange(40), 6.0)
    second = stats.poisson.pmf(np.arange(50), 12.0)
    power = sum(
        first[a] * second[b]
        for a in range(40)
        for b in range(50)
        if stats.binom.sf(b - 1, a + b, 0.5) <= 0.05
    )
    assert two_sample_power(6.0, times=2.0, risk=0.05)[0] == pytest.approx(power, abs=1e-8)


@pytest.mark.outside(
    document="SciPy, scipy.stats.gamma",
    edition="1.17",
    section="distribution function of one law, and of two mixed",
    mark="COMPUTED",
)
def test_mixture_of_gamma_laws() -> None:
    weights, shapes, per_km = np.array([0.3, 0.7]), np.array([2.0, 9.0]), np.array([4.0, 12.0])
    found = GammaMixture(weights, shapes, per_km)
    laws = [stats.gamma(a, scale=1 / b) for a, b in zip(shapes, per_km, strict=True)]
    mixed = 0.3 * laws[0].cdf(0.6) + 0.7 * laws[1].cdf(0.6)
    assert found.below(0.6) == pytest.approx(mixed, rel=1e-12)
    assert found.below(found.quantile(0.975)) == pytest.approx(0.975, abs=1e-10)
    assert found.mean == pytest.approx(0.3 * laws[0].mean() + 0.7 * laws[1].mean(), rel=1e-12)
