"""The angle of wind, read off a wound ball: an output, which differs from latitude to latitude."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.setting import WindSetting, repeats

Floats = NDArray[np.float64]

TOP_TURNS = 40
"""Strands over which the angle is averaged when the tilt schedule does not repeat."""


def angle_on_top(
    setting: WindSetting, latitude: Floats, radius: Floats, tilt_deg: Floats
) -> tuple[NDArray[np.bool_], Floats]:
    """Find which latitudes were crossed, and the direction of the strands on top there.

    Parameters
    ----------
    setting : WindSetting
        The winder's setting.
    latitude : ndarray, shape (bands,)
        Latitudes from the equator to the pole [rad].
    radius : ndarray, shape (bands,)
        Distance of the surface from the centre there [mm].
    tilt_deg : ndarray, shape (turns,)
        Tilt of each turn [deg].

    Returns
    -------
    crossed : ndarray of bool, shape (bands,)
        Whether any turn went across the latitude.
    angle : ndarray, shape (bands,)
        Angle from the circumference [deg], zero where nothing crossed.

    Notes
    -----
    Going up R sqrt(1 + g^2) d(lat), along R cos(lat) d(longitude), with g = dR/(R d lat):
    tan(angle) = sqrt((1 + g^2)(sin^2 b - sin^2 lat)) / (cos(b) - cos^2(lat)/r). Both parts are
    summed over the strands on top before the angle is taken. Source: DERIVED.
    """
    from clew.ball.wind.angle_kernel import strands_on_top

    wanted = TOP_TURNS
    if repeats(setting):
        wanted = math.ceil(min(setting.tilt_turns[-1], 10 * TOP_TURNS))
    tilt = np.radians(tilt_deg)[::-1]
    sin_lat, cos_lat = np.sin(latitude), np.cos(latitude)
    count, up, along = strands_on_top(
        np.sin(tilt), np.cos(tilt), sin_lat, cos_lat**2 / setting.wind_ratio, wanted
    )
    crossed = count > 0
    slope = np.gradient(np.log(radius), latitude)
    angle = np.degrees(np.arctan2(up * np.sqrt(1.0 + slope**2), np.abs(along)))
    return crossed, np.where(crossed, angle, 0.0)
