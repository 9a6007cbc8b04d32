"""Bounds around a value whose logarithm is taken as normal, and the chance that a mean is short."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Interval:
    """Bounds that hold a value with the stated confidence."""

    low: float
    high: float


def short_frac(mean: float, declared: float, log_sd: float) -> float:
    """Chance that a run's mean stands under its declaration.

    Parameters
    ----------
    mean : float
        Expected mean [any].
    declared : float
        The declaration [the same unit].
    log_sd : float
        Standard deviation of the natural logarithm of the run's mean [-].

    Returns
    -------
    float
        The chance [-]; 0 or 1 where nothing is in doubt.
    """
    from scipy.special import ndtr

    short = math.log(declared / mean)
    if log_sd == 0.0:
        return 1.0 if short > 0.0 else 0.0
    return float(ndtr(short / log_sd))


def interval_around(value: float, log_sd: float, confidence: float) -> Interval:
    """Put bounds around a value whose logarithm is taken as normal.

    Parameters
    ----------
    value : float
        The middle value [any].
    log_sd : float
        Standard deviation of its natural logarithm [-].
    confidence : float
        Confidence of the interval [-].

    Returns
    -------
    Interval
        The bounds, in the unit of the value.
    """
    from scipy.special import ndtri

    reach = float(ndtri(0.5 + confidence / 2)) * log_sd
    return Interval(value * math.exp(-reach), value * math.exp(reach))
