"""Variances by moments: sums of squares set to what they are expected to be (Henderson's first)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.confounded import overlap
from clew.checks.components.design import Design
from clew.faults import BadInput, Fault

Floats = NDArray[np.float64]


def moments(design: Design) -> Floats:
    """Variances by moments: each source in order, the ball by itself last; may be below nil.

    Parameters
    ----------
    design : Design
        The cells.

    Returns
    -------
    array of float, shape (sources + 1,)
        Variances [unit of the value, squared].

    Notes
    -----
    T_f = sum of (level sum)² / balls, less that of the general mean, is set to its expectation
    sum over g of variance_g (sum of N_ij² / n_i − sum of n_j² / n), and the total likewise. On
    balanced data it is the analysis of variance. Source: Henderson's method 1, common practice;
    expectations DERIVED.
    """
    size = len(design.factors)
    n = float(design.rows)
    counts, codes = design.counts, design.codes
    balls = [np.bincount(codes[f], weights=counts) for f in range(size)]
    sums = [np.bincount(codes[f], weights=counts * design.means) for f in range(size)]
    general = float(counts @ design.means)
    left, right = np.zeros((size + 1, size + 1)), np.zeros(size + 1)
    over_n = np.array([float(one @ one) / n for one in balls] + [1.0])
    for f in range(size):
        right[f] = float(np.sum(sums[f] ** 2 / balls[f])) - general**2 / n
        for g in range(size):
            pairs, both = overlap(codes[f], codes[g], counts, design.levels(g))
            left[f, g] = float(np.sum(both**2 / balls[f][pairs // design.levels(g)]))
        left[f, size] = float(design.levels(f))
    right[size] = design.total_ss - general**2 / n
    left[size] = n
    left -= over_n
    found, *_ = np.linalg.lstsq(left, right, rcond=None)
    return np.asarray(found)


@dataclass(frozen=True, slots=True)
class OneWay:
    """Analysis of variance of one source.

    Attributes
    ----------
    between_df, within_df : int
        Degrees of freedom.
    between_ss, within_ss : float
        Sums of squares [unit of the value, squared].
    f : float
        Ratio of the mean squares [-]; infinite where nothing varies within.
    p_value : float
        Chance of so large a ratio when the source makes no difference [-].
    residual_sd : float
        Standard deviation within [unit of the value].
    r_squared : float
        Share of the sum of squares that the source takes [-].
    """

    between_df: int
    within_df: int
    between_ss: float
    within_ss: float
    f: float
    p_value: float
    residual_sd: float
    r_squared: float


def one_way(design: Design) -> OneWay:
    """Analyse the variance of the one source of a design.

    Parameters
    ----------
    design : Design
        Cells of one source.

    Returns
    -------
    OneWay
        Sums of squares, F, and the standard deviation within.

    Raises
    ------
    BadInput
        If there is not exactly one source.
    """
    from scipy.special import fdtrc

    if len(design.factors) != 1:
        raise BadInput(
            Fault("not one source", "exactly one", value=", ".join(design.factors) or "none")
        )
    general = float(design.counts @ design.means) / design.rows
    between = float(design.counts @ (design.means - general) ** 2)
    between_df = len(design.counts) - 1
    within_df = design.rows - len(design.counts)
    mean_square = design.within_ss / within_df
    f = between / between_df / mean_square if mean_square > 0.0 else float("inf")
    return OneWay(
        between_df=between_df,
        within_df=within_df,
        between_ss=between,
        within_ss=design.within_ss,
        f=f,
        p_value=float(fdtrc(between_df, within_df, f)),
        residual_sd=float(np.sqrt(mean_square)),
        r_squared=between / (between + design.within_ss),
    )
