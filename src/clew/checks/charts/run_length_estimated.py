"""A chart set on a few groups is unsure of itself: what that does to its false alarms."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.special import ndtri
from scipy.stats import chi2

from clew.checks.charts.run_length_chain import LONGEST, check_between, gauss_nodes
from clew.checks.charts.run_length_cusum import cusum_chain
from clew.checks.charts.run_length_ewma import ewma_chain
from clew.checks.charts.run_length_shewhart import call_chance

_MEAN_NODES = 24
_SPREAD_NODES = 32
_FINE = 200
_FAR = 6.5
"""Where the error of the mean is cut off, in its own sd."""


@dataclass(frozen=True, slots=True)
class UnsureLimits:
    """False-alarm run of a chart whose centre and spread were estimated.

    Attributes
    ----------
    known_arl : float
        Average run if centre and spread were known.
    mean_arl : float or None
        Average over all charts so set; None when it has no bound, or is ruled by the few charts
        that are set so wide that they hardly ever call.
    low_arl, middle_arl, high_arl : float
        One chart in ten runs shorter than the low, one in two than the middle, one in ten longer
        than the high.
    groups, group_size, freedom : int
        Groups and balls a group it was set on; degrees of freedom of its spread.
    """

    known_arl: float
    mean_arl: float | None
    low_arl: float
    middle_arl: float
    high_arl: float
    groups: int
    group_size: int
    freedom: int


def estimated_limits(
    arl: Callable[[float, float], float], growth: float, *, groups: int, group_size: int
) -> UnsureLimits:
    """What limits from a few groups do to the false-alarm run of any chart.

    Parameters
    ----------
    arl : callable
        Average run by (shift, width factor) of points with sd 1.
    growth : float
        The run grows as exp(growth w²/2) when all widths are made w times wider: tells whether the
        mean has a bound; see the functions below [1].
    groups : int
        Groups the chart was set on, 3 to 10 000.
    group_size : int
        Balls a group, 1 to 100; single balls are taken with their own standard deviation.

    Returns
    -------
    UnsureLimits
        Mean and 10, 50 and 90 % points over charts so set.

    Raises
    ------
    BadInput
        When a number is out of range.

    Notes
    -----
    With Z the error of the centre and W = s/σ, points plotted against estimated limits are points
    of sd 1 with shift Z/√m against widths W times as wide: Z normal, W² chi-square over its degrees
    of freedom, m (n - 1) from the pooled s within groups, m - 1 for single balls. Independent. The
    mean is unbounded unless there are more degrees of freedom than `growth`; below twice as many
    it says nothing of any one chart, and is not given. Source: DERIVED.
    """
    check_between("groups", groups, 3, 10_000, "groups the chart was set on")
    check_between("group_size", group_size, 1, 100, "balls a group")
    freedom = groups - 1 if group_size == 1 else groups * (group_size - 1)
    unit, weight = gauss_nodes(_MEAN_NODES)
    # by symmetry of an unshifted chart one side of the centre is enough
    error = 0.5 * _FAR * (unit + 1.0)
    error_weight = 0.5 * _FAR * weight * np.exp(-0.5 * error**2) * math.sqrt(2.0 / math.pi)
    law = chi2(freedom)
    ends = np.sqrt(law.ppf([1e-9, 1.0 - 1e-9]) / freedom)
    unit, weight = gauss_nodes(_SPREAD_NODES)
    wide = ends[0] + 0.5 * (ends[1] - ends[0]) * (unit + 1.0)
    wide_weight = 0.5 * (ends[1] - ends[0]) * weight * law.pdf(freedom * wide**2)
    wide_weight *= 2.0 * freedom * wide
    shifts = error / math.sqrt(groups)
    logs = np.array([[_log(arl(shift, factor)) for factor in wide] for shift in shifts])
    mean = float(error_weight @ np.exp(logs) @ wide_weight)
    mean /= float(error_weight.sum() * wide_weight.sum())
    surface = RectBivariateSpline(error, wide, logs)
    share = (np.arange(_FINE) + 0.5) / _FINE
    drawn_error = ndtri(0.5 + 0.5 * share)
    drawn_wide = np.sqrt(law.ppf(share) / freedom)
    low, middle, high = np.exp(np.quantile(surface(drawn_error, drawn_wide), [0.1, 0.5, 0.9]))
    return UnsureLimits(
        known_arl=arl(0.0, 1.0),
        mean_arl=mean if freedom >= 2.0 * growth else None,
        low_arl=float(low),
        middle_arl=float(middle),
        high_arl=float(high),
        groups=groups,
        group_size=group_size,
        freedom=freedom,
    )


def _log(arl: float) -> float:
    """Logarithm of a run; one too long for a float to resolve counts as the longest."""
    return math.log(arl) if 1.0 <= arl <= LONGEST else math.log(LONGEST)


def estimated_shewhart(width: float, *, groups: int, group_size: int) -> UnsureLimits:
    """`estimated_limits` of an X-bar chart.

    Parameters
    ----------
    width : float
        Limits, in sd of a plotted point [1].
    groups, group_size : int
        What it was set on.

    Returns
    -------
    UnsureLimits
        Mean and spread of its false-alarm run.

    Raises
    ------
    BadInput
        When a number is out of range.
    """
    return estimated_limits(
        lambda shift, factor: 1.0 / call_chance(min(width * factor, 8.0), shift),
        width**2,
        groups=groups,
        group_size=group_size,
    )


def estimated_ewma(weight: float, width: float, *, groups: int, group_size: int) -> UnsureLimits:
    """`estimated_limits` of an EWMA with fixed limits.

    Parameters
    ----------
    weight, width : float
        λ and L [1].
    groups, group_size : int
        What it was set on.

    Returns
    -------
    UnsureLimits
        Mean and spread of its false-alarm run.

    Raises
    ------
    BadInput
        When a number is out of range.
    """
    return estimated_limits(
        lambda shift, factor: ewma_chain(weight, width * factor, shift).arl(),
        width**2,
        groups=groups,
        group_size=group_size,
    )


def estimated_cusum(k: float, h: float, *, groups: int, group_size: int) -> UnsureLimits:
    """`estimated_limits` of a two-sided CUSUM.

    Parameters
    ----------
    k, h : float
        Reference and decision value, in sd of a plotted point [1].
    groups, group_size : int
        What it was set on.

    Returns
    -------
    UnsureLimits
        Mean and spread of its false-alarm run.

    Raises
    ------
    BadInput
        When a number is out of range.

    Notes
    -----
    A CUSUM's run grows as exp(2 k h w²), for the sum of such points drifts down by k w a point and
    must climb h w (DERIVED from the diffusion limit).
    """

    def arl(shift: float, factor: float) -> float:
        up = cusum_chain(k * factor, h * factor, shift).arl()
        down = cusum_chain(k * factor, h * factor, -shift).arl()
        return 1.0 / (1.0 / up + 1.0 / down)

    return estimated_limits(arl, 4.0 * k * h, groups=groups, group_size=group_size)
