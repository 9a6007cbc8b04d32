"""What the first balls of a lot say about each winder, and about the balls to come.

Everything here reads a belief (`clew.ball.first.belief`) and changes nothing in it. Words carry
no unit of mass or length, so that pages and cards can show both systems beside them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from clew.ball.first.belief import Belief, ball_rows
from clew.ball.first.conditioning import Floats
from clew.faults import BadInput, Fault
from clew.languages import joined, say

Z95 = 1.959963984540054
"""Standard deviations either side that hold 95 % of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its 95 % interval: half of the belief lies below the middle."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PowerLength:
    """Length against turns near one setting: length × (turns / turns there) ^ elasticity.

    Attributes
    ----------
    turns, length_m : float
        The setting and the length there [m].
    elasticity : float
        Relative change of length for a relative change of turns [-].
    """

    turns: float
    length_m: float
    elasticity: float

    def __call__(self, turns: float) -> float:
        """Length at a number of turns [m]."""
        return float(self.length_m * (turns / self.turns) ** self.elasticity)


@dataclass(frozen=True, slots=True)
class Wind:
    """What a ball was expected to be before any was weighed.

    Attributes
    ----------
    length_at : callable
        Expected length [m] at a number of turns, growing with the turns; the wound ball's own law,
        or a `PowerLength`.
    mass_g_per_m : float
        Expected mass of one metre on the basis on which balls are weighed [g/m].
    """

    length_at: Callable[[float], float]
    mass_g_per_m: float

    def at(self, turns: float) -> tuple[float, float]:
        """Expected length [m] and mass [g] at a number of turns."""
        length_m = float(self.length_at(turns))
        mass_g = length_m * self.mass_g_per_m
        if not (math.isfinite(mass_g) and mass_g > 0.0):
            raise BadInput(
                Fault(
                    say("turns for which no ball is expected"),
                    say("a length above 0"),
                    key="turns",
                    value=f"{turns:g}",
                )
            )
        return length_m, mass_g


@dataclass(frozen=True, slots=True)
class WinderView:
    """What is believed of one winder and of the yarn on it.

    Attributes
    ----------
    winder : str
        Its name.
    factor : Estimate
        Its length per turn against what was expected [-].
    count_factor : Estimate
        The lot's mean count against what was expected [-].
    balls, lengths, cones : int
        Balls weighed on it, how many of them were measured, from how many cones.
    correlation : float or None
        Between the winder and the count of the yarn it wound; near -1 when only their sum is seen.
        None when one of them is not in doubt at all.
    parted_frac : float or None
        How far the balls part "winds long" from "count is heavy": 0 not at all, 1 wholly [-].
    words : str
        The same for people.
    """

    winder: str
    factor: Estimate
    count_factor: Estimate
    balls: int
    lengths: int
    cones: int
    correlation: float | None
    parted_frac: float | None
    words: str


@dataclass(frozen=True, slots=True)
class NextBalls:
    """The next balls of a lot on one winder at given turns.

    Attributes
    ----------
    winder : str
        The winder.
    turns : float
        Turns.
    mass_mean_g, length_mean_m : Estimate
        Mean of the balls to come [g], [m]: what is still unknown of this lot on this winder.
    mass_ball_g, length_ball_m : Estimate
        One ball to come [g], [m]: that, and its own cone, winding and moisture besides. The
        scale's error is not in it.
    mass_mean_sd, length_mean_sd, mass_ball_sd, length_ball_sd : float
        The standard deviations behind these intervals, as fractions [-].
    """

    winder: str
    turns: float
    mass_mean_g: Estimate
    length_mean_m: Estimate
    mass_ball_g: Estimate
    length_ball_m: Estimate
    mass_mean_sd: float
    length_mean_sd: float
    mass_ball_sd: float
    length_ball_sd: float


def winder_view(belief: Belief, winder: str) -> WinderView:
    """Say what is believed of a winder and of the yarn, and how far the two can be parted.

    Parameters
    ----------
    belief : Belief
        The belief.
    winder : str
        The winder.

    Returns
    -------
    WinderView
        Factors with intervals, and in words whether winder and count can be told apart.

    Raises
    ------
    BadInput
        If the belief does not know the winder.

    Notes
    -----
    With k = τ + mean of γ over the cones seen on this winder and b the elasticity of mass, a mass
    tells s = ω + b k. The combination c = V(k) b ω − V(ω) k is independent of s before any ball, so
    masses from one cone leave it as it was and a length does not: `parted_frac` is the share of its
    variance that is gone, against the mill file's own spreads. Source: DERIVED.
    """
    place = belief.winder_at(winder)
    seen = [ball for ball in belief.balls if ball.winder == winder]
    cones = tuple(dict.fromkeys(cone for ball in seen for cone, _ in ball.cones))
    spreads = belief.spreads
    strand = np.zeros(len(belief.mean))
    strand[0] = 1.0
    for cone in cones:
        strand[belief.cone_at(cone)] = 1.0 / len(cones)
    itself = np.zeros(len(belief.mean))
    itself[place] = 1.0

    winder_var = spreads.winder_cv**2
    strand_var = spreads.lot_cv**2 + (spreads.cone_cv**2 / len(cones) if cones else 0.0)
    heavier = spreads.mass_elasticity
    contrast = strand_var * heavier * itself - winder_var * strand
    before = strand_var**2 * heavier**2 * winder_var + winder_var**2 * strand_var
    parted = (
        None
        if before <= 0.0
        else min(1.0, max(0.0, 1.0 - variance_of(belief.covariance, contrast) / before))
    )
    scale = math.sqrt(
        variance_of(belief.covariance, itself) * variance_of(belief.covariance, strand)
    )
    correlation = float(itself @ belief.covariance @ strand) / scale if scale > 0.0 else None

    factor = _estimate(
        1.0, float(belief.mean[place]), math.sqrt(variance_of(belief.covariance, itself))
    )
    of_lot = math.sqrt(belief.covariance[0, 0])
    count_factor = _estimate(1.0, float(belief.mean[0]), of_lot)
    lengths = sum(ball.length_m is not None for ball in seen)
    words = _view_words(winder, factor, count_factor, len(seen), lengths)
    return WinderView(
        winder, factor, count_factor, len(seen), lengths, len(cones), correlation, parted, words
    )


