"""What the compiled winding is given, works on and gives back, as plain tuples of arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from clew.ball.wind.mandrel import Bands

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_ROWS = 1024
"""Different tilts of which a course keeps what it knows; more take turns in the same rows."""
WAY_ROWS = 5
"""Numbers that are known of a band without the surface."""


class Job(NamedTuple):
    """What to wind.

    Attributes
    ----------
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_mm : float
        Turns and length at which to stop, whichever comes first.
    keep_at : ndarray of int, shape (k,)
        Turns, increasing, at whose start the surface is kept; as many turns as are wound stand for
        the final one.
    """

    area_mm2: float
    turns: float
    length_mm: float
    keep_at: Whole


class Course(NamedTuple):
    """The turns by themselves, whatever the surface: the same for any strand.

    Attributes
    ----------
    inverse_ratio : float
        Ball turns per flyer turn, with its sign [-].
    turn_rad : ndarray, shape (most,)
        Tilt in the middle of each turn [rad]; no more turns than these are wound.
    row : ndarray of int, shape (most,)
        Where `way` has what is known of the turn.
    tilt_rad : ndarray, shape (rows,)
        The tilt that a row is filled in for [rad]; not a number while it is empty.
    apex : ndarray of int, shape (rows,)
        The band in which a turn of that tilt turns back.
    way : ndarray, shape (rows, 5, bands + 1)
        What a turn of that tilt is on any surface, by edge or by band; see the compiled winding.
    """

    inverse_ratio: float
    turn_rad: Floats
    row: Whole
    tilt_rad: Floats
    apex: Whole
    way: Floats


def course_of(tilt_deg: Floats, wind_ratio: float, bands: int) -> Course:
    """Lay out the course of turns, nothing filled in.

    Parameters
    ----------
    tilt_deg : ndarray, shape (most,)
        Tilt in the middle of each turn [deg].
    wind_ratio : float
        Flyer turns in one ball turn [-].
    bands : int
        Bands from the equator to one pole.

    Returns
    -------
    Course
        The course.
    """
    turn_rad = np.radians(tilt_deg)
    different, row = np.unique(turn_rad, return_inverse=True)
    rows = min(different.size, MOST_ROWS)
    return Course(
        inverse_ratio=1.0 / wind_ratio,
        turn_rad=turn_rad,
        row=row % rows,
        tilt_rad=np.full(rows, np.nan),
        apex=np.zeros(rows, dtype=np.int64),
        way=np.empty((rows, WAY_ROWS, bands + 1)),
    )


class Table(NamedTuple):
    """Arrays to work on.

    Attributes
    ----------
    volume, cubed, given, best : ndarray, shape (bands,)
        Volume laid and kept, R^3, the volume that slides, and the R^3 that a band would have for
        those before it.
    knots : ndarray, shape (6, 2 bands)
        Pieces of the sliding.
    powers : ndarray, shape (2, bands + 1)
        Powers of the limit between bands, falling and rising.
    edges : ndarray, shape (4, bands + 1)
        At each edge: slope, mean of its square, radius, speed.
    laid : ndarray, shape (4, bands + 1)
        Of each band: length of the turn in it, what is laid there, and what neighbours give, from
        the side of the equator and from that of the pole.
    """

    volume: Floats
    cubed: Floats
    given: Floats
    best: Floats
    knots: Floats
    powers: Floats
    edges: Floats
    laid: Floats


def table_of(bands: Bands) -> Table:
    """Make room to wind on a bare surface.

    Parameters
    ----------
    bands : Bands
        The bare surface.

    Returns
    -------
    Table
        Fresh room.
    """
    count = bands.bare.size
    limits = np.concatenate(([1.0], np.full(count, bands.limit)))
    return Table(
        volume=np.zeros(count),
        cubed=bands.bare.copy(),
        given=np.zeros(count),
        best=np.zeros(count),
        knots=np.zeros((6, 2 * count)),
        powers=np.array((np.divide.accumulate(limits), np.multiply.accumulate(limits))),
        edges=np.zeros((4, count + 1)),
        laid=np.zeros((4, count + 1)),
    )


class Wound(NamedTuple):
    """What was wound.

    Attributes
    ----------
    turns : float
        Turns, the last perhaps in part.
    turn_mm, across_mm : ndarray, shape (n,)
        Length of each turn begun, and largest diameter in its middle [mm].
    cubed_mm3 : ndarray, shape (bands,)
        Mean of R^3 over each band of the final surface [mm^3].
    slid_mm3 : float
        Volume of yarn that left the band it was laid in [mm^3]; not counted where no surface is
        kept.
    kept_mm3 : ndarray, shape (k, bands)
        Mean of R^3 over each band at the turns that were to be kept [mm^3], as far as it came.
    kept_slid_mm3 : ndarray, shape (k,)
        What had slid until then [mm^3].
    """

    turns: float
    turn_mm: Floats
    across_mm: Floats
    cubed_mm3: Floats
    slid_mm3: float
    kept_mm3: Floats
    kept_slid_mm3: Floats
