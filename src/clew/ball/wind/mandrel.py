"""The bare mandrel as the winding sees it: its radius per latitude, and where nothing holds on it.

The mandrel is a plain cylinder with flat ends, its middle at the ball's centre; its shaft is not
modelled. Seen from the centre it is a surface R(latitude), and because it is the same north and
south only one half is held.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Bands(NamedTuple):
    """Bands of equal height in latitude, from the equator to one pole, and the bare surface there.

    Attributes
    ----------
    step_rad : float
        Height of a band [rad].
    sin_edge : ndarray, shape (bands + 1,)
        Sine of the latitude of the edges [-].
    sin_mid : ndarray, shape (bands,)
        Sine of the latitude of the middles [-].
    coef : ndarray, shape (bands,)
        Volume of both hemispheres' bands per unit of mean R^3 [-].
    bare : ndarray, shape (bands,)
        Mean of R^3 over each band of the bare surface [mm^3].
    limit : float
        Largest ratio of R^3 between neighbouring bands under the slide rule [-].
    turn : int
        First band from which yarn on the bare surface slides to the pole, if it slides.
    crest : int
        The band from which it may slide either way; -1 where there is none.
    """

    step_rad: float
    sin_edge: Floats
    sin_mid: Floats
    coef: Floats
    bare: Floats
    limit: float
    turn: int
    crest: int


def bands_on(bare: Floats, slip_friction: float) -> Bands:
    """Make the bands for a bare surface given by its mean R^3 per band.

    Parameters
    ----------
    bare : ndarray, shape (bands,)
        Mean of R^3 over each band [mm^3], equator first, with a single crest.
    slip_friction : float
        Steepest slope |dR/(R d latitude)| on which yarn stays [-].

    Returns
    -------
    Bands
        The bands.
    """
    half = bare.size
    step = 0.5 * math.pi / half
    limit = math.exp(3.0 * slip_friction * step)
    sin_edge = np.sin(np.linspace(0.0, 0.5 * math.pi, half + 1))
    sin_edge[-1] = 1.0
    inward, outward = _steep(bare, limit)
    both = np.flatnonzero(inward & outward)
    return Bands(
        step_rad=step,
        sin_edge=sin_edge,
        sin_mid=np.sin((np.arange(half) + 0.5) * step),
        coef=4.0 * math.pi / 3.0 * np.diff(sin_edge),
        bare=bare,
        limit=limit,
        turn=int(np.flatnonzero(inward)[-1]) + 1 if inward.any() else 0,
        crest=int(both[0]) if both.size else -1,
    )


def _steep(bare: Floats, limit: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Find the bands that stand over the one before, and over the one after, by the limit."""
    inward = np.zeros(bare.size, dtype=bool)
    outward = np.zeros(bare.size, dtype=bool)
    inward[1:] = bare[1:] > limit * bare[:-1]
    outward[:-1] = bare[:-1] > limit * bare[1:]
    return inward, outward


def steep_run(bands: Bands) -> NDArray[np.int64]:
    """Find the run of bands that are too steep to hold yarn while they are bare.

    Parameters
    ----------
    bands : Bands
        The bands of a surface with a single crest.

    Returns
    -------
    ndarray of int, shape (2,)
        First band of the run and the band past its last.
    """
    inward, outward = _steep(bands.bare, bands.limit)
    run = np.flatnonzero(inward | outward)
    if not run.size:
        return np.zeros(2, dtype=np.int64)
    return np.array((run[0], run[-1] + 1), dtype=np.int64)


def mandrel_bands(
    diameter_mm: float, width_mm: float, slip_friction: float, latitude_bands: int
) -> Bands:
    """Make the bands of a cylinder with flat ends.

    Parameters
    ----------
    diameter_mm, width_mm : float
        Diameter and width of the mandrel [mm].
    slip_friction : float
        Steepest slope |dR/(R d latitude)| on which yarn stays [-].
    latitude_bands : int
        Bands from pole to pole, even.

    Returns
    -------
    Bands
        The bands; their bare volume is the mandrel's own, pi d^2 w / 4, exactly.

    Notes
    -----
    On the side R = r/cos(latitude), on an end R = h/sin(latitude), with r half the diameter and h
    half the width. The mean of R^3 over a band is exact, from the integrals r^3 tan(latitude) and
    -h^3/(2 sin^2(latitude)) over sin(latitude). Source: DERIVED.
    """
    edge = np.linspace(0.0, 0.5 * math.pi, latitude_bands // 2 + 1)
    radius = 0.5 * diameter_mm
    height = 0.5 * width_mm
    corner = math.atan2(height, radius)
    side = radius**3 * np.tan(np.minimum(edge, corner))
    past_corner = 1.0 / np.sin(np.maximum(edge, corner)) ** 2
    end = 0.5 * height**3 * (1.0 / math.sin(corner) ** 2 - past_corner)
    sine = np.sin(edge)
    sine[-1] = 1.0
    return bands_on(np.diff(side + end) / np.diff(sine), slip_friction)
