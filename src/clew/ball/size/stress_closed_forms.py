"""Wound stress where it has an exact answer: the closed forms that the lap-by-lap sum is held to.

Every function takes lengths in one unit and stresses in one unit; results are in the same units.
Pressure is positive in compression, hoop stress positive in tension.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Curves = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Radial pressure and hoop stress at the given radii."""

_GAUSS_POINTS = 96
"""Points of the integral over winding: its integrand is smooth in ln s, so this is beyond need."""


def isotropic_on_rigid_core(
    radii: ArrayLike, bore: float, outer: float, winding_stress: float, poisson_frac: float
) -> Curves:
    """Stress in an isotropic pack wound on a rigid core.

    Parameters
    ----------
    radii : array_like of float, shape (n,)
        Radii [mm].
    bore, outer : float
        Radius of the core and of the surface [mm].
    winding_stress : float
        Winding stress [kPa].
    poisson_frac : float
        Poisson's ratio [-].

    Returns
    -------
    tuple of array of float, shape (n,)
        Radial pressure and hoop stress [kPa].

    Notes
    -----
    k = (1 - nu)/(1 + nu); P = s/2 (1 + k a2/r2) ln[(b2 + k a2)/(r2 + k a2)];
    hoop = s - s/2 (1 - k a2/r2) ln[...]. Source: DERIVED by superposing Lame's solution.
    """
    r = np.asarray(radii, dtype=float)
    k = (1.0 - poisson_frac) / (1.0 + poisson_frac)
    inner = k * bore**2
    log = np.log((outer**2 + inner) / (r**2 + inner))
    pressure = 0.5 * winding_stress * (1.0 + inner / r**2) * log
    hoop = winding_stress * (1.0 - 0.5 * (1.0 - inner / r**2) * log)
    return pressure, hoop


def isotropic_on_free_bore(
    radii: ArrayLike, bore: float, outer: float, winding_stress: float
) -> Curves:
    """Stress in an isotropic pack wound on nothing: a thin, free, bored start of itself.

    Parameters
    ----------
    radii : array_like of float, shape (n,)
        Radii above the bore [mm]; at the bore itself the hoop stress has no limit.
    bore, outer : float
        Radius of the bore and of the surface [mm].
    winding_stress : float
        Winding stress [kPa].

    Returns
    -------
    tuple of array of float, shape (n,)
        Radial pressure and hoop stress [kPa].

    Notes
    -----
    P = s/2 (1 - a2/r2) ln[(b2 - a2)/(r2 - a2)]; hoop = s - s/2 (1 + a2/r2) ln[...].
    Source: DERIVED by superposing Lame's solution.
    """
    r = np.asarray(radii, dtype=float)
    log = np.log((outer**2 - bore**2) / (r**2 - bore**2))
    pressure = 0.5 * winding_stress * (1.0 - bore**2 / r**2) * log
    hoop = winding_stress * (1.0 - 0.5 * (1.0 + bore**2 / r**2) * log)
    return pressure, hoop


