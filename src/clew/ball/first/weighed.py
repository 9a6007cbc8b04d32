"""A ball that was weighed: what is noted of it, and how far such a note can be trusted.

The spreads are the constants of the mill's belief (`clew.ball.first.belief`); here are their
ranges, the checks on a ball, its deviations in natural logarithms and the scatter of those.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from clew.ball.first.conditioning import Floats
from clew.faults import BadInput, Fault
from clew.languages import joined, say

_WIDEST_CV = 0.5
LEAST_NOISE_CV = 1e-6
"""Least spread a ball has of its own: a mill file may say 0, and no ball is known exactly."""
_WIDEST_RATIO = 2.0
_SHARES_TOLERANCE = 1e-6


Pair = tuple[tuple[float, float], tuple[float, float]]
"""A two by two matrix, of length and mass."""


@dataclass(frozen=True, slots=True)
class Spreads:
    """How far things of one kind differ, and what measuring adds.

    Attributes
    ----------
    winder_cv : float
        Spread of length per turn from winder to winder [-], 0 to 0.5.
    lot_cv : float
        Spread of a lot's mean count about what was expected of it [-], 0 to 0.5.
    cone_cv : float
        Spread of a cone's mean count about its lot's mean [-], 0 to 0.5.
    own_cov : tuple of tuple of float
        Covariance, length then mass, of what one ball is by itself about the mean of its cone and
        winder [-]: its own count, moisture, packing and tension. Standard deviations of 1e-6 to
        0.5; length and mass never move in perfect step.
    scale_sd_g : float
        Standard deviation of the scale [g], 0 or more.
    reel_cv : float
        Standard deviation of measuring a ball's length, as a fraction [-], 0 to 0.5.
    length_elasticity, mass_elasticity : float
        Relative change of length at rest and of mass as weighed, at fixed turns, for a relative
        change of count [-]: a heavier yarn makes a bigger ball, and so a longer one, and stretches
        less. -1 to 2 and 0.1 to 4.

    Raises
    ------
    BadInput
        If a constant is not a number in its range; every such constant is named.
    """

    winder_cv: float
    lot_cv: float
    cone_cv: float
    own_cov: Pair
    scale_sd_g: float
    reel_cv: float
    length_elasticity: float
    mass_elasticity: float

    def __post_init__(self) -> None:
        limits = {
            "scale_sd_g": (0.0, math.inf),
            "length_elasticity": (-1.0, 2.0),
            "mass_elasticity": (0.1, 4.0),
        }
        faults = []
        for key in (field.name for field in fields(self) if field.name != "own_cov"):
            low, high = limits.get(key, (0.0, _WIDEST_CV))
            value = getattr(self, key)
            if not (_is_number(value) and low <= value <= high):
                wanted = (
                    say("a number, {low:g} or more", low=low)
                    if math.isinf(high)
                    else say("a number, {low:g} to {high:g}", low=low, high=high)
                )
                faults.append(
                    Fault(say("not a usable constant"), wanted, key=key, value=str(value))
                )
        if not _is_spread(self.own_cov):
            wanted = say(
                "a covariance with standard deviations of {low:g} to {high:g}",
                low=LEAST_NOISE_CV,
                high=_WIDEST_CV,
            )
            faults.append(
                Fault(say("not a usable constant"), wanted, key="own_cov", value=str(self.own_cov))
            )
        if faults:
            raise BadInput(faults)

    @classmethod
    def unstretched(
        cls,
        *,
        winder_cv: float,
        lot_cv: float,
        cone_cv: float,
        length_cv: float,
        within_cv: float,
        scale_sd_g: float,
        reel_cv: float,
        area_elasticity: float,
    ) -> Spreads:
        """Constants of a yarn that does not stretch on the winder, from two spreads of a ball.

        Parameters
        ----------
        winder_cv, lot_cv, cone_cv, scale_sd_g, reel_cv : float
            As the attributes [-], the scale in [g].
        length_cv : float
            Spread of wound length from ball to ball at the same turns [-]; in length and mass.
        within_cv : float
            Spread of count from ball to ball of one cone, moisture included [-].
        area_elasticity : float
            Relative change of wound length for a relative change of packed cross-section [-]; the
            elasticity of mass is one more.

        Returns
        -------
        Spreads
            The constants; raises `BadInput` where a spread is out of its range.
        """
        faults = [
            Fault(
                say("not a usable constant"),
                say(
                    "a number, {low:g} to {high:g}",
                    low=LEAST_NOISE_CV,
                    high=_WIDEST_CV,
                ),
                key=key,
                value=str(value),
            )
            for key, value in (("length_cv", length_cv), ("within_cv", within_cv))
            if not (_is_number(value) and LEAST_NOISE_CV <= value <= _WIDEST_CV)
        ]
        if faults:
            raise BadInput(faults)
        of_count = (area_elasticity, 1.0 + area_elasticity)
        chance, yarn = length_cv**2, within_cv**2
        length, both, mass = (
            chance + yarn * of_count[i] * of_count[j] for i, j in ((0, 0), (0, 1), (1, 1))
        )
        return cls(
            winder_cv=winder_cv,
            lot_cv=lot_cv,
            cone_cv=cone_cv,
            own_cov=((length, both), (both, mass)),
            scale_sd_g=scale_sd_g,
            reel_cv=reel_cv,
            length_elasticity=of_count[0],
            mass_elasticity=of_count[1],
        )

    @property
    def of_count(self) -> Floats:
        """Elasticities of length and of mass to count [-], shape (2,)."""
        return np.array([self.length_elasticity, self.mass_elasticity])


@dataclass(frozen=True, slots=True)
class FirstBall:
    """A ball taken off a winder, weighed and perhaps reeled off.

    Attributes
    ----------
    ball_id : str
        Its name; no ball is believed twice.
    winder : str
        The winder that wound it.
    cones : tuple of (str, float)
        The cones it came from with the share of its length from each; one cone with 1.0, or two
        when it holds a tie.
    turns : float
        Turns wound [-].
    mass_g : float
        Mass as weighed [g].
    length_m : float or None
        Length as measured [m]; None when it was only weighed.
    expected_mass_g : float
        Mass expected at these turns **before** any ball of the lot was weighed [g].
    expected_length_m : float
        Length expected at these turns before any ball of the lot was weighed [m].

    Notes
    -----
    Expected values are the ones of the first run card, never ones already corrected by a belief;
    otherwise the same deviation would be counted twice.
    """

    ball_id: str
    winder: str
    cones: tuple[tuple[str, float], ...]
    turns: float
    mass_g: float
    length_m: float | None
    expected_mass_g: float
    expected_length_m: float


def deviations(ball: FirstBall) -> Floats:
    """How far a ball came out from what was expected, in natural logarithms.

    Parameters
    ----------
    ball : FirstBall
        The ball.

    Returns
    -------
    ndarray, shape (2,) or (1,)
        Deviation of the length, then of the mass [-]; of the mass alone when only that is known.
    """
    mass = math.log(ball.mass_g / ball.expected_mass_g)
    if ball.length_m is None:
        return np.array([mass])
    return np.array([math.log(ball.length_m / ball.expected_length_m), mass])


def scatter(spreads: Spreads, expected_mass_g: float, *, with_length: bool) -> Floats:
    """Covariance of what one ball adds of its own: winding, yarn within the cone, measuring.

    Parameters
    ----------
    spreads : Spreads
        The constants.
    expected_mass_g : float
        Expected mass of the ball [g], to turn the scale's error into a fraction.
    with_length : bool
        Whether its length is measured.

    Returns
    -------
    ndarray, shape (2, 2) or (1, 1)
        Covariance of the deviations of length and mass, or of mass alone [-].

    Notes
    -----
    A ball that came out long by chance is heavy as well, so what a ball is by itself stands between
    length and mass too; errors of scale and reel do not. Source: DERIVED.
    """
    measuring = np.diag([spreads.reel_cv**2, (spreads.scale_sd_g / expected_mass_g) ** 2])
    both = np.array(spreads.own_cov) + measuring
    return both if with_length else both[1:, 1:]


def ball_faults(ball: FirstBall) -> list[Fault]:
    """Everything that is wrong with one ball by itself.

    Parameters
    ----------
    ball : FirstBall
        The ball.

    Returns
    -------
    list of Fault
        Empty when the ball can be used.

    Notes
    -----
    A ball more than twice or less than half of what was expected is refused: the belief holds for
    small deviations, and such a ball is the wrong ball or a number in the wrong unit.
    """
    section = f'ball "{ball.ball_id}"'
    faults = []
    if not ball.ball_id.strip():
        faults.append(Fault(say("a ball without a name"), say("a name of its own"), key="ball_id"))
    amounts = ["turns", "mass_g", "expected_mass_g", "expected_length_m"]
    amounts += [] if ball.length_m is None else ["length_m"]
    bad = [
        Fault(
            say("not an amount"),
            say("a number above 0"),
            section=section,
            key=key,
            value=str(value),
        )
        for key in amounts
        if not (_is_number(value := getattr(ball, key)) and value > 0.0)
    ]
    faults += bad
    if not bad:
        keys = ("mass_g",) if ball.length_m is None else ("length_m", "mass_g")
        limit = math.log(_WIDEST_RATIO)
        faults += [
            Fault(
                say("the wrong ball or the wrong unit"),
                expected=say(
                    "half to twice the expected {amount:g}",
                    amount=getattr(ball, "expected_" + key),
                ),
                section=section,
                key=key,
                value=f"{getattr(ball, key):g}",
            )
            for key, deviation in zip(keys, deviations(ball), strict=True)
            if abs(deviation) > limit
        ]
    return faults + _cone_faults(ball, section)


def _cone_faults(ball: FirstBall, section: str) -> list[Fault]:
    names = [name for name, _ in ball.cones]
    shares = [share for _, share in ball.cones]
    shown = joined(", ", (f"{name}: {share}" for name, share in ball.cones)) or "none"
    whole = say("one cone with 1, or two or more cones whose shares make 1")
    faults = []
    if not names or any(not name.strip() for name in names) or len(set(names)) < len(names):
        faults.append(
            Fault(
                say("cones that cannot be told apart"),
                whole,
                section=section,
                key="cones",
                value=shown,
            )
        )
    if any(not (_is_number(share) and 0.0 < share <= 1.0) for share in shares) or (
        shares and abs(sum(shares) - 1.0) > _SHARES_TOLERANCE
    ):
        faults.append(
            Fault(
                say("shares that do not make a ball"),
                whole,
                section=section,
                key="cones",
                value=shown,
            )
        )
    return faults


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _is_spread(pair: Pair) -> bool:
    """Whether a matrix can be the covariance of what one ball is by itself."""
    (length, both), (again, mass) = pair
    if not all(_is_number(value) for value in (length, both, again, mass)) or both != again:
        return False
    low, high = (1.0 - 1e-9) * LEAST_NOISE_CV**2, _WIDEST_CV**2
    return low <= length <= high and low <= mass <= high and both * both < length * mass
