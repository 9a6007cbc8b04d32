"""What the compiled winding is given and what it gives back, as plain tuples of arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Job(NamedTuple):
    """What to wind.

    Attributes
    ----------
    tilt_rad : ndarray, shape (most,)
        Tilt in the middle of each turn [rad]; no more turns than these are wound.
    inverse_ratio : float
        Ball turns per flyer turn, with its sign [-].
    area_mm2 : float
        Packed cross-section of the strand [mm^2].
    turns, length_mm : float
        Turns and length at which to stop, whichever comes first.
    keep_at : ndarray of int, shape (k,)
        Turns, increasing, at whose start the surface is kept.
    """

    tilt_rad: Floats
    inverse_ratio: float
    area_mm2: float
    turns: float
    length_mm: float
    keep_at: NDArray[np.int64]


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
    kept_mm3 : ndarray, shape (k, bands)
        The same at the turns that were to be kept; the final surface for turns past the end.
    slid_mm3 : float
        Volume of yarn that left the band it was laid in [mm^3].
    """

    turns: float
    turn_mm: Floats
    across_mm: Floats
    cubed_mm3: Floats
    kept_mm3: Floats
    slid_mm3: float
