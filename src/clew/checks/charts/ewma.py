"""Exponentially weighted moving average: a chart that sees small lasting shifts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.chart import Chart, Panel, constant
from clew.checks.charts.grouping import Groups
from clew.checks.charts.rules import run_signals
from clew.checks.charts.scan import decayed_sum, decayed_sum_by
from clew.checks.charts.spread import CONES, Spread, false_calls_hold, spread_cautions
from clew.checks.charts.variance import ConeSpread, lag_one
from clew.faults import BadInput, Fault
from clew.languages import say

Numbers = NDArray[np.float64]


def ewma_chart(
    groups: Groups,
    spread: Spread,
    *,
    weight: float = 0.2,
    width: float = 3.0,
    exact: bool | None = None,
    head_start: float = 0.0,
    target: float | None = None,
) -> Chart:
    """Chart the exponentially weighted moving average of group means.

    Parameters
    ----------
    groups : Groups
        The groups, of any sizes.
    spread : Spread
        What the limits rest on, from `clew.checks.charts.spread.spread_of`.
    weight : float
        Weight of the newest group, above 0 to 1 [1].
    width : float
        Half width of the limits, in standard deviations of the average [1].
    exact : bool or None
        Limits of each group's own average, narrow at the start; False for the limits they settle
        to. None means exact, unless there is a head start.
    head_start : float
        Part of the way to its limit at which the average starts, 0 to below 1 [1]; the second
        panel then holds the average that starts below.
    target : float or None
        Centre and start, in the unit of the values; the mean of all balls when None.

    Returns
    -------
    Chart
        Kind ``"ewma"``. Its ``ucl`` and ``lcl`` are what the limits settle to.

    Raises
    ------
    BadInput
        For a weight or head start out of range, or a head start with exact limits.

    Notes
    -----
    Source: z = weight x̄ + (1 - weight) z; its variance by the recursion
    V = (1 - weight)² V + weight² σ²/n, for one size σ²/n weight/(2 - weight)
    (1 - (1 - weight)^{2t}) as in the NIST/SEMATECH e-Handbook 6.3.2.4 (READ second hand). The two
    averages with a head start are those of J. M. Lucas and M. S. Saccucci, 1990 (READ second hand).
    Where cones are counted, groups that share a cone vary together, and the variance counts that.
    """
    _check(weight, head_start, exact)
    exact = head_start == 0.0 if exact is None else exact
    level = groups.mean if target is None else target
    center = np.full(groups.count, level)
    keep = 1.0 - weight
    off = decayed_sum(weight * (groups.means - level), keep)
    if spread.words == CONES and spread.cones is not None:
        own = _variance_with_cones(spread.cones, groups.sizes, weight)
        settled = _settled(own, keep)
    else:
        own = decayed_sum(weight**2 * spread.points**2, keep**2)
        settled = weight / (2.0 - weight) * float((spread.points**2).mean())
    sd = np.sqrt(own) if exact else np.full(groups.count, np.sqrt(settled))
    settled_reach = width * float(np.sqrt(settled))
    lcl, ucl = center - width * sd, center + width * sd
    never = np.full(groups.count, np.nan)
    second = None
    if head_start > 0.0:
        ahead = head_start * settled_reach * keep ** np.arange(1.0, groups.count + 1.0)
        high, low = level + off + ahead, level + off - ahead
        panel = Panel(
            "average started high", high, center, ucl, never,
            run_signals(high, center, sd, (never, ucl)),
        )  # fmt: skip
        second = Panel(
            "average started low", low, center, never, lcl,
            run_signals(low, center, sd, (lcl, never)),
        )  # fmt: skip
    else:
        points = level + off
        panel = Panel(
            "average", points, center, ucl, lcl, run_signals(points, center, sd, (lcl, ucl))
        )
    return Chart(
        kind="ewma",
        sizes=groups.sizes.astype(float),
        panel=panel,
        second=second,
        center=level,
        sd=spread.sd,
        sd_words=spread.words,
        sd_points=spread.points,
        independent=false_calls_hold(spread, groups.sizes, one_by_one=spread.words == CONES),
        lag_one=lag_one(groups.means),
        ucl=level + settled_reach,
        lcl=level - settled_reach,
        widths=tuple(
            (words, reach * float(np.sqrt(weight / (2.0 - weight))))
            for words, reach in spread.widths(groups.sizes, width)[:1]
        )
        + (((CONES, settled_reach),) if spread.words == CONES else ()),
        rules=("beyond-3",),
        cautions=spread_cautions(groups, spread)
        + (
            (say("Group sizes differ: the limits it settles to are those of a typical group."),)
            if constant(groups.sizes.astype(float)) is None
            else ()
        ),
    )


def _check(weight: float, head_start: float, exact: bool | None) -> None:
    if not 0.0 < weight <= 1.0:
        raise BadInput(
            Fault("no such weight", "above 0, at most 1", key="lambda", value=f"{weight:g}")
        )
    if not 0.0 <= head_start < 1.0:
        raise BadInput(
            Fault("no such head start", "0 to below 1", key="head-start", value=f"{head_start:g}")
        )
    if exact and head_start > 0.0:
        raise BadInput(
            Fault(
                "a head start with exact limits counts the start twice",
                "a head start with fixed limits, or exact limits without one",
            )
        )


def _variance_with_cones(
    cones: ConeSpread, sizes: NDArray[np.int64], weight: float
) -> Numbers:  # shape (groups,)
    """Variance of the average where groups share cones.

    A cone's own part of the average at group t is W(t) = Σ weight (1 - weight)^(t-j) share(j); the
    sum of W² over cones follows Q(t) = keep² Q(t-1) + Σ (2 keep W(t-1) g + g²) with g the newest
    weight × share, which touches only the cones of the newest group. DERIVED.
    """
    keep = 1.0 - weight
    order = np.lexsort((cones.group, cones.cone))
    cone, group = cones.cone[order], cones.group[order]
    newest = weight * cones.share[order]
    gap = np.diff(group, prepend=0)
    first = np.diff(cone, prepend=-1) != 0
    decay = np.where(first, 0.0, keep ** np.where(first, 1, gap).astype(float))
    after = decayed_sum_by(newest, decay)
    before = after - newest
    added = np.bincount(group, 2.0 * before * newest + newest**2, minlength=sizes.size)
    alike = decayed_sum(np.asarray(added, dtype=np.float64), keep**2)
    alone = decayed_sum(weight**2 / sizes, keep**2)
    return np.asarray(cones.limits_cone_sd**2 * alike + cones.within_sd**2 * alone)


def _settled(own: Numbers, keep: float) -> float:
    """Mean variance once the start is forgotten; the last one where it never is."""
    start = 0 if keep == 0.0 else int(np.ceil(np.log(0.01) / (2.0 * np.log(keep))))
    return float(own[min(start, own.size - 1) :].mean())
