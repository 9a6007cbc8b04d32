"""Counts held against the regression models and rate tests of statsmodels."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.discrete.discrete_model import NegativeBinomial
from statsmodels.stats import rates

from clew.knots.law import knot_law
from clew.knots.rate_spread import GammaFit, dispersion_test, gamma_fit
from clew.knots.rate_tests import compare_rates
from clew.knots.rates import CountedCone, pooled_rate, rate_of
from clew.knots.sources import sources_after_steam

CLOTH = (
    (1.22, 1), (1.70, 4), (2.71, 5), (3.71, 14), (3.72, 7), (3.75, 9), (4.17, 2), (4.41, 8),
    (4.58, 4), (4.91, 7), (4.92, 4), (4.95, 7), (5.22, 6), (5.42, 9), (5.43, 8), (5.51, 6),
    (6.30, 7), (6.42, 10), (6.45, 6), (6.51, 4), (6.57, 9), (7.15, 14), (7.16, 3), (7.35, 17),
    (7.38, 9), (7.49, 10), (8.32, 17), (8.42, 9), (8.68, 8), (8.95, 28), (9.05, 23), (9.52, 9),
)  # fmt: skip
"""Rolls of cloth: length in 100 m, flaws. Bissell 1972."""

WARP = {
    "AL": (26, 30, 54, 25, 70, 52, 51, 26, 67),
    "AM": (18, 21, 29, 17, 12, 18, 35, 30, 36),
    "AH": (36, 21, 24, 18, 10, 43, 28, 15, 26),
    "BL": (27, 14, 29, 19, 29, 31, 41, 20, 44),
    "BM": (42, 26, 19, 16, 39, 28, 21, 39, 29),
    "BH": (20, 21, 24, 17, 13, 15, 15, 16, 28),
}
"""Warp breaks per loom, each of one fixed length of yarn, by wool and tension. Tippett 1950."""

LOGS: dict[str, list[tuple[float, int]]] = {
    "cloth": list(CLOTH),
    "warp": [(1.0, breaks) for group in WARP.values() for breaks in group],
}


def as_cones(rows: list[tuple[float, int]]) -> list[CountedCone]:
    """Make counts on lengths into cones of 1000 tex, so that grams are metres."""
    return [
        CountedCone(str(place), "one", "", 1000.0 * length, 1000.0, count)
        for place, (length, count) in enumerate(rows)
    ]


def as_columns(rows: list[tuple[float, int]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Counts, lengths and the one column of a model that has only a mean."""
    length = np.array([row[0] for row in rows])
    return np.array([row[1] for row in rows]), length, np.ones((length.size, 1))


def fitted(rows: list[tuple[float, int]]) -> GammaFit:
    fit = gamma_fit(as_cones(rows))
    assert fit is not None
    return fit


@pytest.mark.outside(
    document="statsmodels, NegativeBinomial (nb2) with length as exposure",
    edition="0.15",
    section="mean, dispersion and log-likelihood of cloth flaws and of warp breaks",
    mark="COMPUTED",
)
@pytest.mark.parametrize("log", ["cloth", "warp"])
def test_gamma_fit_is_a_negative_binomial_regression(log: str) -> None:
    counts, length, one = as_columns(LOGS[log])
    model = NegativeBinomial(counts, one, loglike_method="nb2", exposure=length)
    theirs = model.fit(
        start_params=[math.log(counts.sum() / length.sum()), 0.2],
        method="newton",
        disp=False,
        tol=1e-12,
    )
    plain = sm.GLM(counts, one, family=sm.families.Poisson(), exposure=length).fit()
    fit = fitted(LOGS[log])
    assert fit.per_km == pytest.approx(math.exp(theirs.params[0]), rel=1e-6)
    assert fit.shape == pytest.approx(1.0 / theirs.params[1], rel=1e-6)
    assert fit.cone_cv == pytest.approx(math.sqrt(theirs.params[1]), rel=1e-6)
    assert fit.likelihood_ratio == pytest.approx(2.0 * (theirs.llf - plain.llf), rel=1e-7)
    assert fit.p_value == pytest.approx(stats.chi2.sf(2.0 * (theirs.llf - plain.llf), 1) / 2)


@pytest.mark.outside(
    document="statsmodels, GLM of the negative binomial family at a known dispersion",
    edition="0.15",
    section="interval of the mean from the expected information",
    mark="COMPUTED",
)
@pytest.mark.parametrize("log", ["cloth", "warp"])
def test_interval_of_the_fitted_rate(log: str) -> None:
    counts, length, one = as_columns(LOGS[log])
    fit = fitted(LOGS[log])
    family = sm.families.NegativeBinomial(alpha=fit.cone_cv**2)
    theirs = sm.GLM(counts, one, family=family, exposure=length).fit(tol=1e-13)
    low, high = np.exp(theirs.conf_int(0.05)[0])
    assert (fit.low_per_km, fit.high_per_km) == pytest.approx((low, high), rel=1e-6)


