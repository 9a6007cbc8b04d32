"""Formulas of length and growth: what the numeric ball must come down to.

They also answer by themselves where a sphere or a cylinder is near enough. Lengths per turn follow
the strand's centre; growth is continuous, without single layers. The formulas of angle and speed
are those of `clew.ball.wind.winding_angles`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.ball.wind.winding_angles import (
    WindSpeeds,
    coil_angle_deg,
    gain_mm,
    require_positive,
    ribbon_diameter_mm,
    slip_on_sphere,
    traverse_speed_m_min,
    wind_speeds,
)
from clew.faults import BadInput, Fault
from clew.languages import say

__all__ = [
    "Growth",
    "WindSpeeds",
    "coil_angle_deg",
    "cylinder_growth",
    "gain_mm",
    "helix_coil_mm",
    "helix_package_diameter_mm",
    "ribbon_diameter_mm",
    "slip_on_sphere",
    "sphere_growth",
    "tilted_coil_on_cylinder_mm",
    "tilted_coil_on_sphere_mm",
    "traverse_speed_m_min",
    "wind_speeds",
]


def helix_coil_mm(diameter_mm: float, angle_of_wind_deg: float) -> float:
    """Find the length of one coil of a helix on a cylinder.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the cylinder [mm].
    angle_of_wind_deg : float
        Angle of the strand from the circumference [deg].

    Returns
    -------
    float
        pi D/cos(theta) [mm].

    Raises
    ------
    BadInput
        For a diameter that is not positive.

    Notes
    -----
    Source: DERIVED.
    """
    require_positive(diameter_mm=diameter_mm)
    return math.pi * diameter_mm / math.cos(math.radians(angle_of_wind_deg))


def tilted_coil_on_cylinder_mm(radius_mm: float, tilt_deg: float) -> float:
    """Find the length of a plane coil tilted on a cylinder [mm].

    Parameters
    ----------
    radius_mm : float
        Radius of the cylinder [mm].
    tilt_deg : float
        Tilt of the plane from square to the axis [deg], below 90.

    Returns
    -------
    float
        Perimeter of the ellipse with half axes r and r/cos(b): 4 (r/cos b) E(sin^2 b) [mm].

    Raises
    ------
    BadInput
        For a radius that is not positive or a tilt outside 0 to 90.

    Notes
    -----
    The ball at rest (wind ratio infinite) and the strand on the bare mandrel. Source: DERIVED.
    """
    from scipy.special import ellipe

    require_positive(radius_mm=radius_mm)
    if not 0.0 <= tilt_deg < 90.0:
        raise BadInput(
            Fault(say("out of range"), say("0 to below 90"), key="tilt_deg", value=f"{tilt_deg:g}")
        )
    tilt = math.radians(tilt_deg)
    return float(4.0 * radius_mm / math.cos(tilt) * ellipe(math.sin(tilt) ** 2))


def tilted_coil_on_sphere_mm(radius_mm: float, tilt_deg: float, wind_ratio: float) -> float:
    """Find the length of one flyer turn on a turning sphere [mm].

    Parameters
    ----------
    radius_mm : float
        Radius of the sphere [mm].
    tilt_deg : float
        Tilt of the flyer's plane [deg].
    wind_ratio : float
        Flyer turns per ball turn, negative when they turn against each other [-].

    Returns
    -------
    float
        4 R sqrt(A) E(m), A = 1 - 2 cos(b)/r + 1/r^2, m = sin^2(b)/(r^2 A) [mm].

    Notes
    -----
    To first order 2 pi R (1 - cos(b)/r); a ball at rest gives the great circle. Source: DERIVED.
    """
    from scipy.special import ellipe

    require_positive(radius_mm=radius_mm)
    tilt = math.radians(tilt_deg)
    inverse = 1.0 / wind_ratio
    square = 1.0 - 2.0 * inverse * math.cos(tilt) + inverse * inverse
    if square <= 0.0:
        return 0.0
    modulus = (inverse * math.sin(tilt)) ** 2 / square
    return float(4.0 * radius_mm * math.sqrt(square) * ellipe(min(modulus, 1.0)))


def helix_package_diameter_mm(bare_diameter_mm: float, width_mm: float, volume_mm3: float) -> float:
    """Find the diameter of a cylindrical package from its packed volume.

    Parameters
    ----------
    bare_diameter_mm, width_mm : float
        Diameter of the bare tube, and width of the package [mm].
    volume_mm3 : float
        Packed volume of the yarn [mm^3].

    Returns
    -------
    float
        Diameter [mm], whatever the angle of wind.

    Raises
    ------
    BadInput
        For a width that is not positive.

    Notes
    -----
    D^2 = d^2 + 4 V/(pi w). Source: DERIVED.
    """
    require_positive(width_mm=width_mm)
    return math.sqrt(bare_diameter_mm**2 + 4.0 * volume_mm3 / (math.pi * width_mm))


@dataclass(frozen=True, slots=True)
class Growth:
    """A package grown by a formula.

    Attributes
    ----------
    turns : float
        Turns wound [-].
    length_m : float
        Length wound [m].
    radius_mm : float
        Radius reached [mm].
    elasticity_to_area : float
        Relative change of length at the same turns per relative change of strand area [-].
    elasticity_to_turns : float
        Relative change of length per relative change of turns, the area the same [-].
    """

    turns: float
    length_m: float
    radius_mm: float
    elasticity_to_area: float
    elasticity_to_turns: float


def sphere_growth(
    core_radius_mm: float,
    area_mm2: float,
    *,
    turns: float | None = None,
    length_m: float | None = None,
) -> Growth:
    """Grow a sphere by great circles laid evenly over it.

    Parameters
    ----------
    core_radius_mm : float
        Radius to start from, 0 allowed [mm].
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_m : float, optional
        Turns [-] or length [m]; exactly one.

    Returns
    -------
    Growth
        Turns, length, radius and elasticities.

    Raises
    ------
    BadInput
        For a negative core, an area, number of turns or length that is not positive, or both.

    Notes
    -----
    R^2 = r0^2 + a n; L = (4 pi/3a)(R^3 - r0^3). A bulkier strand at the same turns gives more
    length: the elasticity is -1 + 1.5 R (R^2 - r0^2)/(R^3 - r0^3), a half without a core.
    Source: DERIVED.
    """
    _check_growth(core_radius_mm, area_mm2, turns, length_m)
    core = core_radius_mm
    if turns is None:
        assert length_m is not None
        radius = math.cbrt(core**3 + 750.0 * area_mm2 * length_m / math.pi)
        turns = (radius**2 - core**2) / area_mm2
    else:
        radius = math.sqrt(core**2 + area_mm2 * turns)
        length_m = math.pi * (radius**3 - core**3) / (750.0 * area_mm2)
    # (R^2 - r0^2)/(R^3 - r0^3) without the difference of near equals
    shape = (radius + core) / (radius**2 + radius * core + core**2)
    to_area = 1.5 * radius * shape - 1.0
    return Growth(turns, length_m, radius, to_area, 1.0 + to_area)


def cylinder_growth(
    core_radius_mm: float,
    width_mm: float,
    area_mm2: float,
    *,
    turns: float | None = None,
    length_m: float | None = None,
) -> Growth:
    """Grow a cylinder of fixed width by coils square to the axis.

    Parameters
    ----------
    core_radius_mm, width_mm : float
        Radius to start from, 0 allowed, and width [mm].
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_m : float, optional
        Turns [-] or length [m]; exactly one.

    Returns
    -------
    Growth
        Turns, length, radius and elasticities.

    Raises
    ------
    BadInput
        For a negative core, a width, area, number of turns or length that is not positive, or both.

    Notes
    -----
    R = r0 + a n/w; L = 2 pi (n r0 + a n^2/(2 w)); elasticity (R - r0)/(R + r0). Source: DERIVED.
    """
    _check_growth(core_radius_mm, area_mm2, turns, length_m)
    require_positive(width_mm=width_mm)
    core = core_radius_mm
    pitch = area_mm2 / width_mm
    if turns is None:
        assert length_m is not None
        radius = math.sqrt(core**2 + 1000.0 * length_m * pitch / math.pi)
        turns = (radius - core) / pitch
    else:
        radius = core + pitch * turns
        length_m = math.pi * turns * (radius + core) / 1000.0
    to_area = (radius - core) / (radius + core)
    return Growth(turns, length_m, radius, to_area, 1.0 + to_area)


def _check_growth(
    core_radius_mm: float, area_mm2: float, turns: float | None, length_m: float | None
) -> None:
    if (turns is None) == (length_m is None):
        raise BadInput(
            Fault(say("give turns or length, not both"), say("exactly one"), key="turns, length_m")
        )
    if not 0.0 <= core_radius_mm < math.inf:
        value = f"{core_radius_mm:g}"
        raise BadInput(
            Fault(say("out of range"), say("0 or more"), key="core_radius_mm", value=value)
        )
    require_positive(area_mm2=area_mm2)
    if turns is not None:
        require_positive(turns=turns)
    if length_m is not None:
        require_positive(length_m=length_m)
