"""A scale or reel held against standards: its correction over the range, as a straight line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput, Fault


@dataclass(frozen=True, slots=True)
class CorrectionLine:
    """Correction = intercept + slope (reading - about), from least squares.

    Attributes
    ----------
    about : float
        Reading the line is written about [the reading's unit].
    intercept, intercept_u : float
        Correction there and its standard uncertainty [the correction's unit].
    slope, slope_u : float
        Change of the correction with the reading, and its standard uncertainty.
    r : float
        Correlation of the two [1].
    sd : float
        Standard deviation of the points about the line [the correction's unit].
    df : int
        Degrees of freedom.
    """

    about: float
    intercept: float
    intercept_u: float
    slope: float
    slope_u: float
    r: float
    sd: float
    df: int

    def at(self, reading: float) -> tuple[float, float]:
        """Give the correction at a reading and its standard uncertainty.

        Parameters
        ----------
        reading : float
            A reading [its unit].

        Returns
        -------
        (float, float)
            Correction and standard uncertainty [the correction's unit].

        Notes
        -----
        u^2 = u1^2 + d^2 u2^2 + 2 d u1 u2 r, d from where the line is written about. Source: JCGM
        100:2008, H.3.4, equation H.15 (MEMORY).
        """
        d = reading - self.about
        variance = (
            self.intercept_u**2
            + (d * self.slope_u) ** 2
            + 2.0 * d * self.intercept_u * self.slope_u * self.r
        )
        return self.intercept + self.slope * d, math.sqrt(max(variance, 0.0))


def correction_line(
    readings: Sequence[float], corrections: Sequence[float], *, about: float
) -> CorrectionLine:
    """Lay a straight line through corrections found with standards.

    Parameters
    ----------
    readings : sequence of float
        What the instrument showed [its unit].
    corrections : sequence of float
        Standard less reading [the correction's unit].
    about : float
        Reading to write the line about [the reading's unit].

    Returns
    -------
    CorrectionLine
        The line with its doubts.

    Raises
    ------
    BadInput
        For fewer than three points, points that are no numbers, or all at one reading.

    Notes
    -----
    Source: JCGM 100:2008, H.3.2, equations H.13 (MEMORY).
    """
    x, y = np.asarray(readings, dtype=np.float64) - about, np.asarray(corrections, dtype=np.float64)
    if x.size != y.size or x.size < 3 or not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise BadInput(Fault("points for a line", "three or more pairs of numbers"))
    if float(np.ptp(x)) == 0.0:
        raise BadInput(Fault("all standards of one size", "standards over the range"))
    n = x.size
    mean = float(x.mean())
    sxx = float(((x - mean) ** 2).sum())
    slope = float(((x - mean) * (y - y.mean())).sum()) / sxx
    intercept = float(y.mean()) - slope * mean
    sd = math.sqrt(float(((y - intercept - slope * x) ** 2).sum()) / (n - 2))
    squares = float((x**2).sum())
    return CorrectionLine(
        about=about,
        intercept=intercept,
        intercept_u=sd * math.sqrt(squares / (n * sxx)),
        slope=slope,
        slope_u=sd / math.sqrt(sxx),
        r=-float(x.sum()) / math.sqrt(n * squares),
        sd=sd,
        df=n - 2,
    )
