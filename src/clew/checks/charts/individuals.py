"""Chart of single balls with their moving range."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from clew.checks.charts.chart import Chart, Panel
from clew.checks.charts.constants import d2, d3
from clew.checks.charts.grouping import Groups
from clew.checks.charts.rules import check_rules, run_signals
from clew.checks.charts.spread import Spread, moving_ranges
from clew.checks.charts.subgroups import chart_of_means
from clew.faults import BadInput, Fault
from clew.languages import say


def individuals_chart(
    groups: Groups,
    spread: Spread,
    *,
    span: int = 2,
    target: float | None = None,
    width: float = 3.0,
    rules: Sequence[str] = ("beyond-3",),
) -> Chart:
    """Chart balls one by one, and the range of each with those just before it.

    Parameters
    ----------
    groups : Groups
        Groups of one ball.
    spread : Spread
        What the limits rest on, from `clew.checks.charts.spread.spread_of`.
    span : int
        Balls in a moving range.
    target : float or None
        Centre, in the unit of the values; the mean of all balls when None.
    width : float
        Half width of the limits, in standard deviations [1].
    rules : sequence of str
        Run rules for the balls; neighbouring moving ranges share balls, so none for them.

    Returns
    -------
    Chart
        Kind ``"individuals"``; without its second panel where there are too few balls for one.

    Raises
    ------
    BadInput
        For a group of several balls, or a rule that is none.

    Notes
    -----
    Source: NIST/SEMATECH e-Handbook 6.3.2.2 (READ second hand): x̄ ± 3 MR̄/d2.
    """
    if groups.sizes.max() > 1:
        raise BadInput(
            Fault(
                say("a group holds several balls"),
                say("one ball a group (--group-size 1), or the chart xbar-s"),
            )
        )
    rules = check_rules(rules)
    second = None
    if groups.count >= span:
        ranges = moving_ranges(groups.means, span)
        middle = np.full(groups.count, d2(span) * spread.near_sd)
        sd = np.full(groups.count, d3(span) * spread.near_sd)
        low, high = np.maximum(0.0, middle - width * sd), middle + width * sd
        calls = run_signals(ranges, middle, sd, (low, high))
        second = Panel("moving range", ranges, middle, high, low, calls)
    return chart_of_means(
        "individuals",
        "ball",
        groups,
        spread,
        second=second,
        target=target,
        width=width,
        rules=rules,
    )
