"""Whether cones differ by more than chance, and by how much: dispersion test and gamma fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from clew.knots.rates import CountedCone, Floats, as_arrays, check_cones, check_share

_LOG_LOW, _LOG_HIGH, _GRID = math.log(1e-6), math.log(1e6), 113
"""Variances searched for the best one [log]: below, cones are the same to all purposes."""
_BLOCK = 500_000
"""Random counts held at once, so that a long log does not fill the memory."""
_MOST_DEALT = 8_000_000
"""Cones dealt to in all: a log of many thousand cones is dealt fewer times, and says how often."""


@dataclass(frozen=True, slots=True)
class DispersionTest:
    """Test of cones that all break at one rate.

    Attributes
    ----------
    index : float
        Index of dispersion: 1 where only chance is at work, more where cones differ.
    chi2 : float
        Pearson's sum, the index times the degrees.
    degrees : int
        Cones less one.
    p_chi2 : float
        Chance of so large an index or larger from chance alone, by the chi-squared law.
    p_drawn : float
        The same from knots dealt out at random among the cones: right for small counts too.
    draws, seed : int
        How often they were dealt out, and the seed.
    """

    index: float
    chi2: float
    degrees: int
    p_chi2: float
    p_drawn: float
    draws: int
    seed: int


@dataclass(frozen=True, slots=True)
class GammaFit:
    """Knots per cone as a Poisson count whose rate is drawn per cone from a gamma law.

    Attributes
    ----------
    per_km, low_per_km, high_per_km : float
        Mean rate and its interval [1/km], with the differences among cones in it.
    shape : float or None
        Shape of the gamma law; None where the best fit is one rate for all cones (endless shape).
    shape_low : float
        Lower end of the shape's interval.
    shape_high : float or None
        Upper end; None where it is endless, so that one rate for all cones is not ruled out.
    cone_cv : float
        Coefficient of variation of the rate from cone to cone, as a fraction: shape ** -0.5.
    likelihood_ratio : float
        Twice the gain in log-likelihood over one rate for all cones.
    p_value : float
        Chance of so large a gain from chance alone.
    confidence : float
        Confidence of the intervals, as a fraction.
    """

    per_km: float
    low_per_km: float
    high_per_km: float
    shape: float | None
    shape_low: float
    shape_high: float | None
    cone_cv: float
    likelihood_ratio: float
    p_value: float
    confidence: float


def dispersion_test(
    cones: Sequence[CountedCone], *, draws: int = 4000, seed: int = 1
) -> DispersionTest | None:
    """Test whether cones differ by more than chance.

    Parameters
    ----------
    cones : sequence of CountedCone
        The counted cones.
    draws : int
        How often the knots are dealt out at random; less often, but at least 200 times, where a
        log has more than a few thousand cones.
    seed : int
        Seed of the dealing.

    Returns
    -------
    DispersionTest or None
        None with fewer than two cones, or without a knot: then there is nothing to test.

    Raises
    ------
    BadInput
        As `clew.knots.rates.check_cones`.

    Notes
    -----
    Given their total, knots at one rate fall on cones as their lengths. The chi-squared law of the
    index holds for expected counts of some size; the dealt-out chance is exact up to the noise of
    its draws. Source: the index of dispersion, R. A. Fisher (MEMORY).
    """
    from scipy.special import gammaincc

    check_cones(cones)
    knots, length_km = as_arrays(cones)
    total = knots.sum()
    if len(cones) < 2 or total == 0:
        return None
    share = length_km / length_km.sum()
    expected = total * share
    degrees = len(cones) - 1
    chi2 = float(((knots - expected) ** 2 / expected).sum())
    rng = np.random.default_rng(seed)
    draws = min(draws, max(200, _MOST_DEALT // len(cones)))
    as_large, left = 0, draws
    while left:
        size = min(left, max(1, _BLOCK // len(cones)))
        dealt = rng.multinomial(int(total), share, size=size)
        # A hair less than what was found: equal counts summed in another order must count.
        sums = ((dealt - expected) ** 2 / expected).sum(axis=1)
        as_large += int((sums >= chi2 * (1 - 1e-9)).sum())
        left -= size
    return DispersionTest(
        index=chi2 / degrees,
        chi2=chi2,
        degrees=degrees,
        p_chi2=float(gammaincc(degrees / 2, chi2 / 2)),
        p_drawn=(as_large + 1) / (draws + 1),
        draws=draws,
        seed=seed,
    )


def mean_rate_at(variance: float, knots: Floats, length_km: Floats) -> float:
    """Find the most likely mean rate when the relative variance among rates is known.

    Parameters
    ----------
    variance : float
        Relative variance of the rate from cone to cone [1], one over the gamma shape.
    knots : array of float, shape (n,)
        Counts, not all 0; they need not be whole.
    length_km : array of float, shape (n,)
        Lengths [km].

    Returns
    -------
    float
        The mean rate [1/km].

    Notes
    -----
    The score sum((x - m) / (1 + variance m)) falls steadily with the rate, so its root is the only
    one; it lies between the smallest and the largest rate of a single cone. DERIVED.
    """
    from scipy.optimize import brentq

    def score(log_rate: float) -> float:
        mean = math.exp(log_rate) * length_km
        return float(((knots - mean) / (1.0 + variance * mean)).sum())

    rates = knots / length_km
    pooled = math.log(float(knots.sum() / length_km.sum()))
    high = math.log(float(rates.max())) + 1e-9
    low = pooled - 1.0
    while score(low) < 0.0:
        low -= 2.0 * (pooled - low)
    return math.exp(float(brentq(score, low, high, xtol=1e-13)))


def _log_likelihood(knots: Floats, length_km: Floats) -> Callable[[float], float]:
    """Give the log-likelihood as a function of the variance, at its best mean rate.

    What does not depend on rate or variance is left out.
    """
    largest = int(knots.max())
    above = knots.size - np.cumsum(np.bincount(knots.astype(np.int64), minlength=largest + 1))
    steps, cones_above = np.arange(largest, dtype=np.float64), above[:largest]

    def at(variance: float) -> float:
        mean = mean_rate_at(variance, knots, length_km) * length_km
        if variance == 0.0:
            return float((knots * np.log(mean) - mean).sum())
        grown = np.log1p(variance * mean)
        return float(
            (cones_above * np.log1p(variance * steps)).sum()
            + (knots * (np.log(mean) - grown)).sum()
            - grown.sum() / variance
        )

    return at


def _best_variance(at: Callable[[float], float]) -> tuple[float, float]:
    """Find the most likely variance and its log-likelihood; 0 where one rate does as well."""
    from scipy.optimize import minimize_scalar

    grid = np.linspace(_LOG_LOW, _LOG_HIGH, _GRID)
    values = [at(math.exp(step)) for step in grid]
    best = int(np.argmax(values))
    ends = (float(grid[max(best - 1, 0)]), float(grid[min(best + 1, _GRID - 1)]))
    found = minimize_scalar(
        lambda step: -at(math.exp(step)), bounds=ends, method="bounded", options={"xatol": 1e-9}
    )
    top, plain = -float(found.fun), at(0.0)
    if best == 0 or top <= plain + 1e-9:
        return 0.0, plain
    return math.exp(float(found.x)), top


def _variance_interval(
    at: Callable[[float], float], best: float, top: float, drop: float
) -> tuple[float, float]:
    from scipy.optimize import brentq

    def short(step: float) -> float:
        return at(math.exp(step)) - (top - drop)

    middle = math.log(best) if best > 0.0 else _LOG_LOW
    high = math.inf
    if short(_LOG_HIGH) < 0.0:
        high = math.exp(float(brentq(short, middle, _LOG_HIGH, xtol=1e-10)))
    if best == 0.0 or at(0.0) >= top - drop or short(_LOG_LOW) >= 0.0:
        return 0.0, high
    return math.exp(float(brentq(short, _LOG_LOW, middle, xtol=1e-10))), high


def gamma_fit(cones: Sequence[CountedCone], *, confidence: float = 0.95) -> GammaFit | None:
    """Fit knots per cone with a rate that differs from cone to cone (negative binomial).

    Parameters
    ----------
    cones : sequence of CountedCone
        The counted cones.
    confidence : float
        Confidence of the intervals [1].

    Returns
    -------
    GammaFit or None
        None with fewer than two cones, or without a knot.

    Raises
    ------
    BadInput
        As `clew.knots.rates.check_cones`; a confidence outside 0 to 1.

    Notes
    -----
    Maximum likelihood; a cone of length L has mean m = rate x L and variance m + m**2 / shape. The
    shape's interval is where its profile likelihood stays within half the chi-squared quantile. The
    test has one rate at the edge of what is possible, so half of chi-squared on one degree applies
    (S. G. Self and K.-Y. Liang 1987, MEMORY). The rate's interval is normal in its logarithm at the
    fitted shape. Source: A. F. Bissell, Biometrika 59 (1972), varying element sizes (MEMORY).
    """
    from scipy.special import erfc, ndtri

    check_cones(cones)
    check_share(confidence, "confidence")
    knots, length_km = as_arrays(cones)
    if len(cones) < 2 or knots.sum() == 0:
        return None
    at = _log_likelihood(knots, length_km)
    variance, top = _best_variance(at)
    z = float(ndtri((1.0 + confidence) / 2.0))
    low, high = _variance_interval(at, variance, top, z * z / 2.0)
    rate = mean_rate_at(variance, knots, length_km)
    mean = rate * length_km
    error = float((mean / (1.0 + variance * mean)).sum()) ** -0.5
    gain = max(0.0, 2.0 * (top - at(0.0)))
    return GammaFit(
        per_km=rate,
        low_per_km=rate * math.exp(-z * error),
        high_per_km=rate * math.exp(z * error),
        shape=1.0 / variance if variance > 0.0 else None,
        shape_low=1.0 / high,
        shape_high=1.0 / low if low > 0.0 else None,
        cone_cv=math.sqrt(variance),
        likelihood_ratio=gain,
        p_value=0.5 * float(erfc(math.sqrt(gain / 2.0))) if variance > 0.0 else 1.0,
        confidence=confidence,
    )
