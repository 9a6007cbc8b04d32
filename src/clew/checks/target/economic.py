"""Economic targets, for comparison with the lawful one: what giveaway and short balls cost.

None of them knows a net-content rule; each weighs yarn against a price for balls below a limit.
Balls are independent and normal with a known spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault


@dataclass(frozen=True, slots=True)
class EconomicTarget:
    """The mean that a model calls best.

    Attributes
    ----------
    mean : float
        Target [g or m].
    value : float
        Expected profit or cost a ball there [money].
    short_frac : float
        Share of balls below the lower limit [-].
    upper : float
        Upper limit, where the model chooses one [g or m]; inf elsewhere.
    """

    mean: float
    value: float
    short_frac: float
    upper: float = math.inf


def _phi(z: float) -> float:
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def _cdf(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _positive(**values: float) -> None:
    for key, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise BadInput(Fault("not usable", "a number above 0", key=key, value=f"{value:g}"))


def hunter_kartha(
    full_price: float, low_price: float, giveaway_cost: float, sd: float, limit: float
) -> EconomicTarget:
    """Best mean when balls below a limit sell for less and yarn above it is given away.

    Parameters
    ----------
    full_price, low_price : float
        Price of a ball at or above the limit, and of one below it [money].
    giveaway_cost : float
        Cost of each unit of content above the limit [money/g or money/m].
    sd : float
        Standard deviation of the balls [g or m].
    limit : float
        The limit [g or m].

    Returns
    -------
    EconomicTarget
        Mean, expected income a ball, share short.

    Raises
    ------
    BadInput
        When a number is not above nought or the low price is not the lower.

    Notes
    -----
    phi(z)/(1 - Phi(z)) = g sd/(A - P), z = (L - mean)/sd; income = A (1 - Phi(z)) + P Phi(z)
    - g sd (phi(z) - z (1 - Phi(z))). Source: Hunter and Kartha, J. Quality Technology 9 (1977),
    MEMORY.
    """
    from scipy.optimize import brentq
    from scipy.special import log_ndtr

    _positive(full_price=full_price, giveaway_cost=giveaway_cost, sd=sd, limit=limit)
    gap = full_price - low_price
    if not gap > 0.0:
        raise BadInput(
            Fault("a low price that is not the lower", "below the full price", key="low_price")
        )
    wanted = math.log(giveaway_cost * sd / gap)

    def hazard(z: float) -> float:
        return -0.5 * z * z - 0.5 * math.log(2.0 * math.pi) - float(log_ndtr(-z)) - wanted

    z = float(brentq(hazard, -37.0, max(math.exp(wanted) + 2.0, 2.0), xtol=1e-13, rtol=1e-14))
    above = _cdf(-z)
    value = (
        full_price * above + low_price * (1.0 - above) - giveaway_cost * sd * (_phi(z) - z * above)
    )
    return EconomicTarget(limit - sd * z, value, _cdf(z))


def giveaway_against_short(
    giveaway_cost: float, short_cost: float, sd: float, limit: float
) -> EconomicTarget:
    """Best mean when every unit of content costs and every ball below the limit costs a fixed sum.

    Parameters
    ----------
    giveaway_cost : float
        Cost of each unit of mean content above the limit [money/g or money/m].
    short_cost : float
        Cost of a ball below the limit [money].
    sd : float
        Standard deviation of the balls [g or m].
    limit : float
        The limit [g or m].

    Returns
    -------
    EconomicTarget
        Mean, expected cost a ball above that of a ball at the limit, share short.

    Raises
    ------
    BadInput
        When a number is not above nought, or a short ball is so cheap that no target is best.

    Notes
    -----
    mean = L + sd sqrt(-2 ln(c sd sqrt(2 pi)/K)): where c = K phi(z)/sd. Source: DERIVED.
    """
    _positive(giveaway_cost=giveaway_cost, short_cost=short_cost, sd=sd, limit=limit)
    ratio = giveaway_cost * sd * math.sqrt(2.0 * math.pi) / short_cost
    if ratio >= 1.0:
        raise BadInput(
            Fault(
                "a short ball cheaper than the yarn it saves",
                expected=f"a cost above {giveaway_cost * sd * math.sqrt(2 * math.pi):.4g}",
                key="short_cost",
                value=f"{short_cost:g}",
            )
        )
    z = math.sqrt(-2.0 * math.log(ratio))
    return EconomicTarget(limit + sd * z, giveaway_cost * sd * z + short_cost * _cdf(-z), _cdf(-z))


def springer(
    below_cost: float, above_cost: float, sd: float, low: float, high: float
) -> EconomicTarget:
    """Best mean between two limits with a fixed cost on either side.

    Parameters
    ----------
    below_cost, above_cost : float
        Cost of a ball below the lower, and above the upper limit [money].
    sd : float
        Standard deviation of the balls [g or m].
    low, high : float
        The limits [g or m].

    Returns
    -------
    EconomicTarget
        Mean, expected cost a ball, share below the lower limit.

    Raises
    ------
    BadInput
        When a number is not above nought or the limits are out of order.

    Notes
    -----
    Minimum of C1 Phi((L - m)/sd) + C2 Phi((m - U)/sd): m = (L + U)/2 + sd^2 ln(C1/C2)/(U - L).
    Source: Springer, Industrial Quality Control 8 (1951), MEMORY; the closed form DERIVED.
    """
    _positive(below_cost=below_cost, above_cost=above_cost, sd=sd, low=low, high=high)
    if not high > low:
        raise BadInput(Fault("limits out of order", "the upper above the lower", key="high"))
    mean = 0.5 * (low + high) + sd * sd * math.log(below_cost / above_cost) / (high - low)
    below, above = _cdf((low - mean) / sd), _cdf((mean - high) / sd)
    return EconomicTarget(mean, below_cost * below + above_cost * above, below, high)


def bettes(
    yarn_cost: float, rework_cost: float, sd: float, low: float, *, highest: float | None = None
) -> EconomicTarget:
    """Best mean and upper limit when balls outside are wound again at a fixed cost.

    Parameters
    ----------
    yarn_cost : float
        Cost of each unit of content [money/g or money/m].
    rework_cost : float
        Cost of winding one ball again [money]; its yarn comes back.
    sd : float
        Standard deviation of the balls [g or m].
    low : float
        The lower limit, given [g or m].
    highest : float or None
        Highest upper limit that may be chosen [g or m]; 12 sd above the lower when left out.

    Returns
    -------
    EconomicTarget
        Mean, expected cost of one ball sold, share below the lower limit, the upper limit.

    Raises
    ------
    BadInput
        When a number is not above nought or no room is left between the limits.

    Notes
    -----
    Cost of one ball sold = c E[x | L <= x <= U] + R (1 - q)/q, q the share inside; minimised over
    mean and U. Source: Bettes, Applied Statistics 11 (1962), MEMORY; solved numerically.
    """
    from scipy.optimize import minimize

    _positive(yarn_cost=yarn_cost, rework_cost=rework_cost, sd=sd, low=low)
    top = low + 12.0 * sd if highest is None else highest
    if not top > low:
        raise BadInput(Fault("limits out of order", "the upper above the lower", key="highest"))
    most = (top - low) / sd

    def cost(at: NDArray[np.float64]) -> float:
        z, width = float(at[0]), float(at[1])  # mean = low + z sd, upper = low + width sd
        inside = _cdf(width - z) - _cdf(-z)
        if inside < 1e-12 or not 0.0 < width <= most:
            return math.inf
        content = low + sd * (z + (_phi(-z) - _phi(width - z)) / inside)
        return yarn_cost * content + rework_cost * (1.0 - inside) / inside

    best = min(
        (
            minimize(
                cost,
                np.array([start, min(width, most)]),
                method="Nelder-Mead",
                options={"xatol": 1e-10, "fatol": 1e-14, "maxiter": 4000, "maxfev": 8000},
            )
            for start in (0.5, 2.0, 3.5)
            for width in (2.0 * start, 12.0)
        ),
        key=lambda found: float(found.fun),
    )
    z, width = float(best.x[0]), float(best.x[1])
    return EconomicTarget(low + z * sd, float(best.fun), _cdf(-z), low + width * sd)


def golhar(
    price: float, yarn_cost: float, refill_cost: float, sd: float, limit: float
) -> EconomicTarget:
    """Best mean when balls below the limit are emptied and filled again.

    Parameters
    ----------
    price : float
        Price of a ball sold [money].
    yarn_cost : float
        Cost of each unit of content [money/g or money/m].
    refill_cost : float
        Cost of filling one ball again [money].
    sd : float
        Standard deviation of the balls [g or m].
    limit : float
        The limit [g or m].

    Returns
    -------
    EconomicTarget
        Mean, expected profit a ball sold, share below the limit at each filling.

    Raises
    ------
    BadInput
        When a number is not above nought.

    Notes
    -----
    Profit = A - c E[x | x >= L] - R (1 - q)/q, q = P(x >= L). Source: Golhar, J. Quality
    Technology 19 (1987), MEMORY; solved numerically.
    """
    from scipy.optimize import minimize_scalar

    _positive(price=price, yarn_cost=yarn_cost, refill_cost=refill_cost, sd=sd, limit=limit)

    def cost(z: float) -> float:
        inside = _cdf(z)
        return yarn_cost * sd * (z + _phi(z) / inside) + refill_cost * (1.0 - inside) / inside

    best = minimize_scalar(cost, bounds=(-8.0, 8.0), method="bounded", options={"xatol": 1e-10})
    z = float(best.x)
    return EconomicTarget(limit + z * sd, price - yarn_cost * limit - cost(z), _cdf(-z))


@dataclass(frozen=True, slots=True)
class ThreeRules:
    """The mean that the three rules of the average-quantity system ask for.

    Attributes
    ----------
    mean : float
        The largest of the three [g].
    average, first, second : float
        What each asks for [g].
    binding : str
        "average", "first" or "second".
    """

    mean: float
    average: float
    first: float
    second: float
    binding: str


FIRST_SHARE_Z = 1.959963984540054
"""2.5 % of balls lie farther below the mean than so many standard deviations."""
SECOND_SHARE_Z = 3.719016485455709
"""0.01 % of balls lie farther below the mean than so many standard deviations."""


def three_rules(declared: float, first_limit: float, second_limit: float, sd: float) -> ThreeRules:
    """Least mean of a process by the three rules, before any allowance for sampling.

    Parameters
    ----------
    declared : float
        Declared content [g].
    first_limit, second_limit : float
        Declared less once, and less twice the tolerable deficiency [g].
    sd : float
        Standard deviation of the balls [g].

    Returns
    -------
    ThreeRules
        The mean and which rule binds.

    Raises
    ------
    BadInput
        When a number is not above nought.

    Notes
    -----
    max(Qn, T1 + 1.960 sd, T2 + 3.719 sd): mean not below Qn, at most 2.5 % below T1, at most 0.01 %
    below T2. Source: guidance to SI 2006/659, scenario READ, figures COMPUTED.
    """
    _positive(declared=declared, first_limit=first_limit, second_limit=second_limit, sd=sd)
    asks = {
        "average": declared,
        "first": first_limit + FIRST_SHARE_Z * sd,
        "second": second_limit + SECOND_SHARE_Z * sd,
    }
    binding = max(asks, key=lambda name: asks[name])
    return ThreeRules(asks[binding], asks["average"], asks["first"], asks["second"], binding)
