"""A ball that was weighed: what is noted of it, and how far such a note can be trusted.

The spreads are the constants of the mill's belief (`clew.ball.belief`); here are their ranges, the
checks on a ball, its deviations in natural logarithms and the scatter of those deviations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from clew.ball.conditioning import Floats
from clew.faults import BadInput, Fault

_WIDEST_CV = 0.5
_LEAST_NOISE_CV = 1e-6
_WIDEST_RATIO = 2.0
_SHARES_TOLERANCE = 1e-6


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
    length_cv : float
        Spread of wound length from ball to ball of one winder at the same turns [-], 1e-6 to 0.5.
    within_cv : float
        Spread of mass per length from ball to ball of one cone, moisture included [-],
        1e-6 to 0.5.
    scale_sd_g : float
        Standard deviation of the scale [g], 0 or more.
    reel_cv : float
        Standard deviation of measuring a ball's length, as a fraction [-], 0 to 0.5.
    area_elasticity : float
        Relative change of wound length, at fixed turns, for a relative change of the yarn's packed
        cross-section [-], 0 to 1: a heavier yarn makes a bigger ball, and so a longer one.

    Raises
    ------
    BadInput
        If a constant is not a number in its range; every such constant is named.
    """

    winder_cv: float
    lot_cv: float
    cone_cv: float
    length_cv: float
    within_cv: float
    scale_sd_g: float
    reel_cv: float
    area_elasticity: float

    def __post_init__(self) -> None:
        limits = {
            "length_cv": (_LEAST_NOISE_CV, _WIDEST_CV),
            "within_cv": (_LEAST_NOISE_CV, _WIDEST_CV),
            "scale_sd_g": (0.0, math.inf),
            "area_elasticity": (0.0, 1.0),
        }
        faults = []
        for key in (field.name for field in fields(self)):
            low, high = limits.get(key, (0.0, _WIDEST_CV))
            value = getattr(self, key)
            if not (_is_number(value) and low <= value <= high):
                wanted = f"{low:g} or more" if math.isinf(high) else f"{low:g} to {high:g}"
                faults.append(
                    Fault("not a usable constant", f"a number, {wanted}", key=key, value=str(value))
                )
        if faults:
            raise BadInput(faults)


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


@dataclass(frozen=True, slots=True)
class SeenBall:
    """What a belief keeps of a ball that it has taken in.

    Attributes
    ----------
    ball_id, winder : str
        Its name and its winder.
    cones : tuple of str
        The cones it came from.
    with_length : bool
        Whether its length was measured.
    """

    ball_id: str
    winder: str
    cones: tuple[str, ...]
    with_length: bool


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
    A ball that came out long by chance is heavy by the same fraction, so the spread of length
    stands in both and between them. A ball whose own yarn is heavy is bigger and so a little
    longer as well, by the elasticity, just as a heavy cone or lot is. Source: DERIVED.
    """
    own = own_variance(spreads)
    measuring = np.diag([spreads.reel_cv**2, (spreads.scale_sd_g / expected_mass_g) ** 2])
    both = own + measuring
    return both if with_length else both[1:, 1:]


def own_variance(spreads: Spreads) -> Floats:
    """Covariance of what one ball is by itself, before anything is measured.

    Parameters
    ----------
    spreads : Spreads
        The constants.

    Returns
    -------
    ndarray, shape (2, 2)
        Covariance of the logarithms of length and mass about the mean of its cone and winder [-].
    """
    to_length_and_mass = np.array([spreads.area_elasticity, 1.0 + spreads.area_elasticity])
    yarn = spreads.within_cv**2 * np.outer(to_length_and_mass, to_length_and_mass)
    return np.asarray(spreads.length_cv**2 + yarn)


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
        faults.append(Fault("a ball without a name", "a name of its own", key="ball_id"))
    amounts = ["turns", "mass_g", "expected_mass_g", "expected_length_m"]
    amounts += [] if ball.length_m is None else ["length_m"]
    bad = [
        Fault("not an amount", "a number above 0", section=section, key=key, value=str(value))
        for key in amounts
        if not (_is_number(value := getattr(ball, key)) and value > 0.0)
    ]
    faults += bad
    if not bad:
        keys = ("mass_g",) if ball.length_m is None else ("length_m", "mass_g")
        limit = math.log(_WIDEST_RATIO)
        faults += [
            Fault(
                "the wrong ball or the wrong unit",
                expected=f"half to twice the expected {getattr(ball, 'expected_' + key):g}",
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
    shown = ", ".join(f"{name}: {share}" for name, share in ball.cones) or "none"
    whole = "one cone with 1, or two or more cones whose shares make 1"
    faults = []
    if not names or any(not name.strip() for name in names) or len(set(names)) < len(names):
        faults.append(
            Fault(
                "cones that cannot be told apart", whole, section=section, key="cones", value=shown
            )
        )
    if any(not (_is_number(share) and 0.0 < share <= 1.0) for share in shares) or (
        shares and abs(sum(shares) - 1.0) > _SHARES_TOLERANCE
    ):
        faults.append(
            Fault(
                "shares that do not make a ball", whole, section=section, key="cones", value=shown
            )
        )
    return faults


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
