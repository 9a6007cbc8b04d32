"""Band's control charts with their tables, printed in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from clew.checks.charts.chart import Chart as Control
from clew.checks.charts.chart import Panel, Signal
from clew.languages import figure, first_upper, joined, say, spoken
from clew.web.band_answer import Charts, WinderChart
from clew.web.band_chart_words import group_words
from clew.web.band_drawing import LARGE, SMALL, Marks, control_drawing
from clew.web.band_figures import Measure
from clew.web.chart_svg import Chart, Table

MOST_DRAWN = 240
"""Groups of one winder that are drawn: the last of them."""
MOST_ROWS = 60
"""Groups that a chart's table lists: the last of them, and all that signal."""
_ROOM = 0.06
_Scale = Callable[[float], float]

QUANTITY = {
    "mean": say("mean of a group"),
    "ball": say("single ball"),
    "average": say("moving average"),
    "upper sum": say("sum of deviations"),
    "moving range": say("moving range"),
    "range": say("range"),
    "average started high": say("average started high"),
    "average started low": say("average started low"),
}


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
    most = max((_shown(one.chart) for one in charts.each), default=1)
    found = []
    for place, one in enumerate(charts.each):
        signals = one.chart.signals
        words = say("no signal")
        if signals:
            at, more = group_words(one, signals[0]), len(signals) - 1
            words = (
                say("signals at {group} and {n} more", group=at, n=more)
                if more
                else say("signals at {group}", group=at)
            )
        title = say(
            "{winder}: {quantity} of its balls, {words}",
            winder=_whose(one),
            quantity=_quantity(one.chart),
            words=words,
        )
        found.append(
            Small(
                one.winder,
                words,
                _control(f"panel-{place}", title, one, one.chart.panel, measure, target,
                         y_domain=y_domain, most=most, large=False),
            )
        )  # fmt: skip
    return found


def large(one: WinderChart, target: float | None, measure: Measure) -> list[Chart]:
    """Draw one winder's chart large, and its spread beside it where the chart has it."""
    chart = one.chart
    most = _shown(chart)
    title = say(
        "{winder}: {quantity}, in order of time", winder=_whose(one), quantity=_quantity(chart)
    )
    found = [
        _control("large", title, one, chart.panel, measure, target,
                 y_domain=_domain([chart], target, measure), most=most, large=True)
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
            _control("spread", spread, one, second, measure, None,
                     y_domain=_panel_domain([second], [0.0], measure), most=most, large=True)
        )  # fmt: skip
    return found


def _whose(one: WinderChart) -> str:
    return say("Winder {winder}", winder=one.winder) if one.winder else say("All balls")


def _quantity(chart: Control) -> str:
    return QUANTITY.get(chart.panel.quantity, chart.panel.quantity)


def _shown(chart: Control) -> int:
    return min(int(chart.panel.points.size), MOST_DRAWN)


def _counted(chart: Control) -> bool:
    """Whether the points are standard deviations, not grams or metres."""
    return chart.kind == "cusum" and any("standard deviations" in one for one in chart.cautions)


def _plain(chart: Control, measure: Measure, inside: float) -> float:
    return inside if _counted(chart) else measure.plain(inside)


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
        counted = _counted(chart)
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


def _control(
    key: str,
    title: str,
    one: WinderChart,
    panel: Panel,
    measure: Measure,
    target: float | None,
    *,
    y_domain: tuple[float, float],
    most: int,
    large: bool,
) -> Chart:
    chart = one.chart
    count = int(panel.points.size)
    first = count - _shown(chart)
    both = [panel]
    if chart.kind in ("cusum", "ewma") and chart.second is not None and panel is chart.panel:
        both.append(chart.second)
    counted = _counted(chart)

    def y_of(inside: float) -> float:
        return round(inside if counted else measure.plain(inside), 6)

    threads = [_pairs(shown.points, first, y_of) for shown in both]
    limits = [_pairs(side, first, y_of) for shown in both for side in (shown.ucl, shown.lcl)]
    labels = _limit_labels(both, y_of) if large else []
    level = None if target is None or chart.kind == "cusum" else y_of(target)
    if level is not None and large:
        labels.append((level, spoken(say("target")), "start"))
    signals = _signal_marks(panel.signals, first, y_of)
    if chart.kind == "ewma" and chart.second is not None and panel is chart.panel:
        signals += _signal_marks(chart.second.signals, first, y_of)
    marks = Marks(
        threads=threads,
        limits=limits,
        centres=[_pairs(panel.center, first, y_of)],
        signals=signals,
        target=level,
        labels=labels,
        x_ticks=_ticks(one, first, most, with_clocks=large),
    )
    found = _table(one, panel, measure, counted=counted)
    described = joined(
        "; ", (joined(", ", [cell for cell in row if cell]) for row in found.rows[-8:])
    )
    upward = say("sums, in sd") if counted else joined(", ", (_axis(chart, panel), measure.unit))
    svg = control_drawing(
        key, (spoken(title), spoken(described)), (spoken(_x_title(one)), spoken(upward)),
        marks, y_domain, most,
        LARGE if large else SMALL,
    )  # fmt: skip
    return Chart(key, title, svg, found)


