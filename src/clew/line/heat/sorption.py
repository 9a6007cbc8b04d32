"""How much water yarn holds in damp air, and the heat that holds it: one law for all fibres."""

from __future__ import annotations

import math

from clew.faults import BadInput, Fault
from clew.languages import say

SATURATION_RATIO = 0.578 * (1.0 / 1.321 + 1.0 / 0.262)
"""Regain in saturated air over that at 65 % relative humidity [1]: the law at 1."""


def regain_ratio(relative_humidity: float) -> float:
    """Find regain over regain at 65 % relative humidity.

    Parameters
    ----------
    relative_humidity : float
        Relative humidity of the air, 0 to 1 [1].

    Returns
    -------
    float
        Regain over that at 65 % [1].

    Raises
    ------
    BadInput
        When the humidity is not a part of 1.

    Notes
    -----
    Validity: about one point of regain from 20 to 75 % relative humidity near 20 °C, poor at the
    ends, with no hysteresis; hot fibres hold less. Source: a formula commonly credited to Lotens
    and Gibson (formula READ in a public file, credit MEMORY).
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise BadInput(
            Fault(say("not a part of 1"), say("0 to 100 %"), key="relative humidity",
                  value=f"{relative_humidity:g}")
        )  # fmt: skip
    phi = relative_humidity
    return 0.578 * phi * (1.0 / (0.321 + phi) + 1.0 / (1.262 - phi))


def humidity_at_ratio(ratio: float) -> float:
    """Find the relative humidity at which yarn holds so much; 1 from saturation on.

    Parameters
    ----------
    ratio : float
        Regain over that at 65 % relative humidity [1].

    Returns
    -------
    float
        Relative humidity [1].

    Raises
    ------
    BadInput
        When the ratio is negative or not a number.
    """
    if not 0.0 <= ratio < math.inf:
        raise BadInput(Fault(say("a regain that cannot be meant"), say("0 or more"), key="regain"))
    if ratio >= SATURATION_RATIO:
        return 1.0
    # the ratio written as one fraction is a quadratic in the humidity; its root between 0 and 1
    part = 0.578 * (0.321 + 1.262) - (1.262 - 0.321) * ratio
    end = 0.321 * 1.262 * ratio
    root: float = 2.0 * end / (part + math.sqrt(part * part + 4.0 * ratio * end))
    return root


def binding_kj_per_kg(relative_humidity: float) -> float:
    """Find the heat that holds water in a fibre, above the latent heat.

    Parameters
    ----------
    relative_humidity : float
        Relative humidity the fibre is in balance with, 0 to 1 [1].

    Returns
    -------
    float
        Heat over the latent heat [kJ/kg water]; 0 at saturation.

    Raises
    ------
    BadInput
        When the humidity is not a part of 1.

    Notes
    -----
    Source: Q = 195 (1 - phi)(1/(0.2 + phi) + 1/(1.05 - phi)), as `regain_ratio`. Summed from dry to
    saturated it comes within 8 % of the heats of wetting of Morton & Hearle Table 8.1 for absorbing
    fibres, 23 % over for cotton (READ, COMPUTED).
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise BadInput(
            Fault(say("not a part of 1"), say("0 to 100 %"), key="relative humidity",
                  value=f"{relative_humidity:g}")
        )  # fmt: skip
    phi = relative_humidity
    return 195.0 * (1.0 - phi) * (1.0 / (0.2 + phi) + 1.0 / (1.05 - phi))


def binding_between_kj_per_kg(from_frac: float, to_frac: float, regain_65_frac: float) -> float:
    """Find the heat set free beyond the latent heat when a fibre's regain rises.

    Parameters
    ----------
    from_frac, to_frac : float
        Regain before and after; the heat is negative where it falls [1].
    regain_65_frac : float
        Regain at 65 % relative humidity [1].

    Returns
    -------
    float
        Heat [kJ/kg dry fibre].

    Raises
    ------
    BadInput
        When a regain cannot be meant.

    Notes
    -----
    Water beyond saturation is not bound. The integral of Q dR is taken over the relative humidity
    with 24 Gauss-Legendre points. Source: DERIVED.
    """
    low = humidity_at_ratio(from_frac / regain_65_frac)
    high = humidity_at_ratio(to_frac / regain_65_frac)
    if low == high:
        return 0.0
    total = 0.0
    for node, weight in NODES:
        phi = low + 0.5 * (high - low) * (node + 1.0)
        total += weight * binding_kj_per_kg(phi) * _slope(phi)
    return total * 0.5 * (high - low) * regain_65_frac


def _slope(phi: float) -> float:
    """Rise of `regain_ratio` with the relative humidity."""
    return 0.578 * (0.321 / (0.321 + phi) ** 2 + 1.262 / (1.262 - phi) ** 2)


def _gauss(points: int) -> tuple[tuple[float, float], ...]:
    """Nodes and weights of Gauss-Legendre, by Newton's method: no array library at start."""
    found = []
    for k in range(points):
        x = math.cos(math.pi * (k + 0.75) / (points + 0.5))
        slope = 1.0
        for _ in range(20):
            before, now = 1.0, x
            for n in range(2, points + 1):
                before, now = now, ((2 * n - 1) * x * now - (n - 1) * before) / n
            slope = points * (x * now - before) / (x * x - 1.0)
            x -= now / slope
        found.append((x, 2.0 / ((1.0 - x * x) * slope * slope)))
    return tuple(found)


NODES = _gauss(24)
"""Places and weights of the integral over a humidity, from −1 to 1."""
