"""Charts of group means with their spread: X-bar and s, X-bar and R, groups of any size."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from clew.checks.charts.chart import Chart, Panel, constant
from clew.checks.charts.constants import of_sizes
from clew.checks.charts.grouping import Groups
from clew.checks.charts.rules import check_rules, run_signals
from clew.checks.charts.spread import Spread, false_calls_hold, spread_cautions
from clew.checks.charts.variance import lag_one


def xbar_chart(
    groups: Groups,
    spread: Spread,
    *,
    by: str = "sd",
    target: float | None = None,
    width: float = 3.0,
    rules: Sequence[str] = ("beyond-3",),
) -> Chart:
    """Chart group means, and their standard deviations or ranges.

    Parameters
    ----------
    groups : Groups
        The groups, of any sizes; limits are each group's own.
    spread : Spread
        What the limits rest on, from `clew.checks.charts.spread.spread_of`.
    by : str
        ``"sd"`` or ``"range"``: what the second panel shows.
    target : float or None
        Centre, in the unit of the values; the mean of all balls when None.
    width : float
        Half width of the limits, in standard deviations [1].
    rules : sequence of str
        Run rules for the means; the second panel knows its limits only.

    Returns
    -------
    Chart
        Kind ``"xbar-s"`` or ``"xbar-r"``.

    Raises
    ------
    BadInput
        For a rule that is none, or a range of more than 1000 balls.

    Notes
    -----
    Source: NIST/SEMATECH e-Handbook 6.3.2.1 (MEMORY); for one size the limits are X̿ ± A3 s̄ or
    X̿ ± A2 R̄, the second panel's B3 s̄, B4 s̄ or D3 R̄, D4 R̄.
    """
    rules = check_rules(rules)
    if by == "range":
        name, spreads = "range", groups.ranges
        middle, sd = of_sizes("d2", groups.sizes), of_sizes("d3", groups.sizes)
    else:
        name, spreads = "sd", groups.sds
        middle = of_sizes("c4", groups.sizes)
        sd = np.sqrt(1.0 - middle**2)
    middle, sd = middle * spread.near_sd, sd * spread.near_sd
    low, high = np.maximum(0.0, middle - width * sd), middle + width * sd
    second = Panel(name, spreads, middle, high, low, run_signals(spreads, middle, sd, (low, high)))
    kind = "xbar-r" if by == "range" else "xbar-s"
    return chart_of_means(
        kind, "mean", groups, spread, second=second, target=target, width=width, rules=rules
    )


def chart_of_means(
    kind: str,
    plotted: str,
    groups: Groups,
    spread: Spread,
    *,
    second: Panel | None,
    target: float | None,
    width: float,
    rules: tuple[str, ...],
) -> Chart:
    """Chart the mean of each group, which for groups of one ball is the ball.

    Parameters
    ----------
    kind, plotted : str
        What the chart and its first panel are called.
    groups : Groups
        The groups.
    spread : Spread
        What the limits rest on.
    second : Panel or None
        The panel of the spread within or between groups.
    target : float or None
        Centre, in the unit of the values; the mean of all balls when None.
    width : float
        Half width of the limits, in standard deviations [1].
    rules : tuple of str
        Run rules, checked.

    Returns
    -------
    Chart
        The chart.
    """
    center = np.full(groups.count, groups.mean if target is None else target)
    reach = width * spread.points
    lcl, ucl = center - reach, center + reach
    signals = run_signals(groups.means, center, spread.points, (lcl, ucl), rules)
    return Chart(
        kind=kind,
        sizes=groups.sizes.astype(float),
        panel=Panel(plotted, groups.means, center, ucl, lcl, signals),
        second=second,
        center=float(center[0]),
        sd=spread.sd,
        sd_words=spread.words,
        sd_points=spread.points,
        independent=false_calls_hold(spread, groups.sizes, one_by_one=rules == ("beyond-3",)),
        lag_one=lag_one(groups.means),
        ucl=constant(ucl),
        lcl=constant(lcl),
        widths=spread.widths(groups.sizes, width),
        rules=rules,
        cautions=spread_cautions(groups, spread),
    )