def _axis(chart: Control, panel: Panel) -> str:
    if panel is chart.panel:
        return _quantity(chart)
    return (
        say("s of a group")
        if panel.quantity == "sd"
        else QUANTITY.get(panel.quantity, panel.quantity)
    )


def _x_title(one: WinderChart) -> str:
    if one.chart.kind == "individuals":
        return say("time of the ball") if one.clocks else say("ball")
    return say("time of each group’s first ball") if one.clocks else say("group")


def _pairs(values: Any, first: int, y_of: _Scale) -> list[tuple[float, float]]:
    return [
        (float(place + 1), y_of(value))
        for place, value in enumerate(values[first:].tolist())
        if math.isfinite(value)
    ]


def _limit_labels(both: Sequence[Panel], y_of: _Scale) -> list[tuple[float, str, str]]:
    found = []
    for name, limits, where in (
        (say("upper limit"), both[0].ucl, "over"),
        (say("lower limit"), both[-1].lcl, "under"),
    ):
        value = float(limits[-1])
        if math.isfinite(value) and (value or where == "over"):
            found.append((y_of(value), spoken(name), where))
    return found


def _signal_marks(
    signals: Sequence[Signal], first: int, y_of: _Scale
) -> list[tuple[float, float, str]]:
    """Triangles at every signal; the word over the first of each run of them."""
    called = {signal.group for signal in signals}
    word = spoken(say("signal"))
    return [
        (
            float(signal.group - first),
            y_of(signal.value),
            "" if signal.group - 1 in called else word,
        )
        for signal in signals
        if signal.group > first
    ]


def _ticks(
    one: WinderChart, first: int, most: int, *, with_clocks: bool
) -> tuple[tuple[float, str], ...]:
    step = max(1, math.ceil(most / 4 / 5) * 5) if most > 8 else 2
    shown = _shown(one.chart)
    found = []
    for place in range(0, most, step):
        words = str(first + place + 1)
        if with_clocks and one.clocks and place < shown:
            words = one.clocks[first + place] or words
        found.append((float(place + 1), words))
    return tuple(found)


def _table(one: WinderChart, panel: Panel, measure: Measure, *, counted: bool) -> Table:
    """The last groups as text, with those that signal."""
    chart = one.chart
    count = int(panel.points.size)
    reasons: dict[int, str] = {}
    signals = list(panel.signals)
    if chart.kind == "ewma" and chart.second is not None and panel is chart.panel:
        signals += chart.second.signals
    for signal in signals:
        reasons.setdefault(signal.group, signal.words)
    listed = sorted(
        {*range(max(1, count - MOST_ROWS + 1), count + 1), *sorted(reasons)[:MOST_ROWS]}
    )

    def text(value: float) -> str:
        if math.isnan(value):
            return "–"
        return figure(f"{value:.2f}".replace("-", "−")) if counted else measure.bare(value)

    noun = say("Ball") if chart.kind == "individuals" else say("Group")
    unit = "sd" if counted else measure.unit
    head = [
        noun,
        *([say("Time")] if one.clocks else []),
        say("Balls"),
        joined(", ", (first_upper(_axis(chart, panel)), unit)),
    ]
    rows = []
    both = chart.kind == "cusum" and chart.second is not None
    head += [say("Lower sum")] if both else [say("From"), say("To")]
    for group in listed:
        at = group - 1
        row = [chart.group_name(group), *([one.clocks[at]] if one.clocks else [])]
        row += [f"{chart.sizes[at]:g}", text(float(panel.points[at]))]
        if both and chart.second is not None:
            row.append(text(float(chart.second.points[at])))
        else:
            row += [text(float(panel.lcl[at])), text(float(panel.ucl[at]))]
        rows.append((*row, reasons.get(group, "")))
    return Table((*head, say("Signal")), tuple(rows))
