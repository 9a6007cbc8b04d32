"""Band's control charts, small side by side and large, on axes that hold all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.charts.chart import Chart as Control
from clew.checks.charts.chart import Panel
from clew.languages import say
from clew.web.band.answer import Charts, WinderChart
from clew.web.band.chart_words import group_words
from clew.web.band.control import (
    MOST_DRAWN,
    QUANTITY,
    Place,
    control_chart,
    is_counted,
    quantity_of,
    shown_of,
)
from clew.web.band.figures import Measure
from clew.web.drawn.chart_svg import Chart

_ROOM = 0.06


@dataclass(frozen=True, slots=True)
class Small:
    """One winder's panel.

    Attributes
    ----------
    winder, words : str
        Whose it is, and whether it signals.
    chart : Chart
        Its drawing with its table.
    """

    winder: str
    words: str
    chart: Chart


def panels(charts: Charts, target: float | None, measure: Measure) -> list[Small]:
    """Draw every winder's chart small, all on one scale."""
    if not charts.each:
        return []
    y_domain = _domain([one.chart for one in charts.each], target, measure)
    most = max((shown_of(one.chart) for one in charts.each), default=1)
    found = []
    for place, one in enumerate(charts.each):
        signals, second = one.chart.signals, one.chart.second
        words = say("no signal")
        if not signals and second is not None and second.signals:
            words = say("spread signals")
        elif signals:
            at, more = group_words(one, signals[0]), len(signals) - 1
            words = (
                say("signals at {group} and {n} more", group=at, n=more)
                if more
                else say("signals at {group}", group=at)
            )
        title = say(
            "{winder}: {quantity} of its balls, {words}",
            winder=_whose(one),
            quantity=quantity_of(one.chart),
            words=words,
        )
        found.append(
            Small(
                one.winder,
                words,
                control_chart(
                    charts.key, one, one.chart.panel, measure, target,
                    Place(f"panel-{place}", title, y_domain, most, large=False),
                ),
            )
        )  # fmt: skip
    return found


def large(charts: Charts, one: WinderChart, target: float | None, measure: Measure) -> list[Chart]:
    """Draw one winder's chart large, and its spread beside it where the chart has it."""
    chart = one.chart
    most = shown_of(chart)
    title = say(
        "{winder}: {quantity}, in order of time", winder=_whose(one), quantity=quantity_of(chart)
    )
    found = [
        control_chart(
            charts.key, one, chart.panel, measure, target,
            Place("large", title, _domain([chart], target, measure), most, large=True),
        )
    ]  # fmt: skip
    second = chart.second
    if second is not None and chart.kind not in ("cusum", "ewma"):
        words = (
            say("spread inside a group (s)")
            if second.quantity == "sd"
            else QUANTITY.get(second.quantity, second.quantity)
        )
        spread = say("{winder}: {words}", winder=_whose(one), words=words)
        found.append(
            control_chart(
                charts.key, one, second, measure, None,
                Place("spread", spread, _panel_domain([second], [0.0], measure), most, large=True),
            )
        )  # fmt: skip
    return found


def _whose(one: WinderChart) -> str:
    return say("Winder {winder}", winder=one.winder) if one.winder else say("All balls")


def _domain(
    charts: Sequence[Control], target: float | None, measure: Measure
) -> tuple[float, float]:
    """Ends of the upright axis that hold every point and limit of these charts."""
    ends: list[tuple[float, float]] = []
    for chart in charts:
        panels = [chart.panel]
        if chart.kind in ("cusum", "ewma") and chart.second is not None:
            panels.append(chart.second)
        more = [] if target is None or chart.kind == "cusum" else [target]
        counted = is_counted(chart)
        ends.append(_panel_domain(panels, more, None if counted else measure))
    low, high = min(one[0] for one in ends), max(one[1] for one in ends)
    return low, high


def _panel_domain(
    panels: Sequence[Panel], more: Sequence[float], measure: Measure | None
) -> tuple[float, float]:
    parts = [part[-MOST_DRAWN:] for one in panels for part in (one.points, one.ucl, one.lcl)]
    values = np.concatenate([*parts, np.array(list(more), dtype=float)])
    values = values[np.isfinite(values)]
    low, high = (float(values.min()), float(values.max())) if values.size else (0.0, 1.0)
    if measure is not None:
        low, high = measure.plain(low), measure.plain(high)
    room = _ROOM * (high - low) or 0.01 * abs(high) or 1.0
    digits = max(0, 2 - math.floor(math.log10(high - low + 2 * room)))
    return round(low - 1.4 * room, digits), round(high + 1.6 * room, digits)
