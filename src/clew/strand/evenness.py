"""Why balls of one lot differ in mass, and how many cones and balls tell what.

A ball's mass is count times length, and its count is its cone's count. Balls of one cone share that
cone's deviation, so ten balls of one cone are not ten samples: the nested model below says what
they are worth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from clew.faults import BadInput, Fault
from clew.strand.given import more_than_zero, whole_number, zero_or_more

_MANY = 1000


@dataclass(frozen=True, slots=True)
class BallMassSpread:
    """The spread of ball mass and what it is made of.

    Attributes
    ----------
    cv_frac : float
        Coefficient of variation of ball mass over the lot [1].
    between_cones_cv_frac : float
        Part that all balls of a cone share [1].
    within_cone_cv_frac : float
        Part in which balls of one cone differ: yarn, length and water together [1].
    intraclass : float
        Intraclass correlation: share of the variance that balls of a cone share [1].
    """

    cv_frac: float
    between_cones_cv_frac: float
    within_cone_cv_frac: float
    intraclass: float


def ball_mass_spread(
    cone_cv_frac: float,
    *,
    within_cv_frac: float = 0.0,
    length_cv_frac: float = 0.0,
    moisture_cv_frac: float = 0.0,
) -> BallMassSpread:
    """Put together the spread of ball mass from its sources.

    Parameters
    ----------
    cone_cv_frac : float
        Spread of count from cone to cone [1].
    within_cv_frac : float
        Spread of count within a cone between pieces of one ball's length [1].
    length_cv_frac : float
        Spread of the wound length [1].
    moisture_cv_frac : float
        Spread of mass by water, between balls of one cone [1].

    Returns
    -------
    BallMassSpread
        Total spread and intraclass correlation.

    Raises
    ------
    BadInput
        When a spread is negative.

    Notes
    -----
    CV_m^2 = CV_cone^2 + CV_within^2 + CV_length^2 + CV_moisture^2; rho = CV_cone^2/CV_m^2.
    Validity: independent sources, each below about 10 % (products of squares are dropped). A winder
    whose length is off for all its balls is a bias, not a spread. Source: DERIVED.
    """
    cone = zero_or_more(cone_cv_frac, "spread between cones")
    within = math.hypot(
        zero_or_more(within_cv_frac, "spread within a cone"),
        zero_or_more(length_cv_frac, "spread of length"),
        zero_or_more(moisture_cv_frac, "spread by water"),
    )
    total = math.hypot(cone, within)
    return BallMassSpread(total, cone, within, (cone / total) ** 2 if total else 0.0)


def cone_variance_across_tie(first_frac: float) -> float:
    """Find how much of the cone variance is left in a ball that holds yarn of two cones.

    Parameters
    ----------
    first_frac : float
        Part of the ball's length that comes from the first cone, 0 to 1 [1].

    Returns
    -------
    float
        Cone variance of that ball over the cone variance of a ball of one cone [1]: f^2 + (1-f)^2.

    Raises
    ------
    BadInput
        When the part is not from 0 to 1.

    Notes
    -----
    Validity: the two cones deviate independently. A half from each cone divides the standard
    deviation by sqrt(2). Source: DERIVED.
    """
    if not 0.0 <= first_frac <= 1.0:
        raise BadInput(
            Fault(
                "a part of a ball", "0 to 1", key="part of the first cone", value=f"{first_frac:g}"
            )
        )
    return first_frac**2 + (1.0 - first_frac) ** 2


def standard_error_frac(
    between_cones_cv_frac: float, within_cone_cv_frac: float, cones: int, balls_per_cone: int
) -> float:
    """Find the standard error of the lot mean from so many cones and balls of each.

    Parameters
    ----------
    between_cones_cv_frac, within_cone_cv_frac : float
        Spread between cones, and between balls of one cone [1].
    cones, balls_per_cone : int
        Cones sampled, and balls weighed of each [1].

    Returns
    -------
    float
        Standard error of the mean [1]: sqrt(CV_c^2 + CV_w^2/k)/sqrt(n).

    Raises
    ------
    BadInput
        When a spread is negative or a number is below 1.

    Notes
    -----
    Validity: cones taken at random from a lot of many more. Source: DERIVED.
    """
    cones = whole_number(cones, "cones")
    balls = whole_number(balls_per_cone, "balls of a cone")
    between = zero_or_more(between_cones_cv_frac, "spread between cones")
    within = zero_or_more(within_cone_cv_frac, "spread within a cone")
    return math.hypot(between, within / math.sqrt(balls)) / math.sqrt(cones)


def effective_sample_size(cones: int, balls_per_cone: int, intraclass: float) -> float:
    """Find how many independent balls a nested sample is worth.

    Parameters
    ----------
    cones, balls_per_cone : int
        Cones sampled, and balls weighed of each [1].
    intraclass : float
        Intraclass correlation, 0 to 1 [1].

    Returns
    -------
    float
        Worth in balls of different cones [1]: n k/(1 + (k - 1) rho).

    Raises
    ------
    BadInput
        When a number is below 1 or the correlation is not from 0 to 1.

    Notes
    -----
    Ten balls of one cone at rho = 0.8 are worth 1.2 balls. Source: the design effect of a nested
    sample (MEMORY), agrees with `standard_error_frac` (DERIVED).
    """
    if not 0.0 <= intraclass <= 1.0:
        raise BadInput(
            Fault("a correlation", "0 to 1", key="intraclass correlation", value=f"{intraclass:g}")
        )
    balls = whole_number(balls_per_cone, "balls of a cone")
    return whole_number(cones, "cones") * balls / (1.0 + (balls - 1) * intraclass)


def cones_for_standard_error(
    between_cones_cv_frac: float,
    within_cone_cv_frac: float,
    standard_error: float,
    *,
    balls_per_cone: int = 1,
) -> int:
    """Find how many cones to sample for a wanted standard error of the lot mean.

    Parameters
    ----------
    between_cones_cv_frac, within_cone_cv_frac : float
        Spread between cones, and between balls of one cone [1].
    standard_error : float
        Wanted standard error, as a part of the mean [1].
    balls_per_cone : int
        Balls weighed of each cone [1].

    Returns
    -------
    int
        Cones, rounded up [1].

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    Weighing more balls of a cone helps only against the spread within cones. Source: DERIVED.
    """
    wanted = more_than_zero(standard_error, "wanted standard error")
    one = standard_error_frac(between_cones_cv_frac, within_cone_cv_frac, 1, balls_per_cone)
    # A ratio that is whole but for the last bits must not cost one more cone.
    return max(1, math.ceil((one / wanted) ** 2 * (1.0 - 1e-12)))


def cones_to_detect(
    between_cones_cv_frac: float,
    within_cone_cv_frac: float,
    difference_frac: float,
    *,
    balls_per_cone: int = 1,
    false_alarm: float = 0.05,
    power: float = 0.8,
) -> int:
    """Find how many cones it takes to see that a lot is off its target.

    Parameters
    ----------
    between_cones_cv_frac, within_cone_cv_frac : float
        Spread between cones, and between balls of one cone [1].
    difference_frac : float
        Difference of the lot mean from the target worth seeing, as a part of it [1].
    balls_per_cone : int
        Balls weighed of each cone, their mean being one value [1].
    false_alarm : float
        Chance of calling a lot off that is on target, two-sided [1].
    power : float
        Chance of seeing the difference when it is there [1].

    Returns
    -------
    int
        Cones [1]; at least 2.

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    One-sample t test on cone means, power from the noncentral t distribution; beyond 1000 cones the
    normal size plus half the squared normal quantile. Validity: cone means near normal. Source:
    textbook power calculation (MEMORY).
    """
    difference = more_than_zero(difference_frac, "difference")
    spread = standard_error_frac(between_cones_cv_frac, within_cone_cv_frac, 1, balls_per_cone)
    for value, key in ((false_alarm, "false alarm"), (power, "power")):
        if not 0.0 < value < 1.0:
            raise BadInput(Fault("a chance between 0 and 1", key=key, value=f"{value:g}"))
    if power <= false_alarm:
        raise BadInput(Fault("a power above the chance of a false alarm", key="power"))
    if spread == 0.0:
        return 2
    quantile = NormalDist().inv_cdf(1.0 - false_alarm / 2.0)
    normal_size = ((quantile + NormalDist().inv_cdf(power)) * spread / difference) ** 2
    if normal_size > _MANY:
        return math.ceil(normal_size + quantile**2 / 2.0)
    cones = max(2, math.floor(normal_size))
    while _power(cones, difference / spread, false_alarm) < power:
        cones += 1
    return cones


def _power(cones: int, effect: float, false_alarm: float) -> float:
    """Find the chance that a two-sided t test of so many cones sees an effect of so many sd."""
    from scipy.special import nctdtr, stdtrit

    limit = float(stdtrit(cones - 1, 1.0 - false_alarm / 2.0))
    shift = effect * math.sqrt(cones)
    above = 1.0 - float(nctdtr(cones - 1, shift, limit))
    return above + float(nctdtr(cones - 1, shift, -limit))
