"""Two rates held against each other exactly, and how many cones it takes to see a difference."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput, Fault
from clew.knots.rates import MOST_KNOTS, check_share

MOST_CONES = 100_000
"""No more cones than this are ever asked for; beyond, the answer is that it cannot be seen."""

MOST_TIMES = 1000.0
"""Nobody has to count cones to see a rate grown more than this [1]."""


@dataclass(frozen=True, slots=True)
class TwoRates:
    """Two rates against each other.

    Attributes
    ----------
    ratio : float or None
        First rate over second; None where the second has no knots.
    ratio_low : float
        Lower end of its exact interval.
    ratio_high : float or None
        Upper end; None where it is endless.
    p_value : float
        Chance, at equal rates, of counts at least so far apart: twice the smaller tail. It agrees
        with the interval: below one less the confidence exactly when the interval excludes 1.
    p_least_likely : float
        The same by adding up all counts no likelier than those found.
    confidence : float
        Confidence of the interval, as a fraction.
    """

    ratio: float | None
    ratio_low: float
    ratio_high: float | None
    p_value: float
    p_least_likely: float
    confidence: float


@dataclass(frozen=True, slots=True)
class ConesNeeded:
    """How many cones must be counted to see a rate so many times another.

    Attributes
    ----------
    cones : int or None
        Cones to count (of each of two, where two are compared); None where no number will do.
    power : float
        Chance that so many cones show it.
    risk : float
        Chance, at equal rates, of a false alarm: at most what was asked.
    """

    cones: int | None
    power: float
    risk: float


def compare_rates(
    first_knots: int,
    first_km: float,
    second_knots: int,
    second_km: float,
    *,
    confidence: float = 0.95,
) -> TwoRates:
    """Hold two rates against each other exactly.

    Parameters
    ----------
    first_knots, second_knots : int
        Knots counted.
    first_km, second_km : float
        Lengths they were counted on [km].
    confidence : float
        Confidence of the ratio's interval [1].

    Returns
    -------
    TwoRates
        Ratio with exact interval and the two p-values.

    Raises
    ------
    BadInput
        Negative counts, lengths that are not above 0, a confidence outside 0 to 1.

    Notes
    -----
    Given the total, the first count is binomial with its share of the length: no normal law, no
    unknown rate left. Cones that differ among themselves make the true chance larger than the one
    shown, however many there are: then `clew.knots.rate_sources.swap_cones` is the test.
    Source: J. Przyborowski and H. Wilenski, Biometrika 31 (1940) (MEMORY).
    """
    from scipy.special import betaincinv
    from scipy.stats import binom

    check_share(confidence, "confidence")
    for key, knots, length in (
        ("first", first_knots, first_km),
        ("second", second_knots, second_km),
    ):
        if knots < 0:
            raise BadInput(Fault("fewer than no knots", "0 or more", key=key, value=str(knots)))
        if not (math.isfinite(length) and length > 0.0):
            raise BadInput(Fault("no length", "above 0 km", key=key, value=f"{length:g} km"))
    total = first_knots + second_knots
    share = first_km / (first_km + second_km)
    chances = binom.pmf(np.arange(total + 1), total, share)
    here = chances[first_knots] * (1 + 1e-7)  # equal chances must not differ by rounding
    tails = (chances[: first_knots + 1].sum(), chances[first_knots:].sum())
    risk = (1.0 - confidence) / 2.0
    low = 0.0
    if first_knots:
        low = float(betaincinv(first_knots, second_knots + 1, risk))
    high = 1.0
    if second_knots:
        high = float(betaincinv(first_knots + 1, second_knots, 1.0 - risk))
    return TwoRates(
        ratio=(first_knots / first_km) / (second_knots / second_km) if second_knots else None,
        ratio_low=low / (1.0 - low) * second_km / first_km,
        ratio_high=high / (1.0 - high) * second_km / first_km if second_knots else None,
        p_value=min(1.0, 2.0 * float(min(tails))),
        p_least_likely=min(1.0, float(chances[chances <= here].sum())),
        confidence=confidence,
    )


def _check_plan(per_km: float, cone_km: float, times: float, shape: float | None) -> None:
    faults = [
        Fault("too small", "above 0", key=key, value=f"{value:g}")
        for key, value in (("rate", per_km), ("cone length", cone_km))
        if not (math.isfinite(value) and value > 0.0)
    ]
    if not faults and per_km * cone_km > MOST_KNOTS:
        value = f"{per_km * cone_km:.4g} knots"
        faults.append(Fault("no cone holds so many", f"at most {MOST_KNOTS}", value=value))
    if not 1.0 < times <= MOST_TIMES:
        expected = f"more than 1 and at most {MOST_TIMES:g}"
        faults.append(Fault("not a rise to look for", expected, key="times", value=f"{times:g}"))
    if shape is not None and not (math.isfinite(shape) and shape > 0.0):
        faults.append(Fault("no gamma shape", "above 0", key="shape", value=f"{shape:g}"))
    if faults:
        raise BadInput(faults)


def cones_against_rate(
    per_km: float,
    cone_km: float,
    *,
    times: float = 2.0,
    power: float = 0.8,
    risk: float = 0.05,
    shape: float | None = None,
) -> ConesNeeded:
    """Find how many cones of one spinner show that it breaks so many times a known rate.

    Parameters
    ----------
    per_km : float
        The known rate [1/km].
    cone_km : float
        Length of a cone [km].
    times : float
        How many times the known rate is to be seen [1].
    power : float
        Chance wanted of seeing it [1].
    risk : float
        Chance allowed of a false alarm, one-sided [1].
    shape : float or None
        Gamma shape of the rate from cone to cone; None where all cones have one rate.

    Returns
    -------
    ConesNeeded
        The fewest cones from which on the power is never less again (looked at up to twice as
        many and 20 more: whole counts make the power rise in a saw-tooth).

    Raises
    ------
    BadInput
        A rate, length, shape or share that cannot be, or nothing to see.

    Notes
    -----
    Exact: knots on n like cones are Poisson, or negative binomial with n times the shape. DERIVED.
    """
    from scipy.stats import nbinom, poisson

    _check_plan(per_km, cone_km, times, shape)
    check_share(power, "power")
    check_share(risk, "risk")
    usual = per_km * cone_km
    last = 64
    while True:
        cones = np.arange(1, last + 1, dtype=np.float64)
        if shape is None:
            limit = poisson.isf(risk, cones * usual)
            alarm = np.asarray(poisson.sf(limit, cones * usual))
            seen = np.asarray(poisson.sf(limit, cones * usual * times))
        else:
            share = shape / (shape + usual), shape / (shape + usual * times)
            limit = nbinom.isf(risk, cones * shape, share[0])
            alarm = np.asarray(nbinom.sf(limit, cones * shape, share[0]))
            seen = np.asarray(nbinom.sf(limit, cones * shape, share[1]))
        short = np.flatnonzero(seen < power)
        first = int(short[-1]) + 1 if short.size else 0
        if 2 * (first + 1) + 20 <= last:
            return ConesNeeded(first + 1, float(seen[first]), float(alarm[first]))
        if last >= 2 * MOST_CONES + 20:
            return ConesNeeded(None, float(seen[-1]), float(alarm[-1]))
        last = min(4 * last, 2 * MOST_CONES + 20)


def two_sample_power(mean: float, *, times: float, risk: float) -> tuple[float, float]:
    """Find the power of the exact comparison of two equal lengths, one with more knots.

    Parameters
    ----------
    mean : float
        Knots expected on the better of the two [1].
    times : float
        How many times as many on the other [1].
    risk : float
        Chance allowed of a false alarm, one-sided [1].

    Returns
    -------
    (float, float)
        Chance that the comparison shows it, and its real chance of a false alarm.

    Notes
    -----
    Summed over every total that comes up more than once in 1e12 and, for each, over the counts
    that the binomial test calls larger. DERIVED.
    """
    from scipy.stats import binom, poisson

    def shown(ratio: float) -> float:
        whole = mean * (1.0 + ratio)
        totals = np.arange(
            int(poisson.ppf(1e-12, whole)), int(poisson.isf(1e-12, whole)) + 2, dtype=np.float64
        )
        limit = binom.isf(risk, totals, 0.5)
        seen = binom.sf(limit, totals, ratio / (1.0 + ratio))
        return float((poisson.pmf(totals, whole) * seen).sum())

    return shown(times), shown(1.0)


def cones_against_cones(
    per_km: float,
    cone_km: float,
    *,
    times: float = 2.0,
    power: float = 0.8,
    risk: float = 0.05,
    shape: float | None = None,
) -> ConesNeeded:
    """Find how many cones of each of two spinners show that one breaks so many times the other.

    Parameters
    ----------
    per_km : float
        Rate of the better spinner [1/km].
    cone_km : float
        Length of a cone [km].
    times : float
        How many times that rate is to be seen [1].
    power : float
        Chance wanted of seeing it [1].
    risk : float
        Chance allowed of a false alarm, one-sided [1].
    shape : float or None
        Gamma shape of the rate from cone to cone; None where all cones have one rate.

    Returns
    -------
    ConesNeeded
        Cones of each; the power is found by halving, so that a neighbour may do as well.

    Raises
    ------
    BadInput
        As `cones_against_rate`.

    Notes
    -----
    Exact where cones have one rate. With a shape, counts are taken as worth one part in
    1 + m / shape of themselves, with m the knots on a cone of the worse spinner: the variance is
    right for that spinner, the law is not, so the number is a fair guess. DERIVED.
    """
    _check_plan(per_km, cone_km, times, shape)
    check_share(power, "power")
    check_share(risk, "risk")
    usual = per_km * cone_km
    worth = usual if shape is None else usual / (1.0 + usual * times / shape)

    def seen(cones: int) -> float:
        return two_sample_power(cones * worth, times=times, risk=risk)[0]

    low, high = 0, 1
    while seen(high) < power:
        if high >= MOST_CONES:
            found = two_sample_power(high * worth, times=times, risk=risk)
            return ConesNeeded(None, *found)
        low, high = high, min(2 * high, MOST_CONES)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if seen(middle) >= power else (middle, high)
    return ConesNeeded(high, *two_sample_power(high * worth, times=times, risk=risk))
