"""Constants of control charts, computed from the normal law rather than typed from a table.

Printed tables carry misprints and three or four digits; these hold to about 1e-9.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

MOST_IN_RANGE = 1000
"""Largest group whose range is charted: beyond it a range says little and one ball says all."""

_SERIES_FROM = 200
_WIDEST_RANGE = 15.0


@dataclass(frozen=True, slots=True)
class ChartConstants:
    """Constants of one group size; the symbols are those of the field.

    Attributes
    ----------
    n : int
        Balls in a group.
    d2, d3 : float
        Mean and standard deviation of the range of `n` standard normal balls [1].
    c4 : float
        Mean of their standard deviation [1].
    A2, A3 : float
        Half width of the limits of a mean, in mean ranges and in mean standard deviations [1].
    B3, B4, D3, D4 : float
        Lower and upper limit of a standard deviation (B) and of a range (D), in their means [1].
    E2 : float
        Half width of the limits of one ball, in mean ranges [1].
    """

    n: int
    d2: float
    d3: float
    c4: float
    A2: float
    A3: float
    B3: float
    B4: float
    D3: float
    D4: float
    E2: float


def chart_constants(n: int, *, width: float = 3.0) -> ChartConstants:
    """Give the constants of a group size.

    Parameters
    ----------
    n : int
        Balls in a group, 2 to 1000.
    width : float
        Half width of the limits, in standard deviations [1].

    Returns
    -------
    ChartConstants
        All of them.

    Raises
    ------
    BadInput
        For a group of fewer than two balls or more than 1000.

    Notes
    -----
    Source: definitions as in "Deriving control chart constants", SAS/QC user's guide (READ).
    """
    mean_range, sd_range, mean_sd = d2(n), d3(n), c4(n)
    of_sd = width * math.sqrt(1.0 - mean_sd**2) / mean_sd
    of_range = width * sd_range / mean_range
    return ChartConstants(
        n=n,
        d2=mean_range,
        d3=sd_range,
        c4=mean_sd,
        A2=width / (mean_range * math.sqrt(n)),
        A3=width / (mean_sd * math.sqrt(n)),
        B3=max(0.0, 1.0 - of_sd),
        B4=1.0 + of_sd,
        D3=max(0.0, 1.0 - of_range),
        D4=1.0 + of_range,
        E2=width / mean_range,
    )


@lru_cache(maxsize=4096)
def c4(n: int) -> float:
    """Give the mean of the standard deviation of `n` standard normal balls.

    Parameters
    ----------
    n : int
        Balls in a group, at least 2.

    Returns
    -------
    float
        c4 [1].

    Raises
    ------
    BadInput
        For fewer than two balls.

    Notes
    -----
    Source: c4 = sqrt(2/(n-1)) Γ(n/2)/Γ((n-1)/2); from n = 200 its series in 1/(n-1), since the
    difference of two large logarithms of Γ loses digits (DERIVED from Stirling's series).
    """
    _check_size(n)
    if n < _SERIES_FROM:
        return math.sqrt(2.0 / (n - 1)) * math.exp(math.lgamma(n / 2) - math.lgamma((n - 1) / 2))
    of = 1.0 / (n - 1)
    return 1.0 + of * (-1 / 4 + of * (1 / 32 + of * (5 / 128 + of * (-21 / 2048))))


def d2(n: int) -> float:
    """Give the mean range of `n` standard normal balls.

    Parameters
    ----------
    n : int
        Balls in a group, 2 to 1000.

    Returns
    -------
    float
        d2 [1].

    Raises
    ------
    BadInput
        For a group of fewer than two balls or more than 1000.
    """
    return _range_moments(n)[0]


def d3(n: int) -> float:
    """Give the standard deviation of the range of `n` standard normal balls.

    Parameters
    ----------
    n : int
        Balls in a group, 2 to 1000.

    Returns
    -------
    float
        d3 [1].

    Raises
    ------
    BadInput
        For a group of fewer than two balls or more than 1000.
    """
    return _range_moments(n)[1]


def _check_size(n: int) -> None:
    if n < 2:
        raise BadInput(Fault("too few balls in a group", "at least 2", value=str(n)))


@lru_cache(maxsize=4096)
def _range_moments(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range.

    Source: P(W ≤ w) = n ∫ φ(x) [Φ(x+w) - Φ(x)]^(n-1) dx (L. H. C. Tippett, 1925, MEMORY), hence
    E W = ∫ P(W > w) dw and E W² = 2 ∫ w P(W > w) dw. The rule of equal steps converges beyond all
    powers over x, whose integrand dies off at both ends, and Gauss's rule over w.
    """
    _check_size(n)
    if n > MOST_IN_RANGE:
        raise BadInput(
            Fault(
                "too many balls in a group for its range",
                f"at most {MOST_IN_RANGE}; chart the standard deviation (xbar-s)",
                value=str(n),
            )
        )
    from scipy.special import ndtr

    nodes, weights = np.polynomial.legendre.leggauss(160)
    w = 0.5 * _WIDEST_RANGE * (nodes + 1.0)
    step = 0.02
    x = np.arange(-10.0, 10.0 + step / 2, step)
    density = np.exp(-0.5 * x**2) * (step / math.sqrt(2.0 * math.pi))
    below = ndtr(x)
    wider = np.array(
        [1.0 - n * float(density @ (ndtr(x + at) - below) ** (n - 1)) for at in w.tolist()]
    )
    mean = float(0.5 * _WIDEST_RANGE * (weights @ wider))
    square = float(_WIDEST_RANGE * (weights @ (w * wider)))
    return mean, math.sqrt(square - mean**2)


def of_sizes(name: str, sizes: NDArray[np.int64]) -> NDArray[np.float64]:
    """Give d2, d3 or c4 of many groups, each size computed once.

    Parameters
    ----------
    name : str
        ``"d2"``, ``"d3"`` or ``"c4"``.
    sizes : array of int64, shape (groups,)
        Balls in each group; NaN comes back where there are fewer than two.

    Returns
    -------
    array of float, shape (groups,)
        The constant of each group.

    Raises
    ------
    BadInput
        For a range of more than 1000 balls.
    """
    constants: dict[str, Callable[[int], float]] = {"d2": d2, "d3": d3, "c4": c4}
    constant = constants[name]
    each, place = np.unique(sizes, return_inverse=True)
    found = np.array([np.nan if n < 2 else constant(n) for n in each.tolist()], dtype=np.float64)
    return found[place]
