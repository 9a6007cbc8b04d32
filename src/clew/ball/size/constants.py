"""The constants of a ball's shape: as stated ranges, as single values, as measured.

Nobody has published them for balls. Until three balls have been measured they are ranges, and what
is computed from them is a range.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say


@dataclass(frozen=True, slots=True)
class Span:
    """From one value to another.

    Attributes
    ----------
    low, high : float
        The two ends, low not above high.
    """

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ShapeValues:
    """One value of each constant.

    Attributes
    ----------
    hoop_modulus_kpa : float
        Hoop modulus of the wound strand [kPa].
    radial_c0_kpa : float
        Radial modulus at no pressure [kPa].
    radial_c1 : float
        Rise of the radial modulus with pressure [-].
    relaxation_frac : float
        Share of its tension that the strand loses at rest [-].
    swelling_frac : float
        Share by which the wall thickens at rest of its own accord, as crushed bulk comes back [-].
    width_share : float
        Relative change of width over relative change of diameter [-].
    pressing_set_frac : float
        Share of the flattening that stays when the plates open [-].
    """

    hoop_modulus_kpa: float
    radial_c0_kpa: float
    radial_c1: float
    relaxation_frac: float
    swelling_frac: float
    width_share: float
    pressing_set_frac: float


NAMES: tuple[str, ...] = tuple(field.name for field in fields(ShapeValues))
"""The constants, in their order."""
_LOG = ("hoop_modulus_kpa", "radial_c0_kpa", "radial_c1")
_LOGIT = ("relaxation_frac", "pressing_set_frac")


@dataclass(frozen=True, slots=True)
class ShapeConstants:
    """Stated range of each constant.

    Attributes
    ----------
    hoop_modulus_kpa : Span
        [kPa]. Default from strand moduli of 9 to 50 cN/tex, packs of 100 to 300 kg/m3 and winds of
        25 to 45 degrees; put the yarn's own in with `clew.ball.tension.hoop_modulus_kpa`.
    radial_c0_kpa : Span
        [kPa]. Default assumed.
    radial_c1 : Span
        [-]. Default around the 3 of a random fibre mass (see `RadialModulus`).
    relaxation_frac : Span
        [-], within 0 to 1. Default assumed.
    swelling_frac : Span
        [-]. Default assumed.
    width_share : Span
        [-]. Default assumed: from a width that stays to one that changes faster than the diameter.
    pressing_set_frac : Span
        [-], within 0 to 1. Default assumed.

    Raises
    ------
    BadInput
        If a range is upside down or leaves what is possible.

    Notes
    -----
    Every default is common practice, no published source. Source: assumed.
    """

    hoop_modulus_kpa: Span = Span(3e3, 1e5)
    radial_c0_kpa: Span = Span(5.0, 60.0)
    radial_c1: Span = Span(2.0, 6.0)
    relaxation_frac: Span = Span(0.1, 0.5)
    swelling_frac: Span = Span(0.0, 0.05)
    width_share: Span = Span(0.0, 1.5)
    pressing_set_frac: Span = Span(0.3, 0.9)

    def __post_init__(self) -> None:
        faults = []
        for name in NAMES:
            span: Span = getattr(self, name)
            lowest, highest, words = _limits(name)
            whole = math.isfinite(span.low) and math.isfinite(span.high)
            if not (whole and lowest <= span.low <= span.high <= highest):
                faults.append(
                    Fault(
                        say("not a usable range"),
                        expected=say("{numbers}, the lower end first", numbers=words),
                        key=name,
                        value=f"{span.low} to {span.high}",
                    )
                )
        if faults:
            raise BadInput(faults)

    def span(self, name: str) -> Span:
        """Range of a constant by its name."""
        span: Span = getattr(self, name)
        return span


@dataclass(frozen=True, slots=True, eq=False)
class FittedConstants:
    """Constants as measured balls tell them, with what remains open.

    Attributes
    ----------
    best : ShapeValues
        Most credible value of each.
    scaled_covariance : array of float, shape (7, 7)
        Their covariance on the working scale: logarithm of moduli, log-odds of shares, else plain.
    told_frac : dict of str to float
        For each constant, how much of the stated doubt the balls have removed [-]: 0 where they say
        nothing, near 1 where they settle it.
    interval_95 : dict of str to Span
        For each constant, where it lies with 95 % credence.
    balls : int
        Measured balls.
    scatter_mm : float
        Root mean square of what the fit leaves over [mm].
    """

    best: ShapeValues
    scaled_covariance: NDArray[np.float64]
    told_frac: dict[str, float]
    interval_95: dict[str, Span]
    balls: int
    scatter_mm: float


def to_scale(name: str, value: float) -> float:
    """Put a constant on the scale on which its doubt is even.

    Parameters
    ----------
    name : str
        Name of the constant.
    value : float
        Its value [its own unit].

    Returns
    -------
    float
        Logarithm of a modulus, log-odds of a share, else the value itself.
    """
    if name in _LOG:
        return math.log(value)
    if name in _LOGIT:
        held = min(max(value, 1e-3), 1.0 - 1e-3)
        return math.log(held / (1.0 - held))
    return value


def from_scale(name: str, scaled: float) -> float:
    """Undo `to_scale`.

    Parameters
    ----------
    name : str
        Name of the constant.
    scaled : float
        Value on the working scale [-].

    Returns
    -------
    float
        The constant in its own unit.
    """
    if name in _LOG:
        return math.exp(scaled)
    if name in _LOGIT:
        return 1.0 / (1.0 + math.exp(-scaled))
    return scaled


def values_from_scale(scaled: NDArray[np.float64]) -> ShapeValues:
    """Constants from their places on the working scale.

    Parameters
    ----------
    scaled : array of float, shape (7,)
        Working-scale values in the order of `NAMES`.

    Returns
    -------
    ShapeValues
        The constants in their own units.
    """
    return ShapeValues(
        **{name: from_scale(name, float(place)) for name, place in zip(NAMES, scaled, strict=True)}
    )


def _limits(name: str) -> tuple[float, float, str]:
    if name in _LOG:
        return 1e-6, 1e9, say("numbers above 0")
    if name in _LOGIT:
        return 0.0, 0.999, say("shares from 0 to below 1")
    if name == "swelling_frac":
        return -0.2, 1.0, say("shares from -0.2 to 1")
    return -2.0, 5.0, say("numbers from -2 to 5")
