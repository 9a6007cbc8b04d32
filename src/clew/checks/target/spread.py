"""How far the balls of a lot differ, level by level, and how surely that is known.

A ball's content is its mean times one and a few small parts: what its dye lot, its cone, its winder
and the ball itself add. On the relative scale,

    mass   = M (1 + c_lot + c_cone + c + t_winder + t + e)
    length = L (1 + t_winder + t + d)

with c the count of the yarn, t the turns and the length a turn lays, e moisture and weighing, d the
reel and the drawing back of a wound ball. Turns are in both: a winder that winds long is heavy too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]
LevelName = Literal["lot", "cone", "winder", "within"]
LEVELS: tuple[LevelName, ...] = ("lot", "cone", "winder", "within")
MOST_FRAC = 0.5
"""Largest standard deviation of one part of a ball that is taken for yarn [-]."""
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Sd:
    """A standard deviation on the relative scale, and the doubt about it.

    One draw of it is ``|value_frac exp(log_sd u) + plus_frac u|`` with u standard normal: lognormal
    about a figure that is surely above nought, half normal about one that may be nought.

    Attributes
    ----------
    value_frac : float
        The standard deviation, as a share of the mean [-].
    log_sd : float
        Standard deviation of its logarithm [-].
    plus_frac : float
        Scale of what may be added to it [-].
    """

    value_frac: float = 0.0
    log_sd: float = 0.0
    plus_frac: float = 0.0

    def __post_init__(self) -> None:
        for key in ("value_frac", "log_sd", "plus_frac"):
            value = getattr(self, key)
            most = 3.0 if key == "log_sd" else MOST_FRAC
            if not (math.isfinite(value) and 0.0 <= value <= most):
                words = (
                    say("a spread out of reach") if key != "log_sd" else say("a doubt out of reach")
                )
                wanted = say("0 to 50 % of the ball") if key != "log_sd" else say("0 to 3")
                raise BadInput(Fault(words, wanted, key=key, value=f"{value:.4g}"))

    @property
    def none(self) -> bool:
        """Whether it is nought for certain."""
        return self.value_frac == 0.0 and self.plus_frac == 0.0

    def drawn(self, normal: Floats) -> Floats:
        """Draw the standard deviation itself [-], one for each standard normal number."""
        found = self.value_frac * np.exp(self.log_sd * normal) + self.plus_frac * normal
        return np.asarray(np.abs(found), dtype=np.float64)


def sd_from_interval(value_frac: float, low_frac: float, high_frac: float) -> Sd:
    """Make a standard deviation with its doubt from an estimate and its 95 % interval.

    Parameters
    ----------
    value_frac : float
        Estimate, as a share of the mean [-].
    low_frac, high_frac : float
        Ends of its 95 % interval [-].

    Returns
    -------
    Sd
        Lognormal where the low end lies above nought, else half normal outwards.

    Raises
    ------
    BadInput
        When the interval does not hold the estimate.

    Notes
    -----
    log_sd = ln(high/low) / (2 x 1.960) with the median at sqrt(low x high); with low = 0 the high
    end fixes it alone, plus = (high - value)/1.960. Source: DERIVED.
    """
    if not 0.0 <= low_frac <= value_frac <= high_frac:
        raise BadInput(
            Fault(
                say("an interval that does not hold its estimate"),
                expected=say("low, estimate, high in order"),
                value=f"{low_frac:.4g}, {value_frac:.4g}, {high_frac:.4g}",
            )
        )
    high = min(high_frac, 10.0 * max(value_frac, 0.01))
    if low_frac > 0.0:
        log_sd = math.log(high / low_frac) / (2 * Z95)
        return Sd(math.sqrt(low_frac * high), min(log_sd, 3.0))
    return Sd(value_frac, 0.0, (high - value_frac) / Z95)


def sd_from_sample(value_frac: float, degrees: float) -> Sd:
    """Make a standard deviation with the doubt that so many degrees of freedom leave.

    Parameters
    ----------
    value_frac : float
        Estimate, as a share of the mean [-].
    degrees : float
        Degrees of freedom it rests on [-]; not below 1.

    Returns
    -------
    Sd
        Lognormal with log_sd = 1/sqrt(2 degrees), that of a scaled chi.

    Raises
    ------
    BadInput
        When there is not one degree of freedom.

    Notes
    -----
    Source: DERIVED.
    """
    if not degrees >= 1.0:
        raise BadInput(
            Fault(
                say("too few balls to know a spread"),
                say("2 or more"),
                value=say("{degrees:g} beyond one", degrees=degrees),
            )
        )
    return Sd(value_frac, min(1.0 / math.sqrt(2.0 * degrees), 3.0))


NOTHING = Sd()


@dataclass(frozen=True, slots=True)
class Level:
    """What one level adds to mass and to length.

    Attributes
    ----------
    mass, length : Sd
        Its standard deviations.
    correlation : float
        Correlation of the two parts [-]; 1 where turns move both.
    """

    mass: Sd = NOTHING
    length: Sd = NOTHING
    correlation: float = 0.0

    def __post_init__(self) -> None:
        if not -1.0 <= self.correlation <= 1.0:
            raise BadInput(
                Fault(say("not a correlation"), say("-1 to 1"), value=f"{self.correlation:.4g}")
            )

    def times(self, factor: float) -> Level:
        """Make it so many times as wide [-], its doubt with it."""
        return Level(_times(self.mass, factor), _times(self.length, factor), self.correlation)


def _times(sd: Sd, factor: float) -> Sd:
    return Sd(sd.value_frac * factor, sd.log_sd, sd.plus_frac * factor)


NO_LEVEL = Level()


@dataclass(frozen=True, slots=True)
class Spread:
    """How balls differ.

    Attributes
    ----------
    lot, cone, winder, within : Level
        From lot to lot, cone to cone, winder to winder, and ball to ball of one cone and winder.
    """

    lot: Level = NO_LEVEL
    cone: Level = NO_LEVEL
    winder: Level = NO_LEVEL
    within: Level = NO_LEVEL

    def level(self, name: LevelName) -> Level:
        """Pick one level by its name."""
        found = getattr(self, name)
        assert isinstance(found, Level)
        return found

    def with_level(self, name: LevelName, level: Level) -> Spread:
        """Put another level in the place of one."""
        return replace(self, **{name: level})

    @property
    def certain(self) -> Spread:
        """The same spread as if every standard deviation were known for certain."""
        return Spread(
            *(
                Level(
                    Sd(self.level(name).mass.value_frac),
                    Sd(self.level(name).length.value_frac),
                    self.level(name).correlation,
                )
                for name in LEVELS
            )
        )

    @property
    def mass_frac(self) -> float:
        """Standard deviation of the mass of a ball taken from any lot [-]."""
        return math.hypot(*(self.level(name).mass.value_frac for name in LEVELS))

    @property
    def length_frac(self) -> float:
        """Standard deviation of the length of a ball taken from any lot [-]."""
        return math.hypot(*(self.level(name).length.value_frac for name in LEVELS))


def after_first_balls(spread: Spread, balls: int) -> Spread:
    """What is left of the lots' spread when each lot is set by first balls.

    Parameters
    ----------
    spread : Spread
        How balls differ.
    balls : int
        Balls weighed at the start of each lot, each from a cone of its own, by which the turns of
        all winders are set.

    Returns
    -------
    Spread
        The same with a narrower lot level in mass. Turns taken off for a heavy count shorten the
        balls, so where lots differ in count, their lengths differ the more.

    Raises
    ------
    BadInput
        When there is not one ball.

    Notes
    -----
    Lot level L, cone and ball s^2: the mean of n first balls leaves of the lot's variance
    1/(1/L^2 + n/s^2), that of the best guess from what lots do and what these balls say. The guess
    has variance k L^2, k = n L^2/(s^2 + n L^2), and the turns move length by as much the other way:
    length keeps l^2 + k L (L - 2 r l), r the correlation at the lot level. A doubt of ln L leaves
    (1 - k) of itself. Winders are taken as known from before. Source: DERIVED, normal mean with
    normal prior (Gelman and others, Bayesian Data Analysis, 2.5: MEMORY).
    """
    if balls < 1:
        raise BadInput(Fault(say("no first ball"), say("1 or more"), value=str(balls)))
    level = spread.lot
    seen = spread.cone.mass.value_frac**2 + spread.within.mass.value_frac**2

    def left(lot: float) -> float:
        """What of a lot level is not set right by the first balls, as a share of its variance."""
        return seen / (seen + balls * lot**2) if lot > 0.0 else 1.0

    lot, most = level.mass.value_frac, level.mass.value_frac + level.mass.plus_frac
    if most == 0.0:
        return spread
    rest = left(lot)
    narrow = lot * math.sqrt(rest)
    mass = Sd(narrow, level.mass.log_sd * rest, most * math.sqrt(left(most)) - narrow)
    long = level.length.value_frac
    moved = 1.0 - rest
    variance = long**2 + moved * lot * (lot - 2.0 * level.correlation * long)
    length = Sd(math.sqrt(max(variance, 0.0)), level.length.log_sd, level.length.plus_frac)
    together = rest * level.correlation * lot * long
    both = narrow * length.value_frac
    shared = max(-1.0, min(1.0, together / both)) if both > 0.0 else 0.0
    return spread.with_level("lot", Level(mass, length, shared))


def spread_of_sources(
    *,
    count_lot: float = 0.0,
    count_cone: float = 0.0,
    count_within: float = 0.0,
    turns_winder: float = 0.0,
    turns_within: float = 0.0,
    mass_error: float = 0.0,
    length_error: float = 0.0,
) -> Spread:
    """Put a spread together from what makes it.

    Parameters
    ----------
    count_lot, count_cone, count_within : float
        Standard deviations of the count between lots, cones, and balls of a cone [-].
    turns_winder, turns_within : float
        Of the length wound, between winders and from ball to ball [-].
    mass_error : float
        Of moisture and weighing of one ball [-].
    length_error : float
        Of the reel and of drawing back [-].

    Returns
    -------
    Spread
        Levels with the correlation of mass and length that follows.

    Raises
    ------
    BadInput
        When a part is negative or above half the ball.

    Notes
    -----
    Within a winder and a cone, covariance of mass and length is the variance of the turns alone.
    Source: DERIVED.
    """
    mass = math.hypot(count_within, turns_within, mass_error)
    length = math.hypot(turns_within, length_error)
    shared = turns_within**2 / (mass * length) if turns_within > 0.0 else 0.0
    return Spread(
        lot=Level(Sd(count_lot)),
        cone=Level(Sd(count_cone)),
        winder=Level(Sd(turns_winder), Sd(turns_winder), 1.0),
        within=Level(Sd(mass), Sd(length), min(shared, 1.0)),
    )