def orthotropic_on_core(
    radii: ArrayLike,
    bore: float,
    outer: float,
    winding_stress: float,
    *,
    stiffness_root: float,
    core_slope: float,
) -> Curves:
    """Stress in a pack of constant, unlike moduli wound on an elastic core.

    Parameters
    ----------
    radii : array_like of float, shape (n,)
        Radii [mm].
    bore, outer : float
        Radius of the core and of the surface [mm].
    winding_stress : float
        Winding stress [kPa].
    stiffness_root : float
        g, the root of hoop modulus over radial modulus [-].
    core_slope : float
        e = E_t / E_core - 1 + nu [-].

    Returns
    -------
    tuple of array of float, shape (n,)
        Radial pressure and hoop stress [kPa].

    Notes
    -----
    P(r) = phi(x) Int_x^X s ds / (s phi(s)), phi = x^(g-1) + B x^(-g-1), x = r/a,
    B = (g-1-e)/(g+1+e); hoop = s - P (1 + x phi'/phi). The integral is done by Gauss's rule in
    ln s. Source: DERIVED from the equations of `clew.ball.size.stress`.
    """
    r = np.atleast_1d(np.asarray(radii, dtype=float))
    g, e = stiffness_root, core_slope
    b = (g - 1.0 - e) / (g + 1.0 + e)
    points, weights = np.polynomial.legendre.leggauss(_GAUSS_POINTS)
    low = np.log(r / bore)
    half = 0.5 * (math.log(outer / bore) - low)
    y = low[:, None] + half[:, None] * (points + 1.0)

    def relative(log_x: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give phi(r)/phi(s), with the common power taken out so that nothing overflows."""
        top = 1.0 + b * np.exp(-2.0 * g * low[:, None])
        below = 1.0 + b * np.exp(-2.0 * g * log_x)
        return np.exp((g - 1.0) * (low[:, None] - log_x)) * top / below

    pressure = winding_stress * half * (relative(y) @ weights)
    fade = b * np.exp(-2.0 * g * low)
    growth = (g - 1.0 - (g + 1.0) * fade) / (1.0 + fade)
    return pressure, winding_stress - pressure * (1.0 + growth)


def bore_pressure_lame(radii: ArrayLike, bore: float, outer: float, pressure: float) -> Curves:
    """Stress of a pressure in the bore of an isotropic thick-walled cylinder.

    Parameters
    ----------
    radii : array_like of float, shape (n,)
        Radii [mm].
    bore, outer : float
        Radius of the bore and of the surface [mm].
    pressure : float
        Pressure in the bore [kPa].

    Returns
    -------
    tuple of array of float, shape (n,)
        Radial pressure and hoop stress [kPa].

    Notes
    -----
    P = p a2/(b2 - a2) (b2/r2 - 1); hoop = p a2/(b2 - a2) (b2/r2 + 1). Source: MEMORY (Lame), with
    worked numbers COMPUTED.
    """
    r = np.asarray(radii, dtype=float)
    share = pressure * bore**2 / (outer**2 - bore**2)
    return share * (outer**2 / r**2 - 1.0), share * (outer**2 / r**2 + 1.0)


def bore_growth_lame(
    bore: float, outer: float, pressure: float, modulus: float, poisson_frac: float
) -> float:
    """Widening of an isotropic bore under a pressure in it, as a radius.

    Parameters
    ----------
    bore, outer : float
        Radius of the bore and of the surface [mm].
    pressure : float
        Pressure in the bore [kPa].
    modulus : float
        Young's modulus [kPa].
    poisson_frac : float
        Poisson's ratio [-].

    Returns
    -------
    float
        Outward movement of the bore's wall [mm].

    Notes
    -----
    u = (a p/E) ((b2 + a2)/(b2 - a2) + nu). Source: MEMORY (Lame), with worked numbers COMPUTED.
    """
    ratio = (outer**2 + bore**2) / (outer**2 - bore**2)
    return bore * pressure / modulus * (ratio + poisson_frac)


def bore_pressure_removed(
    radii: ArrayLike, bore: float, outer: float, pressure: float, stiffness_root: float
) -> Curves:
    """Change of stress when the pressure on the bore is taken away.

    Parameters
    ----------
    radii : array_like of float, shape (n,)
        Radii [mm].
    bore, outer : float
        Radius of the bore and of the surface [mm].
    pressure : float
        Pressure of the pack on its mandrel before [kPa].
    stiffness_root : float
        g, the root of hoop modulus over radial modulus [-]; 1 for an isotropic pack.

    Returns
    -------
    tuple of array of float, shape (n,)
        Change of radial pressure and of hoop stress [kPa].

    Notes
    -----
    dP = -p (a/r) sinh(g ln(b/r))/sinh(g ln(b/a)); d(hoop) = -p (a/r) g cosh(...)/sinh(...); at the
    bore the hoop stress falls by g p (X^2g + 1)/(X^2g - 1), X = b/a. Valid for constant moduli
    and hoops that carry compression. Source: DERIVED.
    """
    r = np.asarray(radii, dtype=float)
    g = stiffness_root
    whole = math.log(outer / bore)
    below = np.log(r / bore)
    fade, total = np.exp(-g * below), 1.0 - math.exp(-2.0 * g * whole)
    back = np.exp(-2.0 * g * (whole - below))
    share = pressure * bore / r * fade / total
    return -share * (1.0 - back), -share * g * (1.0 + back)


def bore_strain_removed(
    bore: float,
    outer: float,
    pressure: float,
    *,
    hoop_modulus: float,
    stiffness_root: float,
    poisson_frac: float,
) -> float:
    """Strain of the bore when the pressure on it is taken away.

    Parameters
    ----------
    bore, outer : float
        Radius of the bore and of the surface [mm].
    pressure : float
        Pressure of the pack on its mandrel before [kPa].
    hoop_modulus : float
        Hoop modulus [kPa].
    stiffness_root : float
        g, the root of hoop modulus over radial modulus [-].
    poisson_frac : float
        Hoop strain for a radial pressure, as a share of P / E_t [-].

    Returns
    -------
    float
        Change of the bore over the bore [-], negative.

    Notes
    -----
    u/a = (d(hoop) - nu p)/E_t at the bore. Same validity as `bore_pressure_removed`.
    Source: DERIVED.
    """
    _, hoop = bore_pressure_removed(np.array([bore]), bore, outer, pressure, stiffness_root)
    return (float(hoop[0]) - poisson_frac * pressure) / hoop_modulus