def next_balls(
    belief: Belief, winder: str, wind: Wind, turns: float, *, cone: str | None = None
) -> NextBalls:
    """Predict the next balls of the lot on a winder.

    Parameters
    ----------
    belief : Belief
        The belief.
    winder : str
        The winder.
    wind : Wind
        What was expected before any ball was weighed.
    turns : float
        Turns [-].
    cone : str, optional
        A cone already met, to predict further balls of that cone; without it the balls come from
        cones not yet met, as most of a lot does.

    Returns
    -------
    NextBalls
        Mean and single ball, mass and length, with 95 % intervals.

    Raises
    ------
    BadInput
        If the belief does not know the winder or the cone.

    Notes
    -----
    The middle is the median, expected × exp(mean); the arithmetic mean lies above it by half the
    variance, 0.02 % at a spread of 2 %, which is left out. Source: DERIVED.
    """
    cones = () if cone is None else ((cone, 1.0),)
    rows = ball_rows(belief, winder, cones, with_length=True)
    spreads = belief.spreads
    own_cone = spreads.cone_cv**2 if cone is None else 0.0
    means = rows @ belief.mean
    mean_vars = [variance_of(belief.covariance, row) for row in rows]
    ball_vars = (
        mean_vars[0] + spreads.length_elasticity**2 * own_cone + spreads.own_cov[0][0],
        mean_vars[1] + spreads.mass_elasticity**2 * own_cone + spreads.own_cov[1][1],
    )
    length_m, mass_g = wind.at(turns)
    length_mean_sd, mass_mean_sd = (math.sqrt(value) for value in mean_vars)
    length_ball_sd, mass_ball_sd = (math.sqrt(value) for value in ball_vars)
    return NextBalls(
        winder=winder,
        turns=turns,
        mass_mean_g=_estimate(mass_g, float(means[1]), mass_mean_sd),
        length_mean_m=_estimate(length_m, float(means[0]), length_mean_sd),
        mass_ball_g=_estimate(mass_g, float(means[1]), mass_ball_sd),
        length_ball_m=_estimate(length_m, float(means[0]), length_ball_sd),
        mass_mean_sd=mass_mean_sd,
        length_mean_sd=length_mean_sd,
        mass_ball_sd=mass_ball_sd,
        length_ball_sd=length_ball_sd,
    )


def variance_of(covariance: Floats, row: Floats) -> float:
    """Variance of a linear function of the state [-], never below nil by rounding."""
    return max(0.0, float(row @ covariance @ row))


def _estimate(expected: float, deviation: float, sd: float) -> Estimate:
    """Turn a deviation in logarithms and its spread into a value with its interval."""
    middle, low, high = (
        expected * math.exp(deviation + bound) for bound in (0.0, -Z95 * sd, Z95 * sd)
    )
    return Estimate(middle, low, high)


def _view_words(
    winder: str, factor: Estimate, count_factor: Estimate, balls: int, lengths: int
) -> str:
    if balls == 0:
        return say(
            "Winder {winder}: no ball of its own has been weighed; what stands here is "
            "the mill's earlier belief and what the other winders say of the yarn.",
            winder=winder,
        )
    winds = _winds(factor.middle)
    yarn = _heavy(count_factor.middle)
    finding = say(
        "Winder {winder} winds {winds}, the lot's count is {yarn}.",
        winder=winder,
        winds=winds,
        yarn=yarn,
    )
    if lengths == 0:
        reel = say(
            "Its balls were only weighed, and mass alone cannot part a winder that "
            "winds long from a yarn that is heavy: reel one of the balls already wound."
        )
        return joined(" ", (finding, reel))
    return finding


def _winds(factor: float) -> str:
    """Say how far a winder winds long or short."""
    percent = 100.0 * abs(factor - 1.0)
    if percent < 0.05:
        return say("as expected")
    if factor > 1.0:
        return say("{percent:.1f} % long", percent=percent)
    return say("{percent:.1f} % short", percent=percent)


def _heavy(factor: float) -> str:
    """Say how far a lot's count is heavy or light."""
    percent = 100.0 * abs(factor - 1.0)
    if percent < 0.05:
        return say("as expected")
    if factor > 1.0:
        return say("{percent:.1f} % heavy", percent=percent)
    return say("{percent:.1f} % light", percent=percent)
