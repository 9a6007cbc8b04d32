"""One control chart of Band, drawn and told; what no target moves is kept while its balls stay.

A lead who tries targets moves one line in it: points, limits and table are made once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from clew.checks.charts.chart import Chart as Control
from clew.checks.charts.chart import Panel, Signal
from clew.languages import figure, first_upper, joined, say, spoken, tongue
from clew.web.band.answer import WinderChart
from clew.web.band.drawing import LARGE, SMALL, Drawing, Marks, control_drawing
from clew.web.band.figures import Measure
from clew.web.band.kept import Kept
from clew.web.drawn.chart_svg import Chart, Table

MOST_DRAWN = 240
"""Groups of one winder that are drawn: the last of them."""
MOST_ROWS = 60
"""Groups that a chart's table lists: the last of them, and all that signal."""
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
class Place:
    """Where a chart stands on its page.

    Attributes
    ----------
    key, title : str
        Its name on the page, and what it shows.
    y_domain : (float, float)
        Ends of the upright axis.
    most : int
        Places along.
    large : bool
        Whether it is drawn large.
    """

    key: str
    title: str
    y_domain: tuple[float, float]
    most: int
    large: bool


_tables: Kept[Table] = Kept(128)
_drawings: Kept[Drawing] = Kept(128)
_written: Kept[str] = Kept(128)


def control_chart(
    of: tuple[object, ...],
    one: WinderChart,
    panel: Panel,
    measure: Measure,
    target: float | None,
    place: Place,
) -> Chart:
    """Draw one panel of a winder's chart.

    Parameters
    ----------
    of : tuple
        Which charts: tells them from any other, as `clew.web.band.answer.Charts.key`.
    one : WinderChart
        The winder's chart.
    panel : Panel
        Which of its panels.
    measure : Measure
        The reader's printing.
    target : float or None
        Target [g or m].
    place : Place
        Where it stands.

    Returns
    -------
    Chart
        The drawing with its table.
    """
    which = (*of, one.winder, panel is one.chart.panel, measure.unit)
    table = _tables.of(which, lambda: _table(one, panel, measure))
    at = (place.key, place.y_domain, place.most, place.large, tongue().code)
    drawing = _drawings.of((*which, *at), lambda: _drawing(one, panel, measure, place, table))
    if target is None or one.chart.kind == "cusum":
        return Chart(place.key, place.title, drawing.aimed(None), table)
    level = round(measure.plain(target), 6)
    word = spoken(say("target")) if place.large else ""
    return Chart(place.key, place.title, drawing.aimed(level, word), table)


def held_table(
    of: tuple[object, ...], measure: Measure, write: Callable[[Table, str], str], chart: Chart
) -> str:
    """Write the table of a chart out, or give what was written while its balls stay.

    Parameters
    ----------
    of : tuple
        Which charts, as for `control_chart`.
    measure : Measure
        The reader's printing.
    write : callable
        Writes a table and its title, in the language that is spoken now.
    chart : Chart
        The chart.

    Returns
    -------
    str
        What `write` gave.
    """
    which = (*of, measure.unit, tongue().code, chart.key, str(chart.title))
    return _written.of(which, lambda: write(chart.table, chart.title))


def _drawing(
    one: WinderChart, panel: Panel, measure: Measure, place: Place, table: Table
) -> Drawing:
    chart = one.chart
    count = int(panel.points.size)
    first = count - shown_of(chart)
    both = [panel]
    if chart.kind in ("cusum", "ewma") and chart.second is not None and panel is chart.panel:
        both.append(chart.second)
    counted = is_counted(chart)

    def y_of(inside: float) -> float:
        return round(inside if counted else measure.plain(inside), 6)

    signals = _signal_marks(panel.signals, first, y_of)
    if chart.kind == "ewma" and chart.second is not None and panel is chart.panel:
        signals += _signal_marks(chart.second.signals, first, y_of)
    marks = Marks(
        threads=[_pairs(shown.points, first, y_of) for shown in both],
        limits=[_pairs(side, first, y_of) for shown in both for side in (shown.ucl, shown.lcl)],
        centres=[_pairs(panel.center, first, y_of)],
        signals=signals,
        labels=_limit_labels(both, y_of) if place.large else [],
        x_ticks=_ticks(one, first, place.most, with_clocks=place.large),
    )
    described = joined(
        "; ", (joined(", ", [cell for cell in row if cell]) for row in table.rows[-8:])
    )
    upward = say("sums, in sd") if counted else joined(", ", (_axis(chart, panel), measure.unit))
    return control_drawing(
        place.key, (spoken(place.title), spoken(described)),
        (spoken(_x_title(one)), spoken(upward)), marks, place.y_domain, place.most,
        LARGE if place.large else SMALL,
    )  # fmt: skip


def shown_of(chart: Control) -> int:
    """Count the groups that are drawn."""
    return min(int(chart.panel.points.size), MOST_DRAWN)


def is_counted(chart: Control) -> bool:
    """Whether the points are standard deviations, not grams or metres."""
    return chart.kind == "cusum" and any("standard deviations" in one for one in chart.cautions)


def quantity_of(chart: Control) -> str:
    """Say what the chart's points are."""
    return QUANTITY.get(chart.panel.quantity, chart.panel.quantity)


def _axis(chart: Control, panel: Panel) -> str:
    if panel is chart.panel:
        return quantity_of(chart)
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
    shown = shown_of(one.chart)
    found = []
    for place in range(0, most, step):
        words = str(first + place + 1)
        if with_clocks and one.clocks and place < shown:
            words = one.clocks[first + place] or words
        found.append((float(place + 1), words))
    return tuple(found)


def _table(one: WinderChart, panel: Panel, measure: Measure) -> Table:
    """The last groups as text, with those that signal."""
    chart, counted = one.chart, is_counted(one.chart)
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
