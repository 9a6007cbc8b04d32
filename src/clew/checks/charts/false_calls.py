"""How often a chart calls when nothing has happened: the price of its limits and rules."""

from __future__ import annotations

import numpy as np

from clew.checks.charts.chart import ON_LIMIT, Chart, constant
from clew.checks.charts.charting import ChartTerms
from clew.faults import BadInput


def false_call_groups(chart: Chart, terms: ChartTerms) -> float | None:
    """Give the mean number of groups from one false call to the next.

    Parameters
    ----------
    chart : Chart
        The chart.
    terms : ChartTerms
        What it was drawn from.

    Returns
    -------
    float or None
        Groups, for independent points, normal or counts, and limits known exactly [1]; None where
        no law is at hand: cones that tie points together, run rules on counts or with limits of
        another width than three, points of unlike spread in a cusum, no spread at all.
    """
    if not chart.independent:
        return None
    try:
        return _groups(chart, terms)
    except BadInput:
        return None


def _groups(chart: Chart, terms: ChartTerms) -> float | None:
    if chart.kind == "ewma" and chart.sd > 0.0:
        from clew.checks.charts.run_length_ewma import ewma_run_length

        exact = terms.head_start == 0.0 if terms.exact is None else terms.exact
        return ewma_run_length(
            terms.weight, terms.width, head_start=terms.head_start, exact_limits=exact
        ).arl
    if chart.kind == "cusum":
        from clew.checks.charts.run_length_cusum import cusum_run_length

        point = constant(chart.sd_points)
        if (point is None and terms.in_unit) or point == 0.0:
            return None
        scale = point if terms.in_unit and point is not None else 1.0
        h = terms.h / scale
        return cusum_run_length(terms.k / scale, h, head_start=terms.head_start * h).arl
    return _counts(chart) if chart.kind in ("c", "u") else _shewhart(chart, terms)


def _shewhart(chart: Chart, terms: ChartTerms) -> float | None:
    if not chart.sd > 0.0:
        return None
    if chart.rules == ("beyond-3",):
        from clew.checks.charts.run_length_shewhart import shewhart_run_length

        return shewhart_run_length(terms.width).arl
    if terms.width != 3.0:
        return None
    from clew.checks.charts.run_length_rules import rules_run_length

    return rules_run_length(chart.rules)


def _counts(chart: Chart) -> float | None:
    """Mean over the groups of the chance that a count of chance alone passes a limit."""
    if chart.rules != ("beyond-3",) or chart.center == 0.0:
        return None
    from scipy.special import pdtr, pdtrc

    expected = chart.center * chart.sizes
    most = np.floor(chart.panel.ucl * chart.sizes * (1.0 + ON_LIMIT))
    least = np.ceil(chart.panel.lcl * chart.sizes * (1.0 - ON_LIMIT)) - 1.0
    chance = pdtrc(most, expected) + np.where(least < 0.0, 0.0, pdtr(np.abs(least), expected))
    return float(1.0 / chance.mean())
