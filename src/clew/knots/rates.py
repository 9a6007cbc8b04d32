"""How often the yarn broke: knots counted on cones of known mass and count, as a rate per km.

Lengths and rates are those of the yarn on the cone, before steam.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clew.faults import BadInput, Fault

Floats = npt.NDArray[np.float64]

MOST_KNOTS = 100_000
"""More knots than this on one cone is a slip of the pen, not a count."""
LONGEST_KM = 10_000.0
"""A longer cone [km] is a mass or a count in the wrong unit: 10 kg of 1 tex."""


@dataclass(frozen=True, slots=True)
class CountedCone:
    """A cone on which somebody counted the knots.

    Attributes
    ----------
    cone, supplier, dye_lot : str
        Its name, who spun it, its dye lot (may be empty).
    mass_g : float
        Mass of yarn on it [g], without the tube.
    count_tex : float
        Count of the yarn before steam [tex].
    knots : int
        Knots found on it; 0 counts as much as any other number.
    """

    cone: str
    supplier: str
    dye_lot: str
    mass_g: float
    count_tex: float
    knots: int

    @property
    def length_km(self) -> float:
        """Length of yarn on the cone [km]: mass over count."""
        return self.mass_g / self.count_tex


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate with its exact interval.

    Attributes
    ----------
    knots : int
        Knots counted.
    length_km : float
        Length they were counted on [km].
    per_km, low_per_km, high_per_km : float
        Rate and the ends of its interval [1/km].
    confidence : float
        Confidence of the interval, as a fraction.
    """

    knots: int
    length_km: float
    per_km: float
    low_per_km: float
    high_per_km: float
    confidence: float


def check_share(value: float, key: str) -> None:
    """Refuse a confidence, power or risk that is not strictly between 0 and 1."""
    if not 0.0 < value < 1.0:
        raise BadInput(Fault("not between 0 % and 100 %", "95 %, say", key=key, value=f"{value:g}"))


def poisson_interval(knots: float, *, confidence: float = 0.95) -> tuple[float, float]:
    """Find the exact interval of a Poisson mean from one count.

    Parameters
    ----------
    knots : float
        The count, 0 or more; a part of a knot where alike ones were counted as fewer [1].
    confidence : float
        Confidence wanted [1].

    Returns
    -------
    (float, float)
        Lower and upper end of the mean; the lower is 0 for a count of 0.

    Raises
    ------
    BadInput
        A negative count, or a confidence outside 0 to 1.

    Notes
    -----
    Each end leaves half of the risk on its side, at no count less than half: the interval covers at
    least as often as it says, and usually more often. A count of 0 keeps its half of the risk too.
    Source: F. Garwood, Fiducial limits for the Poisson distribution, Biometrika 28 (1936) (MEMORY);
    the ends are quantiles of chi-squared over two (READ in several printed calculators).
    """
    from scipy.special import gammaincinv

    check_share(confidence, "confidence")
    if knots < 0:
        raise BadInput(Fault("fewer than no knots", "0 or more", key="knots", value=f"{knots:g}"))
    risk = (1.0 - confidence) / 2.0
    low = 0.0 if knots == 0 else float(gammaincinv(knots, risk))
    return low, float(gammaincinv(knots + 1, 1.0 - risk))


def rate_of(knots: int, length_km: float, *, confidence: float = 0.95) -> Rate:
    """Find the rate of knots on a length, with its exact interval.

    Parameters
    ----------
    knots : int
        Knots counted, 0 or more.
    length_km : float
        Length they were counted on [km].
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Rate
        The rate and its interval per km.

    Raises
    ------
    BadInput
        A length that is not above 0, a negative count, a confidence outside 0 to 1.
    """
    if not (math.isfinite(length_km) and length_km > 0.0):
        raise BadInput(Fault("no length", "above 0 km", key="length", value=f"{length_km:g} km"))
    low, high = poisson_interval(knots, confidence=confidence)
    return Rate(knots, length_km, knots / length_km, low / length_km, high / length_km, confidence)


def _cone_faults(cone: CountedCone) -> list[Fault]:
    place = f'cone "{cone.cone}"'
    faults = [
        Fault("not a size", f"{key} above 0", section=place, key=key, value=f"{value:g}")
        for key, value in (("mass", cone.mass_g), ("count", cone.count_tex))
        if not (math.isfinite(value) and value > 0.0)
    ]
    if not 0 <= cone.knots <= MOST_KNOTS:
        expected = f"a whole number from 0 to {MOST_KNOTS}"
        faults.append(
            Fault("not a count", expected, section=place, key="knots", value=str(cone.knots))
        )
    if not faults and not 0.0 < cone.length_km <= LONGEST_KM:
        expected = f"a mass and a count that make at most {LONGEST_KM:g} km"
        value = f"{cone.length_km:.4g} km"
        faults.append(Fault("no cone is so long", expected, section=place, value=value))
    return faults


def check_cones(cones: Sequence[CountedCone]) -> None:
    """Refuse a log that no rate can be made of, naming every bad cone.

    Raises
    ------
    BadInput
        No cones, masses or counts that are not above 0, knots that are no count, a cone twice.
    """
    if not cones:
        raise BadInput(Fault("no cones", "at least one counted cone"))
    faults = [fault for cone in cones for fault in _cone_faults(cone)]
    seen: set[tuple[str, str, str]] = set()
    for cone in cones:
        name = (cone.supplier, cone.dye_lot, cone.cone)
        if name in seen:
            faults.append(Fault("a cone twice", "each once", section=f'cone "{cone.cone}"'))
        seen.add(name)
    if faults:
        raise BadInput(faults)


def pooled_rate(cones: Sequence[CountedCone], *, confidence: float = 0.95) -> Rate:
    """Pool all cones into one rate: all knots over all length.

    Parameters
    ----------
    cones : sequence of CountedCone
        The counted cones.
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Rate
        With the exact interval for knots that fall independently of each other.

    Raises
    ------
    BadInput
        As `check_cones`.

    Notes
    -----
    The interval is too narrow when cones differ among themselves; `clew.knots.rate_spread` says
    whether they do and gives the wider one.
    """
    check_cones(cones)
    return rate_of(
        sum(cone.knots for cone in cones),
        math.fsum(cone.length_km for cone in cones),
        confidence=confidence,
    )


def as_arrays(cones: Sequence[CountedCone]) -> tuple[Floats, Floats]:
    """Give knots and lengths [km] of the cones as two arrays of one shape."""
    return (
        np.array([cone.knots for cone in cones], dtype=np.float64),
        np.array([cone.length_km for cone in cones], dtype=np.float64),
    )
