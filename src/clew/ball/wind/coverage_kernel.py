"""Counting where strands lie on a ball, compiled: round the equator, and over the whole surface."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit(cache=True)
def cover_round(width_rev: Floats, step_rev: float) -> tuple[float, float]:
    """Lay strands round a circle at equal steps; return the share covered and the unevenness.

    Parameters
    ----------
    width_rev : ndarray, shape (n,)
        Width of each strand's footprint along the circle [rev].
    step_rev : float
        From one strand's middle to the next [rev].

    Returns
    -------
    tuple of float
        Share of the circle under at least one strand [-], and the coefficient of variation of the
        number of layers along it [-].
    """
    n = width_rev.size
    starts = np.empty(n)
    ends = np.empty(n)
    layers = 0
    for k in range(n):
        width = min(width_rev[k], 1.0)
        start = (k * step_rev - 0.5 * width) % 1.0
        end = start + width
        if end >= 1.0:
            end -= 1.0
            layers += 1
        starts[k] = start
        ends[k] = end
    starts.sort()
    ends.sort()
    covered = 0.0
    first = 0.0
    second = 0.0
    place = 0.0
    i = 0
    j = 0
    while True:
        next_start = starts[i] if i < n else 1.0
        next_end = ends[j] if j < n else 1.0
        reach = min(next_start, next_end)
        piece = reach - place
        if layers > 0:
            covered += piece
        first += layers * piece
        second += layers * layers * piece
        place = reach
        if i >= n and j >= n:
            break
        if i < n and next_start <= next_end:
            layers += 1
            i += 1
        else:
            layers -= 1
            j += 1
    return covered, math.sqrt(max(second - first * first, 0.0)) / first


@njit(cache=True)
def count_layers(
    radius_mm: Floats,
    tilt_rad: Floats,
    inverse_ratio: float,
    yarn_width_mm: float,
    longitudes: int,
) -> Floats:
    """Count the layers that whole turns lay on each cell of latitude and longitude.

    Every turn crosses a band twice, going up and coming down. It covers there the area of its real
    length in the band times the yarn's width, spread in longitude about its middle in the band.

    Parameters
    ----------
    radius_mm : ndarray, shape (bands,)
        Distance of the surface from the centre in the middle of equal bands, pole to pole [mm].
    tilt_rad : ndarray, shape (turns,)
        Tilt of each turn [rad].
    inverse_ratio : float
        Ball turns per flyer turn [-].
    yarn_width_mm : float
        Width of the strand as it lies [mm].
    longitudes : int
        Cells round the ball.

    Returns
    -------
    ndarray, shape (bands, longitudes)
        Mean number of layers in each cell [-].
    """
    bands = radius_mm.size
    step = math.pi / bands
    layers = np.zeros((bands, longitudes))
    whole = 2.0 * math.pi
    for turn in range(tilt_rad.size):
        sin_tilt = math.sin(tilt_rad[turn])
        cos_tilt = math.cos(tilt_rad[turn])
        theta_low = -0.5 * math.pi
        for band in range(bands):
            edge = (band + 1) * step - 0.5 * math.pi
            s_high = math.sin(edge)
            if s_high <= -sin_tilt:
                continue
            last = s_high >= sin_tilt
            theta_high = 0.5 * math.pi if last else math.asin(s_high / sin_tilt)
            turned = theta_high - theta_low
            middle = 0.5 * (theta_low + theta_high)
            s_mid = sin_tilt * math.sin(middle)
            square = 1.0 - s_mid * s_mid
            speed2 = 1.0 - 2.0 * cos_tilt * inverse_ratio + square * inverse_ratio * inverse_ratio
            round_mm = whole * radius_mm[band] * math.cos(edge - 0.5 * step)
            width = min(
                yarn_width_mm * turned * math.sqrt(max(speed2, 0.0)) / (round_mm * step), 1.0
            )
            flyer = middle + 0.5 * math.pi
            place = math.atan2(math.cos(middle), -cos_tilt * math.sin(middle))
            for stroke in range(2):
                if stroke == 1:
                    flyer = whole - flyer
                    place = -place
                centre = place / whole - (flyer / whole + turn) * inverse_ratio
                start = ((centre - 0.5 * width) % 1.0) * longitudes
                end = start + width * longitudes
                cell = int(start)
                while cell < end:
                    share = min(end, cell + 1.0) - max(start, float(cell))
                    layers[band, cell % longitudes] += share
                    cell += 1
            theta_low = theta_high
            if last:
                break
    return layers
