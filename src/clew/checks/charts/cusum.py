"""Tabular cumulative sums: when a lasting shift began and how large it is."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.chart import Chart, Panel, Shift, Signal, beyond, constant
from clew.checks.charts.grouping import Groups
from clew.checks.charts.spread import CONES, Spread, false_calls_hold, spread_cautions
from clew.checks.charts.variance import lag_one
from clew.faults import BadInput, Fault
from clew.languages import say

Numbers = NDArray[np.float64]


def cusum_chart(
    groups: Groups,
    spread: Spread,
    *,
    target: float | None = None,
    k: float = 0.5,
    h: float = 5.0,
    in_unit: bool = False,
    head_start: float = 0.0,
) -> Chart:
    """Chart the sums of what group means lie above and below a target, less an allowance.

    Parameters
    ----------
    groups : Groups
        The groups. Where sizes differ the sums run in standard deviations of a point.
    spread : Spread
        What a point's standard deviation is, from `clew.checks.charts.spread.spread_of`.
    target : float or None
        What the sums are counted from, in the unit of the values; the mean of all balls when None.
    k : float
        Allowance: half the shift to be seen soonest, in standard deviations of a point [1], or in
        the unit of the values.
    h : float
        Sum above which it calls, in the same [1].
    in_unit : bool
        Whether `k` and `h` are in the unit of the values; sizes must then be equal.
    head_start : float
        Part of `h` at which both sums start, 0 to below 1 [1].

    Returns
    -------
    Chart
        Kind ``"cusum"``: the upper sum with limit `h`, and below it the lower sum, drawn downward,
        with limit -`h`. The sums run on after a call.

    Raises
    ------
    BadInput
        For an allowance below 0, a limit that is not above 0, or what cannot be standardised.

    Notes
    -----
    Source: NIST/SEMATECH e-Handbook 6.3.2.3 (READ second hand); head start of J. M. Lucas and
    R. B. Crosier, 1982. A sum is a running total less its lowest value so far, so that no loop
    is needed. The shift began after the sum last stood at zero; since then the mean lay
    k + S/N from the target (D. C. Montgomery, Introduction to SPC, MEMORY).
    """
    _check(k, h, head_start)
    level = groups.mean if target is None else target
    size = constant(groups.sizes.astype(float))
    sd_point = constant(spread.points)
    even = size is not None and sd_point is not None
    off = groups.means - level
    sd = spread.points.copy()
    if in_unit:
        if size is None:
            raise BadInput(
                Fault(
                    say("an allowance in the unit of the values needs groups of one size"),
                    "--k and --h, in standard deviations of a point",
                )
            )
        scale = np.ones_like(sd)
        allowance, limit = k, h
    elif even:
        scale = np.ones_like(sd)
        allowance, limit = k * float(sd[0]), h * float(sd[0])
    else:
        if not (sd > 0.0).all():
            raise BadInput(
                Fault(
                    say("no spread to count the sums in"),
                    say("balls that differ, or --sd"),
                    key="sd",
                )
            )
        scale, allowance, limit = sd, k, h
    z = off / scale
    up, up_start = _sum(z - allowance, head_start * limit)
    down, down_start = _sum(-z - allowance, head_start * limit)
    reach, zero = np.full(groups.count, limit), np.zeros(groups.count)
    none = np.full(groups.count, np.nan)
    high = _signals(up, reach, 1.0, say("upper sum above h"))
    low = _signals(down, reach, -1.0, say("lower sum beyond -h"))
    typical = float(np.median(scale))
    started = head_start * limit
    shifts = [
        Shift(sign > 0, began, seen, level + sign * typical * (allowance + (total - before) / run))
        for sign, sums, starts in ((1.0, up, up_start), (-1.0, down, down_start))
        for began, seen, run, total, before in _episodes(sums, starts, reach, started)
    ]
    cautions = spread_cautions(groups, spread)
    if not (even or in_unit):
        cautions = (
            say("Points differ in spread: the sums are in standard deviations."),
            *cautions,
        )
    if spread.words == CONES and spread.cones is not None and spread.cones.shared:
        cautions += (
            say(
                "Groups that share a cone vary together; the sums take them as independent, and "
                "call more often for nothing. An ewma counts them."
            ),
        )
    return Chart(
        kind="cusum",
        sizes=groups.sizes.astype(float),
        panel=Panel("upper sum", up, zero, reach, none, high + low),
        second=Panel("lower sum", -down, zero, none, -reach, low),
        center=level,
        sd=spread.sd,
        sd_words=spread.words,
        sd_points=spread.points,
        independent=false_calls_hold(spread, groups.sizes, one_by_one=False),
        lag_one=lag_one(groups.means),
        ucl=limit,
        lcl=-limit,
        widths=(("decision interval", limit),),
        rules=("beyond-h",),
        shifts=tuple(sorted(shifts, key=lambda shift: shift.seen)),
        cautions=cautions,
    )


def _check(k: float, h: float, head_start: float) -> None:
    faults = []
    if not 0.0 <= k < math.inf:
        faults.append(Fault("no such allowance", "0 or more", key="k", value=f"{k:g}"))
    if not 0.0 < h < math.inf:
        faults.append(Fault("no such limit", "above 0", key="h", value=f"{h:g}"))
    if not 0.0 <= head_start < 1.0:
        faults.append(
            Fault("no such head start", "0 to below 1", key="head-start", value=f"{head_start:g}")
        )
    if faults:
        raise BadInput(faults)


def _sum(step: Numbers, start: float) -> tuple[Numbers, NDArray[np.int64]]:
    """Sum that never falls below zero, and where each one last stood at zero (-1: not yet)."""
    total = np.cumsum(step)
    lowest = np.minimum.accumulate(np.minimum(total, -start))
    sums = total - lowest
    at_zero = np.where(sums == 0.0, np.arange(step.size), -1)
    return sums, np.maximum.accumulate(at_zero)


def _signals(sums: Numbers, limit: Numbers, sign: float, words: str) -> tuple[Signal, ...]:
    places = np.flatnonzero(beyond(sums, np.zeros_like(sums), limit, above=True)).tolist()
    return tuple(Signal(p + 1, "beyond-h", sign * float(sums[p]), words) for p in places)


def _episodes(
    sums: Numbers, zeros: NDArray[np.int64], limit: Numbers, start: float
) -> list[tuple[int, int, int, float, float]]:
    """Each run above the limit: began, seen, groups since, sum at its last group, sum before."""
    over = beyond(sums, np.zeros_like(sums), limit, above=True)
    first: dict[int, tuple[int, int]] = {}
    for place in np.flatnonzero(over).tolist():
        zero = int(zeros[place])
        seen, _ = first.get(zero, (place, place))
        first[zero] = (seen, place)
    return [
        (zero + 2, seen + 1, last - zero, float(sums[last]), start if zero < 0 else 0.0)
        for zero, (seen, last) in first.items()
    ]
