"""Counting where strands lie on a ball, compiled: round the equator, and over the whole surface."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@njit(cache=True, error_model="numpy")
def walk_round(starts: Floats, ends: Floats, layers: int) -> tuple[float, float]:
    """Walk round a circle over the starts and the ends of footprints.

    Parameters
    ----------
    starts, ends : ndarray, shape (n,)
        Where footprints begin and end, each in order [rev].
    layers : int
        Footprints that lie over the beginning of the circle.

    Returns
    -------
    tuple of float
        Share of the circle under at least one strand [-], and the coefficient of variation of the
        number of layers along it [-].
    """
    n = starts.size
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


@njit(cache=True, error_model="numpy")
def chart_strokes(tilt_rad: Floats, bands: int, inverse_ratio: float) -> Floats:
    """Work out where turns cross bands of latitude, whatever the surface.

    Parameters
    ----------
    tilt_rad : ndarray, shape (tilts,)
        Tilts [rad].
    bands : int
        Equal bands, pole to pole.
    inverse_ratio : float
        Ball turns per flyer turn [-].

    Returns
    -------
    ndarray, shape (tilts, bands, 4)
        In each band, going up: the angle the flyer turns [rad], zero where it does not come; the
        speed on a sphere of radius 1 for it [-]; the flyer's angle, and the longitude, in the
        middle [rad].
    """
    strokes = np.zeros((tilt_rad.size, bands, 4))
    step = math.pi / bands
    for k in range(tilt_rad.size):
        sin_tilt = math.sin(tilt_rad[k])
        cos_tilt = math.cos(tilt_rad[k])
        theta_low = -0.5 * math.pi
        for band in range(bands):
            s_high = math.sin((band + 1) * step - 0.5 * math.pi)
            if s_high <= -sin_tilt:
                continue
            last = s_high >= sin_tilt
            theta_high = 0.5 * math.pi if last else math.asin(s_high / sin_tilt)
            turned = theta_high - theta_low
            middle = 0.5 * (theta_low + theta_high)
            s_mid = sin_tilt * math.sin(middle)
            square = 1.0 - s_mid * s_mid
            speed2 = 1.0 - 2.0 * cos_tilt * inverse_ratio + square * inverse_ratio * inverse_ratio
            strokes[k, band, 0] = turned
            strokes[k, band, 1] = math.sqrt(max(speed2, 0.0))
            strokes[k, band, 2] = middle + 0.5 * math.pi
            strokes[k, band, 3] = math.atan2(math.cos(middle), -cos_tilt * math.sin(middle))
            theta_low = theta_high
            if last:
                break
    return strokes


@njit(cache=True, error_model="numpy")
def count_layers(
    radius_mm: Floats,
    strokes: Floats,
    tilt_of_turn: Whole,
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
    strokes : ndarray, shape (tilts, bands, 4)
        Where turns of each tilt cross the bands, from `chart_strokes`.
    tilt_of_turn : ndarray of int, shape (turns,)
        The tilt of each turn, as its place among them.
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
    whole = 2.0 * math.pi
    layers = np.zeros((bands, longitudes))
    around = np.empty(bands)
    for band in range(bands):
        edge = (band + 1) * step - 0.5 * math.pi
        around[band] = whole * radius_mm[band] * math.cos(edge - 0.5 * step) * step
    for turn in range(tilt_of_turn.size):
        way = strokes[tilt_of_turn[turn]]
        for band in range(bands):
            if way[band, 0] == 0.0:
                continue
            width = min(yarn_width_mm * way[band, 0] * way[band, 1] / around[band], 1.0)
            flyer, place = way[band, 2], way[band, 3]
            row = layers[band]
            for stroke in range(2):
                if stroke == 1:
                    flyer = whole - flyer
                    place = -place
                centre = place / whole - (flyer / whole + turn) * inverse_ratio
                start = centre - 0.5 * width
                start = (start - math.floor(start)) * longitudes
                end = start + width * longitudes
                cell = int(start)
                while cell < end:
                    share = min(end, cell + 1.0) - max(start, float(cell))
                    row[cell if cell < longitudes else cell - longitudes] += share
                    cell += 1
    return layers
