"""The strands on top at each latitude, compiled."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_BLOCK = 512
"""Turns that are added up by themselves before they join the sum."""


@njit(cache=True, error_model="numpy")
def strands_on_top(
    sin_tilt: Floats, cos_tilt: Floats, sin_lat: Floats, back: Floats, wanted: int
) -> Floats:
    """Add up the ways of the last strands laid across each latitude.

    Parameters
    ----------
    sin_tilt, cos_tilt : ndarray, shape (turns,)
        Sine and cosine of the tilt of each turn, newest first.
    sin_lat : ndarray, shape (bands,)
        Sine of each latitude.
    back : ndarray, shape (bands,)
        How far the ball turns away from the flyer there, along the circumference [-].
    wanted : int
        Strands on top.

    Returns
    -------
    ndarray, shape (3, bands)
        How many strands were found, and their ways up and along [-].
    """
    found = np.zeros((3, sin_lat.size))
    for band in range(sin_lat.size):
        up, along, count = 0.0, 0.0, 0
        for turn in range(sin_tilt.size):
            if turn % _BLOCK == 0:
                found[1, band] += up
                found[2, band] += along
                up, along = 0.0, 0.0
                if count >= wanted:
                    break
            if sin_tilt[turn] > sin_lat[band] and count < wanted:
                count += 1
                climb = sin_tilt[turn] * sin_tilt[turn] - sin_lat[band] * sin_lat[band]
                up += math.sqrt(max(climb, 0.0))
                along += cos_tilt[turn] - back[band]
        found[0, band] = count
        found[1, band] += up
        found[2, band] += along
    return found