@pytest.mark.outside(
    document="statsmodels, GLM of the Poisson family",
    edition="0.15",
    section="pooled rate and Pearson's sum; cloth 2.194 a degree, shape 8.694",
    mark="COMPUTED",
)
@pytest.mark.parametrize("log", ["cloth", "warp"])
def test_dispersion_is_the_pearson_sum_of_a_poisson_regression(log: str) -> None:
    counts, length, one = as_columns(LOGS[log])
    theirs = sm.GLM(counts, one, family=sm.families.Poisson(), exposure=length).fit(tol=1e-13)
    cones = as_cones(LOGS[log])
    found = dispersion_test(cones)
    assert found is not None
    assert found.chi2 == pytest.approx(theirs.pearson_chi2, rel=1e-8)
    assert found.degrees == theirs.df_resid
    assert pooled_rate(cones).per_km == pytest.approx(math.exp(theirs.params[0]), rel=1e-8)
    if log == "cloth":
        assert found.index == pytest.approx(2.194, abs=0.0005)
        assert fitted(LOGS[log]).shape == pytest.approx(8.694, abs=0.0005)


@pytest.mark.outside(
    document="statsmodels, negative binomial family; SciPy, nbinom",
    edition="0.15, and 1.17",
    section="chances of 0 to 12 joins where breaks alone make them and no cone ends",
    mark="COMPUTED",
)
@pytest.mark.parametrize(("shape", "mean"), [(0.4, 0.9), (3.0, 0.25), (8.694, 6.0)])
def test_law_of_joins_from_breaks_alone(shape: float, mean: float) -> None:
    joins = np.arange(13)
    law = knot_law(sources_after_steam(breaks_per_km=5.0 * mean, dispersion=shape), 200.0)
    family = sm.families.NegativeBinomial(alpha=1.0 / shape)
    theirs = np.exp(family.loglike_obs(joins, np.full(13, mean)))
    found = np.pad(law.pmf, (0, 13))[:13]
    assert found == pytest.approx(theirs, rel=1e-9)
    assert found == pytest.approx(stats.nbinom.pmf(joins, shape, shape / (shape + mean)))


@pytest.mark.outside(
    document="statsmodels, stats.rates.confint_poisson, exact-c",
    edition="0.15",
    section="exact interval of a rate",
    mark="COMPUTED",
)
@pytest.mark.parametrize("knots", [0, 1, 3, 27, 4000])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.999])
def test_exact_interval_of_a_rate(knots: int, confidence: float) -> None:
    theirs = rates.confint_poisson(knots, 2.5, method="exact-c", alpha=1.0 - confidence)
    found = rate_of(knots, 2.5, confidence=confidence)
    assert (found.low_per_km, found.high_per_km) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.outside(
    document="statsmodels, stats.rates.test_poisson_2indep, exact-cond",
    edition="0.15",
    section="two rates given their total; warp breaks of wool A against B at low tension, too",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("first", "first_km", "second", "second_km"),
    [
        (5, 10.0, 2, 12.0),
        (0, 3.0, 4, 5.0),
        (30, 40.0, 30, 80.0),
        (7, 1.0, 1, 2.0),
        (sum(WARP["AL"]), 9.0, sum(WARP["BL"]), 9.0),
    ],
)
def test_two_rates_given_their_total(
    first: int, first_km: float, second: int, second_km: float
) -> None:
    found = compare_rates(first, first_km, second, second_km)
    tails = []
    for alternative, p_value in (
        ("two-sided", found.p_least_likely),
        ("larger", None),
        ("smaller", None),
    ):
        theirs = rates.test_poisson_2indep(
            first, first_km, second, second_km, method="exact-cond", alternative=alternative
        )
        if p_value is None:
            tails.append(theirs.pvalue)
        else:
            assert p_value == pytest.approx(theirs.pvalue, rel=1e-9)
    assert found.p_value == pytest.approx(min(1.0, 2.0 * min(tails)), rel=1e-9)
    assert found.ratio == pytest.approx(theirs.ratio, rel=1e-12)


@pytest.mark.outside(
    document="L. H. C. Tippett, Technological Applications of Statistics, p. 106: warp breaks",
    edition="1950",
    section="54 looms, 1520 breaks (data read as warpbreaks of R); they scatter beyond chance",
    mark="READ",
)
def test_warp_breaks_scatter_more_than_chance() -> None:
    cones = as_cones(LOGS["warp"])
    assert (pooled_rate(cones).knots, len(cones)) == (1520, 54)
    found = dispersion_test(cones)
    assert found is not None
    assert found.p_chi2 < 1e-6
    assert fitted(LOGS["warp"]).p_value < 1e-6
