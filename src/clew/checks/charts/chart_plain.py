"""A control chart as plain values, ready for JSON or a drawing."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from clew.checks.charts.chart import Chart, Panel, Points
from clew.checks.charts.counts import CountChart


def plain_chart(chart: Chart) -> dict[str, Any]:
    """Turn a chart into lists and numbers.

    Parameters
    ----------
    chart : Chart
        A chart.

    Returns
    -------
    dict
        ``center``, ``ucl``, ``lcl`` and ``signals`` first; a limit is one number where all groups
        share it, or where the chart settles to one, else a list; ``..._by_group`` are always lists.
        All in the unit of the values; null where a group has none.
    """
    panel = chart.panel
    ucl, lcl = listed(panel.ucl), listed(panel.lcl)
    second = chart.second
    if chart.kind in ("cusum", "ewma") and second is not None:
        lcl = listed(second.lcl)
    return {
        "center": chart.center,
        "ucl": ucl if chart.ucl is None else chart.ucl,
        "lcl": lcl if chart.lcl is None else chart.lcl,
        "signals": list(chart.signals),
        "chart": chart.kind,
        "groups": list(chart.groups)
        if chart.groups is not None
        else [str(n) for n in range(1, panel.points.size + 1)],
        "sizes": [int(n) if n == int(n) else n for n in chart.sizes.tolist()],
        "points": listed(panel.points),
        "ucl_by_group": ucl,
        "lcl_by_group": lcl,
        "sd": chart.sd,
        "sd_from": chart.sd_words,
        "sd_of_points": listed(chart.sd_points),
        "lag_one_correlation": chart.lag_one,
        "limit_half_widths": dict(chart.widths),
        "rules": list(chart.rules),
        "signal_reasons": [
            {
                "group": signal.group,
                "name": chart.group_name(signal.group),
                "panel": shown.quantity,
                "rule": signal.rule,
                "value": signal.value,
                "why": signal.words,
            }
            for shown in _panels(chart)
            for signal in shown.signals
        ],
        "second": None if second is None else plain_panel(second),
        "shifts": [
            {
                "up": shift.upward,
                "began": shift.began,
                "seen": shift.seen,
                "level": shift.level,
            }
            for shift in chart.shifts
        ],
        "cautions": list(chart.cautions),
    }


def _panels(chart: Chart) -> list[Panel]:
    """Panels with signals of their own: a cusum's first holds both sums'."""
    if chart.second is None or chart.kind == "cusum":
        return [chart.panel]
    return [chart.panel, chart.second]


def plain_panel(panel: Panel) -> dict[str, Any]:
    """Turn a panel into lists.

    Parameters
    ----------
    panel : Panel
        A panel.

    Returns
    -------
    dict
        Points, centre and limits by group, and the groups that signal, from 1.
    """
    return {
        "quantity": panel.quantity,
        "points": listed(panel.points),
        "center_by_group": listed(panel.center),
        "ucl_by_group": listed(panel.ucl),
        "lcl_by_group": listed(panel.lcl),
        "signals": sorted({signal.group for signal in panel.signals}),
    }


def plain_counts(found: CountChart) -> dict[str, Any]:
    """Turn a chart of counts into lists and numbers.

    Parameters
    ----------
    found : CountChart
        A chart of counts.

    Returns
    -------
    dict
        As `plain_chart`, with the dispersion test and the wider limits.
    """
    test = found.dispersion
    return plain_chart(found.chart) | {
        "dispersion": {
            "statistic": test.statistic,
            "degrees": test.degrees,
            "index": test.index if test.degrees else None,
            "p_more": test.p_more,
            "more_than_chance": test.more_than_chance,
            "between_sd": test.between_sd,
        },
        "wider": plain_panel(found.wider),
    }


def listed(points: Points) -> list[float | None]:
    """List points, null for NaN.

    Parameters
    ----------
    points : array of float, shape (n,)
        Points.

    Returns
    -------
    list of float or None
        The same.
    """
    if not np.isnan(points).any():
        return list(points.tolist())
    return [None if math.isnan(value) else value for value in points.tolist()]
