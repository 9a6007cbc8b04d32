"""The winding of a ball, lap by lap, as one compiled loop.

With Q = r P (radius times radial pressure) and y = ln r, what one lap adds inside itself obeys
Q'' = (E_t / E_r) Q, with Q' = (1 + e) Q on the core and a known Q under the lap. The equation is
symmetric and has no first derivative, so plain central differences are second order.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def wound_moments(
    radii_mm: NDArray[np.float64],
    winding_stress_kpa: NDArray[np.float64],
    law: NDArray[np.float64],
    core_slope: float,
) -> NDArray[np.float64]:
    """Radius times radial pressure at every lap border, after the last lap.

    Parameters
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the laps from core to surface [mm], evenly spaced in their logarithm.
    winding_stress_kpa : array of float, shape (n + 1,)
        Winding stress at those radii [kPa].
    law : array of float, shape (4,)
        Hoop modulus [kPa]; c0 [kPa], c1 [-], c2 [1/kPa] of the radial modulus c0 + c1 P + c2 P2.
    core_slope : float
        1 + e = E_t / E_core + nu on the core [-].

    Returns
    -------
    array of float, shape (n + 1,)
        r P [mm kPa].

    Notes
    -----
    The surface is put at each border in turn and the border's share of the lap above and below it
    is added (the trapezoid rule over winding). The radial modulus of each step is taken at the
    pressure half a lap further on, foretold from the lap before. Both are second order in the lap.
    """
    n = radii_mm.shape[0] - 1
    hoop_modulus, c0, c1, c2 = law[0], law[1], law[2], law[3]
    step = np.log(radii_mm[n] / radii_mm[0]) / n
    moment = np.zeros(n + 1)
    added = np.zeros(n + 1)
    carry = np.zeros(n + 1)
    moment[0] = 0.5 * step * winding_stress_kpa[0] * radii_mm[0]
    added[0] = 2.0 * moment[0]
    for top in range(1, n + 1):
        for i in range(top):
            pressure = (moment[i] + 0.5 * added[i]) / radii_mm[i]
            radial = c0 + pressure * (c1 + pressure * c2)
            stiffness = step * step * hoop_modulus / radial
            if i == 0:
                carry[0] = 1.0 / (1.0 + step * core_slope + 0.5 * stiffness)
            else:
                carry[i] = 1.0 / (2.0 + stiffness - carry[i - 1])
        weight = step if top < n else 0.5 * step
        added[top] = weight * winding_stress_kpa[top] * radii_mm[top]
        for i in range(top - 1, -1, -1):
            added[i] = carry[i] * added[i + 1]
            moment[i] += added[i]
        if top < n:
            moment[top] = 0.5 * added[top]
    return moment


@njit(cache=True)
def spline_slopes(values: NDArray[np.float64], first: float, last: float) -> NDArray[np.float64]:
    """Slopes at the nodes of the smooth cubic through evenly spaced values, both end slopes known.

    Parameters
    ----------
    values : array of float, shape (n + 1,)
        Values.
    first, last : float
        Slopes at the two ends [per spacing].

    Returns
    -------
    array of float, shape (n + 1,)
        Slopes, per spacing.
    """
    n = values.shape[0] - 1
    slopes = np.empty(n + 1)
    carry = np.zeros(n + 1)
    slopes[0] = first
    slopes[n] = last
    for i in range(1, n):
        pivot = 1.0 / (4.0 - carry[i - 1])
        carry[i] = pivot
        slopes[i] = (3.0 * (values[i + 1] - values[i - 1]) - slopes[i - 1]) * pivot
    for i in range(n - 1, 0, -1):
        slopes[i] -= carry[i] * slopes[i + 1]
    return slopes
