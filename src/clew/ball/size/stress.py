"""Stress in a wound ball on its mandrel: radial pressure and hoop stress, built up lap by lap.

The ball is taken as a thick-walled cylinder of laps, far stiffer along the strand (hoop) than
across it (radial). Each lap presses the laps under it and so takes tension out of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from clew.ball.size.stress_kernel import spline_slopes, wound_moments
from clew.faults import BadInput, Fault
from clew.languages import say

FEWEST_LAPS = 4
"""Fewest computed laps: below it the boundary layers at core and surface cannot be seen."""
MOST_LAPS = 5000
"""Most computed laps: the time grows with their square."""


@dataclass(frozen=True, slots=True)
class RadialModulus:
    """How stiff the pack is through its thickness, rising with pressure.

    Attributes
    ----------
    c0_kpa : float
        Radial modulus at no pressure [kPa], above 0.
    c1 : float
        Rise with pressure [-], 0 or more.
    c2_per_kpa : float
        Rise with pressure squared [1/kPa], 0 or more.

    Raises
    ------
    BadInput
        If a coefficient is out of its range.

    Notes
    -----
    E_r = c0 + c1 P + c2 P2. For a random fibre mass whose pressure is linear in the inverse cube of
    its volume, dP/d(-ln V) = 3 (P + p0): c1 is 3 and c0 is 3 p0. Source: the law, van Wyk on the
    compressibility of wool (abstract READ, University of Pretoria repository 2263/59727; the cube
    is questioned by doi 10.1177/00405175211017402, abstract READ); the coefficients are DERIVED.
    """

    c0_kpa: float
    c1: float = 0.0
    c2_per_kpa: float = 0.0

    def __post_init__(self) -> None:
        faults = []
        if not (math.isfinite(self.c0_kpa) and self.c0_kpa > 0.0):
            faults.append(_fault("c0_kpa", self.c0_kpa, say("a modulus above 0 kPa")))
        for key in ("c1", "c2_per_kpa"):
            value = getattr(self, key)
            if not (math.isfinite(value) and value >= 0.0):
                faults.append(_fault(key, value, say("a number of 0 or more")))
        if faults:
            raise BadInput(faults)


@dataclass(frozen=True, slots=True)
class Pack:
    """What the wound strand is, as a body.

    Attributes
    ----------
    hoop_modulus_kpa : float
        Modulus along the strand's way round the ball [kPa], above 0.
    radial : RadialModulus
        Modulus through the thickness.
    poisson_frac : float
        Hoop shortening for a radial pressure, as a share of E_t strain [-], 0 to below 0.5.

    Raises
    ------
    BadInput
        If a value is out of its range.
    """

    hoop_modulus_kpa: float
    radial: RadialModulus
    poisson_frac: float = 0.0

    def __post_init__(self) -> None:
        faults = []
        if not (math.isfinite(self.hoop_modulus_kpa) and self.hoop_modulus_kpa > 0.0):
            faults.append(
                _fault("hoop_modulus_kpa", self.hoop_modulus_kpa, say("a modulus above 0 kPa"))
            )
        if not 0.0 <= self.poisson_frac < 0.5:
            faults.append(
                _fault("poisson_frac", self.poisson_frac, say("a ratio from 0 to below 0.5"))
            )
        if faults:
            raise BadInput(faults)


@dataclass(frozen=True, slots=True, eq=False)
class WoundStress:
    """Stress in the wound ball, on the mandrel.

    Attributes
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the computed laps, from core to surface [mm].
    pressure_kpa : array of float, shape (n + 1,)
        Radial pressure there [kPa]; 0 at the surface.
    hoop_kpa : array of float, shape (n + 1,)
        Hoop stress there [kPa], tension positive.
    """

    radii_mm: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]
    hoop_kpa: NDArray[np.float64]

    def at(self, radii_mm: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Radial pressure and hoop stress at given radii.

        Parameters
        ----------
        radii_mm : array_like of float, shape (m,)
            Radii between core and surface [mm].

        Returns
        -------
        tuple of array of float, shape (m,)
            Radial pressure [kPa] and hoop stress [kPa].

        Raises
        ------
        BadInput
            If a radius lies outside the ball's wall.

        Notes
        -----
        Between lap borders r P is a cubic spline in ln r and the hoop stress is its slope, so that
        the balance of forces holds between borders too.
        Source: DERIVED.
        """
        wanted = np.atleast_1d(np.asarray(radii_mm, dtype=float))
        first, last = float(self.radii_mm[0]), float(self.radii_mm[-1])
        slack = 1e-9 * last
        if not bool(np.all((wanted >= first - slack) & (wanted <= last + slack))):
            raise BadInput(
                _fault(
                    "radii_mm",
                    wanted.tolist(),
                    say("radii from {first:g} to {last:g} mm", first=first, last=last),
                )
            )
        wanted = np.clip(wanted, first, last)
        count = self.radii_mm.size - 1
        step = math.log(last / first) / count
        place = np.log(wanted / first) / step
        cell = np.clip(place.astype(int), 0, count - 1)
        part = place - cell
        moment = self.radii_mm * self.pressure_kpa
        slope = -step * self.radii_mm * self.hoop_kpa
        m0, m1, s0, s1 = moment[cell], moment[cell + 1], slope[cell], slope[cell + 1]
        rise = m1 - m0
        a3 = s0 + s1 - 2.0 * rise
        a2 = 3.0 * rise - 2.0 * s0 - s1
        value = m0 + part * (s0 + part * (a2 + part * a3))
        change = s0 + part * (2.0 * a2 + 3.0 * part * a3)
        return value / wanted, -change / (step * wanted)


