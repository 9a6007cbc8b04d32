"""What correcting after every ball does: the funnel argument, in exact variances.

A setting aims, a ball lands off by chance. Moving the setting by what one ball was off adds that
ball's chance to the next one. Rules after Deming's funnel: 1 leave it; 2 move from where it stands;
3 move from the target; 4 aim at where the last ball landed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault

Rule = Literal[1, 2, 3, 4]


def funnel_variance_ratio(rule: Rule, ball: int) -> float:
    """Variance of a ball under a rule of the funnel, over that of a ball left alone.

    Parameters
    ----------
    rule : {1, 2, 3, 4}
        The rule.
    ball : int
        Which ball since the start, 1 for the first.

    Returns
    -------
    float
        Ratio of variances [-].

    Raises
    ------
    BadInput
        If there is no such rule or ball.

    Notes
    -----
    With e the chance of a ball: rule 1 y_n = e_n; rule 2 y_n = e_n − e_{n−1}, ratio 2 from the
    second ball; rule 3 y_n = e_n − y_{n−1} and rule 4 y_n = e_n + y_{n−1}, both a random walk of
    ratio n. Source: DERIVED; the rules as Deming told them, MEMORY.
    """
    if rule not in (1, 2, 3, 4):
        raise BadInput(Fault("no such rule of the funnel", "1, 2, 3 or 4", value=str(rule)))
    if ball < 1:
        raise BadInput(Fault("no such ball", "1 or more", value=str(ball)))
    if rule == 1 or ball == 1:
        return 1.0
    return 2.0 if rule == 2 else float(ball)


def corrected_variance_ratio(gain: float, balls: int = 1) -> float:
    """Variance of a ball, over that of one left alone, when corrections go on for ever.

    Parameters
    ----------
    gain : float
        Share of the mean deviation that is corrected each time [-], from 0 to below 2.
    balls : int
        Balls whose mean is looked at before each correction.

    Returns
    -------
    float
        Ratio of variances [-].

    Raises
    ------
    BadInput
        If the gain makes every correction worse than the last, or there is no ball.

    Notes
    -----
    The setting follows a' = (1 − g) a − g ē, of variance g / (k (2 − g)); a ball adds its own 1.
    Gain 1 after each ball is rule 2: twice the variance. Source: DERIVED.
    """
    if not (math.isfinite(gain) and 0.0 <= gain < 2.0):
        raise BadInput(Fault("not a usable gain", "from 0 to below 2", value=str(gain)))
    if balls < 1:
        raise BadInput(Fault("no balls to look at", "1 or more", value=str(balls)))
    return 1.0 + gain / (balls * (2.0 - gain))


def right_gain(offset_sd: float, mean_sd: float) -> float:
    """Share of a mean deviation that is worth correcting, once.

    Parameters
    ----------
    offset_sd : float
        How far winders usually stand off [g].
    mean_sd : float
        Standard error of the mean that was looked at [g].

    Returns
    -------
    float
        Gain, 0 to 1 [-].

    Notes
    -----
    τ² / (τ² + s²), which leaves the least variance of offset. Source: regression to the mean,
    common practice.
    """
    total = offset_sd**2 + mean_sd**2
    return offset_sd**2 / total if total > 0.0 else 0.0


def steady_gain(drift_sd: float, mean_sd: float) -> float:
    """Share of each mean deviation worth correcting when a winder wanders.

    Parameters
    ----------
    drift_sd : float
        How far a winder wanders from one look to the next, one standard deviation [g].
    mean_sd : float
        Standard error of the mean looked at [g].

    Returns
    -------
    float
        Gain, 0 where nothing wanders, 1 where nothing but that is seen [-].

    Notes
    -----
    With r = drift² / mean², g = (sqrt(r² + 4 r) − r) / 2: the steady state of a random walk seen
    through noise. Source: Kalman's local level, common practice.
    """
    if drift_sd == 0.0:
        return 0.0
    if mean_sd == 0.0:
        return 1.0
    ratio = (drift_sd / mean_sd) ** 2
    return 2.0 * ratio / (math.sqrt(ratio * ratio + 4.0 * ratio) + ratio)


@dataclass(frozen=True, slots=True)
class OverCorrection:
    """Standard deviation of ball mass of a mill under ways of correcting.

    Attributes
    ----------
    left_sd_g : float
        Winders left as they stand, their offsets included [g].
    every_ball_sd_g : float
        Each winder moved by the full deviation of every ball [g].
    every_ball_turns_sd_g : float
        How far its turns then wander, and the length of its balls with them, as mass [g].
    right_sd_g : float
        Each winder moved once, by the right share of its mean over `balls` [g].
    balls : int
        Balls looked at.
    gain : float
        The right share [-].
    lost_g : float
        What the target must rise so that a ball is as seldom short of mass after correcting every
        ball as after the right correction, at the same number of standard deviations [g]; below nil
        where following the cones narrows mass more than chance widens it.
    """

    left_sd_g: float
    every_ball_sd_g: float
    every_ball_turns_sd_g: float
    right_sd_g: float
    balls: int
    gain: float
    lost_g: float


def over_correction(
    winder_sd_g: float,
    within_sd_g: float,
    *,
    balls: int,
    cone_sd_g: float = 0.0,
    balls_per_cone: float = 1.0,
    mean_sd_g: float | None = None,
    short_sd: float = 2.0,
) -> OverCorrection:
    """Set correcting after every ball against the right correction and against none.

    Parameters
    ----------
    winder_sd_g : float
        How far winders stand off, one standard deviation [g].
    within_sd_g, cone_sd_g : float
        Spread of single balls of one cone, and of cones [g].
    balls : int
        Balls of each winder looked at for the right correction.
    balls_per_cone : float
        Balls that a winder makes of a cone, one after the other [-].
    mean_sd_g : float, optional
        Standard error of a winder's mean over them, cones and all [g]; left out, that of balls
        each by itself.
    short_sd : float
        How many standard deviations the target stands above what must not be short [-].

    Returns
    -------
    OverCorrection
        The spreads.

    Raises
    ------
    BadInput
        If there is no ball to look at.

    Notes
    -----
    With e the chance of a ball, c that of its cone, b balls a cone: left τ² + c² + e². Every ball:
    2e² + 2c²/b, as a ball of the same cone as the last has that cone's count corrected already; but
    turns then wander by c² + e², and length with them. Right share, once: c² + e² +
    τ² s² / (τ² + s²). Source: DERIVED.
    """
    if balls < 1 or not balls_per_cone >= 1.0:
        raise BadInput(Fault("no balls to look at", "1 or more", value=f"{balls}"))
    single = within_sd_g**2 + cone_sd_g**2
    every = corrected_variance_ratio(1.0) * (within_sd_g**2 + cone_sd_g**2 / balls_per_cone)
    mean_sd = math.sqrt(single / balls) if mean_sd_g is None else mean_sd_g
    gain = right_gain(winder_sd_g, mean_sd)
    right = math.sqrt(single + gain * mean_sd**2)
    return OverCorrection(
        left_sd_g=math.sqrt(winder_sd_g**2 + single),
        every_ball_sd_g=math.sqrt(every),
        every_ball_turns_sd_g=math.sqrt(single),
        right_sd_g=right,
        balls=balls,
        gain=gain,
        lost_g=short_sd * (math.sqrt(every) - right),
    )
