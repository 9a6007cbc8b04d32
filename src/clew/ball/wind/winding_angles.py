"""Angles and speeds of winding: the angle of wind, the gain, and the friction a coil needs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say


def require_positive(**values: float) -> None:
    """Refuse every named value that is not a positive number.

    Raises
    ------
    BadInput
        With one fault for each.
    """
    faults = [
        Fault(say("not a positive number"), say("more than 0"), key=key, value=f"{value:g}")
        for key, value in values.items()
        if not 0.0 < value < math.inf
    ]
    if faults:
        raise BadInput(faults)


@dataclass(frozen=True, slots=True)
class WindSpeeds:
    """Speeds of the strand on a package, and the angle they make.

    Attributes
    ----------
    surface_m_min, traverse_m_min, net_m_min : float
        Speed along the circumference, along the axis, and along the strand [m/min].
    angle_of_wind_deg : float
        Angle of the strand from the circumference [deg].
    """

    surface_m_min: float
    traverse_m_min: float
    net_m_min: float
    angle_of_wind_deg: float


def wind_speeds(surface_m_min: float, traverse_m_min: float) -> WindSpeeds:
    """Combine surface and traverse speed.

    Parameters
    ----------
    surface_m_min, traverse_m_min : float
        Speed along the circumference and along the axis [m/min].

    Returns
    -------
    WindSpeeds
        With net speed sqrt(Vs^2 + Vt^2) and angle of wind atan(Vt/Vs).

    Raises
    ------
    BadInput
        For a surface speed that is not positive or a negative traverse speed.

    Notes
    -----
    The coil angle of other texts is 90 deg less the angle of wind; only the angle of wind is kept.
    Source: GATE question papers, textile engineering; scribd 47091457 (READ).
    """
    require_positive(surface_m_min=surface_m_min)
    if not 0.0 <= traverse_m_min < math.inf:
        value = f"{traverse_m_min:g}"
        raise BadInput(
            Fault(say("out of range"), say("0 or more"), key="traverse_m_min", value=value)
        )
    return WindSpeeds(
        surface_m_min,
        traverse_m_min,
        math.hypot(surface_m_min, traverse_m_min),
        math.degrees(math.atan2(traverse_m_min, surface_m_min)),
    )


def traverse_speed_m_min(surface_m_min: float, angle_of_wind_deg: float) -> float:
    """Find the traverse speed that gives an angle of wind at a surface speed.

    Parameters
    ----------
    surface_m_min : float
        Speed along the circumference [m/min].
    angle_of_wind_deg : float
        Angle of the strand from the circumference [deg].

    Returns
    -------
    float
        Speed along the axis [m/min].

    Notes
    -----
    Vt = Vs tan(theta). Source: scribd 47091457 (READ).
    """
    return surface_m_min * math.tan(math.radians(angle_of_wind_deg))


def coil_angle_deg(angle_of_wind_deg: float) -> float:
    """Turn the angle of wind into the coil angle, or the coil angle into the angle of wind.

    Parameters
    ----------
    angle_of_wind_deg : float
        Angle of the strand from the circumference [deg].

    Returns
    -------
    float
        Its complement, the angle from the axis [deg].

    Notes
    -----
    Source: GATE question papers, textile engineering (READ).
    """
    return 90.0 - angle_of_wind_deg


def ribbon_diameter_mm(traverse_ratio: float, drum_diameter_mm: float, wind_ratio: float) -> float:
    """Find the diameter at which a drum-wound package has a given wind ratio [mm].

    Parameters
    ----------
    traverse_ratio : float
        Drum turns per double traverse [-].
    drum_diameter_mm : float
        Diameter of the drum [mm].
    wind_ratio : float
        Package turns per double traverse [-]; a ribbon stands where it is a whole number or a
        simple fraction.

    Returns
    -------
    float
        Package diameter [mm].

    Notes
    -----
    W = TR D_drum / D. Source: DERIVED from "ribbon when the wind ratio is an integer" (READ).
    """
    require_positive(
        traverse_ratio=traverse_ratio, drum_diameter_mm=drum_diameter_mm, wind_ratio=wind_ratio
    )
    return traverse_ratio * drum_diameter_mm / wind_ratio


def gain_mm(yarn_diameter_mm: float, angle_of_wind_deg: float) -> float:
    """Find the shift along the circumference that lays a strand beside the last one.

    Parameters
    ----------
    yarn_diameter_mm : float
        Width of the strand as it lies [mm].
    angle_of_wind_deg : float
        Angle of the strand from the circumference [deg].

    Returns
    -------
    float
        The gain d/sin(theta) [mm]; divided by the circumference, in revolutions.

    Raises
    ------
    BadInput
        For a width or an angle that is not positive.

    Notes
    -----
    Source: WBUT question paper 2012, option list (READ), its key MEMORY.
    """
    require_positive(yarn_diameter_mm=yarn_diameter_mm, angle_of_wind_deg=angle_of_wind_deg)
    return yarn_diameter_mm / math.sin(math.radians(angle_of_wind_deg))


def slip_on_sphere(tilt_deg: float, wind_ratio: float) -> float:
    """Find the friction a tilted coil needs to stay on a sphere [-].

    Parameters
    ----------
    tilt_deg : float
        Tilt of the coil [deg].
    wind_ratio : float
        Flyer turns per ball turn, negative when they turn against each other [-].

    Returns
    -------
    float
        Geodesic over normal curvature at the apex, where it is greatest.

    Notes
    -----
    e sin(b) (2 - e cos b)/(1 - e cos b)^2 with e = 1/r. No slip while it is at most the friction.
    Source: criterion |k_g/k_n| <= mu, Acta Materiae Compositae Sinica abstract (READ); the formula
    DERIVED.
    """
    tilt = math.radians(tilt_deg)
    inverse = 1.0 / wind_ratio
    ahead = 1.0 - inverse * math.cos(tilt)
    if ahead <= 0.0:
        return math.inf
    return abs(inverse * math.sin(tilt) * (1.0 + ahead) / ahead**2)
