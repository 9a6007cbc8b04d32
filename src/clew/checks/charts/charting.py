"""From balls to a chart: grouping, the right variance, and the kind of chart that was asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.chart import Chart
from clew.checks.charts.cusum import cusum_chart
from clew.checks.charts.ewma import ewma_chart
from clew.checks.charts.grouping import group_balls
from clew.checks.charts.individuals import individuals_chart
from clew.checks.charts.rules import check_rules
from clew.checks.charts.spread import spread_of
from clew.checks.charts.subgroups import xbar_chart
from clew.checks.charts.variance import cone_spread, cones_repeat
from clew.faults import BadInput, Fault
from clew.languages import say

KINDS = ("xbar-s", "xbar-r", "individuals", "ewma", "cusum")
SUMS = ("ewma", "cusum")


@dataclass(frozen=True, slots=True)
class ChartTerms:
    """What chart to draw.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    target : float or None
        Centre, in the unit of the values; the mean of all balls when None.
    sd : float or None
        Standard deviation of one ball, in the unit of the values; from the data when None.
    width : float
        Half width of the limits, in standard deviations [1].
    rules : tuple of str
        Run rules; not for the charts of `SUMS`, whose points are not independent.
    limits_from : str or None
        ``"within"`` or ``"cones"``; None for cones where the data tell them from balls.
    weight : float
        Weight of the newest group in an ewma [1].
    exact : bool or None
        Exact limits of an ewma.
    head_start : float
        Part of the way to its limit at which an ewma or a cusum starts [1].
    k, h : float
        Allowance and limit of a cusum [1], or in the unit of the values where `in_unit`.
    in_unit : bool
        Whether they are in the unit of the values.
    span : int
        Balls in a moving range.
    """

    kind: str = "xbar-s"
    target: float | None = None
    sd: float | None = None
    width: float = 3.0
    rules: tuple[str, ...] = ("beyond-3",)
    limits_from: str | None = None
    weight: float = 0.2
    exact: bool | None = None
    head_start: float = 0.0
    k: float = 0.5
    h: float = 5.0
    in_unit: bool = False
    span: int = 2


def chart_of(
    values: NDArray[np.float64],
    places: NDArray[np.int64],
    terms: ChartTerms,
    cones: NDArray[np.int32] | None = None,
) -> Chart:
    """Chart balls.

    Parameters
    ----------
    values : array of float, shape (balls,)
        What was measured; no NaN.
    places : array of int64, shape (balls,)
        Place of each ball's group, from 0, every place taken.
    terms : ChartTerms
        What chart to draw.
    cones : array of int32, shape (balls,), or None
        Place of each ball's cone, -1 where it has no name; None where cones are not known.

    Returns
    -------
    Chart
        The chart.

    Raises
    ------
    BadInput
        Where the balls do not bear the chart: too few, or all in groups of a size it cannot use.
    """
    _check(terms)
    groups = group_balls(values, places)
    known = cones is not None and cones_repeat(cones)
    if terms.limits_from == "cones" and terms.sd is not None:
        raise BadInput(
            Fault("cones are not counted where the spread is given", "one of them",
                  key="limits-from")
        )  # fmt: skip
    if terms.limits_from == "cones" and not known:
        raise BadInput(
            Fault(
                say("cones cannot be told from balls here"),
                say("a column cone: two cones or more, at least one with several balls"),
                key="limits-from",
            )
        )
    by_range = terms.kind == "xbar-r"
    spread = spread_of(
        groups,
        by="range" if by_range else "sd",
        span=terms.span,
        given_sd=terms.sd,
        cones=cone_spread(values, places, cones) if cones is not None and known else None,
        count_cones=terms.limits_from != "within",
    )
    if terms.kind in ("xbar-s", "xbar-r"):
        if groups.sizes.max() < 2:
            raise BadInput(
                Fault(
                    say("every group holds one ball"),
                    say("groups of two or more (--group-size 5), or the chart individuals"),
                )
            )
        return xbar_chart(
            groups,
            spread,
            by="range" if by_range else "sd",
            target=terms.target,
            width=terms.width,
            rules=terms.rules,
        )
    if terms.kind == "individuals":
        return individuals_chart(
            groups,
            spread,
            span=terms.span,
            target=terms.target,
            width=terms.width,
            rules=terms.rules,
        )
    if terms.kind == "ewma":
        return ewma_chart(
            groups,
            spread,
            weight=terms.weight,
            width=terms.width,
            exact=terms.exact,
            head_start=terms.head_start,
            target=terms.target,
        )
    return cusum_chart(
        groups,
        spread,
        target=terms.target,
        k=terms.k,
        h=terms.h,
        in_unit=terms.in_unit,
        head_start=terms.head_start,
    )


def _check(terms: ChartTerms) -> None:
    faults = []
    if terms.kind not in KINDS:
        faults.append(Fault("no such chart", "one of " + ", ".join(KINDS), value=terms.kind))
    if terms.sd is not None and not (np.isfinite(terms.sd) and terms.sd > 0.0):
        faults.append(
            Fault("no such standard deviation", "above 0", key="sd", value=f"{terms.sd:g}")
        )
    if terms.target is not None and not np.isfinite(terms.target):
        faults.append(Fault("no such target", "a number", key="target", value=f"{terms.target:g}"))
    if not (np.isfinite(terms.width) and terms.width > 0.0):
        faults.append(Fault("no such width", "above 0", key="width", value=f"{terms.width:g}"))
    if terms.kind in SUMS and set(check_rules(terms.rules)) - {"beyond-3"}:
        faults.append(
            Fault(
                "run rules take points as independent, and these add up",
                "no --rules with ewma or cusum",
                key="rules",
            )
        )
    if faults:
        raise BadInput(faults)