def wound_stress(
    bore_radius_mm: float,
    outer_radius_mm: float,
    winding_stress_kpa: ArrayLike,
    pack: Pack,
    *,
    core_modulus_kpa: float = math.inf,
    laps: int = 200,
) -> WoundStress:
    """Radial pressure and hoop stress in a ball wound on a core.

    Parameters
    ----------
    bore_radius_mm : float
        Radius of the mandrel [mm].
    outer_radius_mm : float
        Radius of the wound ball [mm].
    winding_stress_kpa : float or array_like of float, shape (m,)
        Winding stress [kPa]: one value, or one for each of m laps of equal thickness from the
        mandrel outwards (a tension that tapers).
    pack : Pack
        What the wound strand is, as a body.
    core_modulus_kpa : float
        Pressure on the mandrel over its hoop strain [kPa]; infinite for a rigid one.
    laps : int
        Computed laps, 4 to 5000, each a fixed ratio of radii thick; they need not be real laps.

    Returns
    -------
    WoundStress
        Pressure and hoop stress at the lap borders.

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    A lap adds pressure that obeys r2 P'' + 3 r P' - (E_t / E_r - 1) P = 0 inside it, with
    r P' = (E_t / E_core - 1 + nu) P on the core and P = s_w dr / r under the lap; E_r is brought up
    to date lap by lap. Hoop stress is -(P + r P') of the sum and already holds the winding stress.
    Second order in 1 / laps. Valid for small strains of an elastic cylinder in plane stress that
    carries hoop compression: a ball is none of these, so read trends only.
    Source: form of the equations MEMORY (Hakiel 1987), checked by DERIVATION and closed forms.
    """
    check_wall(bore_radius_mm, outer_radius_mm, core_modulus_kpa, laps)
    radii = bore_radius_mm * (outer_radius_mm / bore_radius_mm) ** (np.arange(laps + 1) / laps)
    radii[-1] = outer_radius_mm
    stress = stress_by_lap(radii, bore_radius_mm, outer_radius_mm, winding_stress_kpa)
    core_slope = pack.hoop_modulus_kpa / core_modulus_kpa + pack.poisson_frac
    radial = pack.radial
    law = np.array([pack.hoop_modulus_kpa, radial.c0_kpa, radial.c1, radial.c2_per_kpa])
    moment = wound_moments(radii, stress, law, core_slope)
    step = math.log(outer_radius_mm / bore_radius_mm) / laps
    at_core = stress[0] - core_slope * moment[0] / radii[0]
    at_surface = stress[-1]
    slopes = spline_slopes(moment, -step * radii[0] * at_core, -step * radii[-1] * at_surface)
    hoop = -slopes / (step * radii)
    return WoundStress(radii_mm=radii, pressure_kpa=moment / radii, hoop_kpa=hoop)


def stress_by_lap(
    radii_mm: NDArray[np.float64],
    bore_radius_mm: float,
    outer_radius_mm: float,
    winding_stress_kpa: ArrayLike,
) -> NDArray[np.float64]:
    """Winding stress at given radii, from one value or from one for each lap of equal thickness.

    Parameters
    ----------
    radii_mm : array of float, shape (n,)
        Radii in the wall [mm].
    bore_radius_mm, outer_radius_mm : float
        Radius of the mandrel and of the wound ball [mm].
    winding_stress_kpa : float or array_like of float, shape (m,)
        One value, or one for each of m equal laps from the mandrel outwards [kPa].

    Returns
    -------
    array of float, shape (n,)
        Winding stress [kPa], linear between the middles of the given laps.

    Raises
    ------
    BadInput
        If a stress is below 0 or not finite, or there is none.
    """
    given = np.atleast_1d(np.asarray(winding_stress_kpa, dtype=float))
    if given.ndim != 1 or given.size == 0 or not bool(np.all(np.isfinite(given) & (given >= 0.0))):
        raise BadInput(
            _fault("winding_stress_kpa", given.tolist(), say("0 kPa or more, or a row of such"))
        )
    middle = (np.arange(given.size) + 0.5) / given.size
    depth = (radii_mm - bore_radius_mm) / (outer_radius_mm - bore_radius_mm)
    return np.asarray(np.interp(depth, middle, given))


def check_wall(
    bore_radius_mm: float, outer_radius_mm: float, core_modulus_kpa: float, laps: int
) -> None:
    """Refuse a wall that cannot be wound.

    Parameters
    ----------
    bore_radius_mm, outer_radius_mm : float
        Radius of the mandrel and of the wound ball [mm].
    core_modulus_kpa : float
        Stiffness of the mandrel [kPa].
    laps : int
        Computed laps.

    Raises
    ------
    BadInput
        With every fault found.
    """
    faults = []
    if not (math.isfinite(bore_radius_mm) and bore_radius_mm > 0.0):
        faults.append(_fault("bore_radius_mm", bore_radius_mm, say("a radius above 0 mm")))
    elif not (math.isfinite(outer_radius_mm) and outer_radius_mm > bore_radius_mm):
        expected = say(
            "a radius above the bore's {bore_radius_mm:g} mm", bore_radius_mm=bore_radius_mm
        )
        faults.append(_fault("outer_radius_mm", outer_radius_mm, expected))
    if not core_modulus_kpa > 0.0:
        faults.append(_fault("core_modulus_kpa", core_modulus_kpa, say("above 0 kPa, or infinity")))
    if not FEWEST_LAPS <= laps <= MOST_LAPS:
        faults.append(
            _fault(
                "laps",
                laps,
                say("{fewest} to {most}", fewest=FEWEST_LAPS, most=MOST_LAPS),
            )
        )
    if faults:
        raise BadInput(faults)


def _fault(key: str, value: object, expected: str) -> Fault:
    text = str(value)
    return Fault(say("out of range"), expected=expected, key=key, value=text[:60])
