"""What `clew weigh charts` says: words first, then limits, then the groups that signal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import click

from clew.checks.charts.chart import Chart, Signal
from clew.checks.charts.counts import CountChart
from clew.cli.output import print_rows, print_table

MOST_SHIFTS = 5
"""Shifts that the headline tells."""

MOST_GROUPS = 30
"""A chart of so few groups is printed whole; of a longer one the first that signal."""


@dataclass(frozen=True, slots=True)
class Told:
    """A chart with what its words need.

    Attributes
    ----------
    who : str
        Whose it is: "Winder 4", "All balls".
    unit : str
        Unit of its values.
    clocks : tuple of str
        Time of day of each group's first ball; empty where the file tells none.
    false_call_groups : float or None
        Groups from one false call to the next.
    many : bool
        Whether `who` is a plural.
    """

    chart: Chart
    who: str
    unit: str
    clocks: tuple[str, ...]
    false_call_groups: float | None
    many: bool = False

    def number(self, value: float) -> str:
        """Write a value with the digits that its spread leaves worth writing."""
        if math.isnan(value):
            return "–"
        text = f"{value:.{_decimals(self.chart)}f}"
        return text.lstrip("-") if not text.strip("-0.") else text

    def amount(self, value: float) -> str:
        """Write a value with its unit."""
        return f"{self.number(value)} {self.unit}".strip()

    def many_points(self, count: float) -> str:
        """Say so many groups, or balls where each stands for itself."""
        alone = self.chart.kind not in ("c", "u") and bool((self.chart.sizes == 1.0).all())
        noun = "ball" if alone else "group"
        if count == 1.0:
            return f"1 {noun}"
        return (
            f"{count:.3g} {noun}s" if count < 1000.0 else f"{count:,.0f} {noun}s".replace(",", " ")
        )

    def group(self, group: int) -> str:
        """Name a group with its time of day."""
        clock = self.clocks[group - 1] if self.clocks else ""
        return f"group {self.chart.group_name(group)}" + (f" ({clock})" if clock else "")


def _decimals(chart: Chart) -> int:
    typical = float(chart.sd_points[chart.sd_points.size // 2])
    if not typical > 0.0:
        return 3
    return min(9, max(0, 1 + math.ceil(-math.log10(typical))))


def headline(told: Told) -> str:
    """Say in a sentence or two what a chart says."""
    chart = told.chart
    if chart.kind == "cusum" and chart.shifts:
        shifts = len(chart.shifts)
        told_shifts = [
            _shift_words(told, chart, place) for place in range(min(shifts, MOST_SHIFTS))
        ]
        if shifts > MOST_SHIFTS:
            told_shifts.append(f"And {shifts - MOST_SHIFTS} more shifts.")
        return " ".join(told_shifts)
    called = _all_signals(chart)
    groups = float(chart.panel.points.size)
    if not called:
        said = f"{told.who}: no signal in {told.many_points(groups)}."
        return f"{said} {false_call_words(told)}".rstrip()
    first = called[0]
    others = sorted({signal.group for signal in called} - {first.group})
    more = ""
    if others:
        named = ", ".join(chart.group_name(group) for group in others[:8])
        more = f"; also at {named}" + (f" and {len(others) - 8} more" if len(others) > 8 else "")
    calls = "signal" if told.many else "signals"
    return f"{told.who} {calls} at {told.group(first.group)}: {_signal_words(told, first)}{more}."


def _all_signals(chart: Chart) -> list[Signal]:
    called = list(chart.panel.signals)
    if chart.kind == "ewma" and chart.second is not None:
        called += chart.second.signals
    return sorted(called, key=lambda signal: signal.group)


def _signal_words(told: Told, signal: Signal) -> str:
    off = signal.value - told.chart.center
    side = "above" if off >= 0.0 else "below"
    words = (
        f"{told.chart.panel.quantity} {told.amount(signal.value)}, "
        f"{told.amount(abs(off))} {side} its centre"
    )
    return words if signal.rule == "beyond-3" else f"{words} ({signal.words})"


def _shift_words(told: Told, chart: Chart, place: int) -> str:
    shift = chart.shifts[place]
    went = "rose" if shift.upward else "fell"
    off = abs(shift.level - chart.center)
    return (
        f"{told.who}: the level {went} at {told.group(shift.began)}, by about {told.amount(off)} "
        f"to {told.amount(shift.level)}; seen at {told.group(shift.seen)}."
    )


def false_call_words(told: Told) -> str:
    """Say how often such a chart calls when nothing has happened."""
    often = _once_in(told)
    return f"Such a chart calls falsely {often}." if often else ""


def _once_in(told: Told) -> str:
    groups = told.false_call_groups
    if groups is None:
        return ""
    rules = " with these rules" if len(told.chart.rules) > 1 else ""
    return f"once in about {told.many_points(groups)}{rules}"


def tell(told: Told, *, count: CountChart | None = None) -> None:
    """Print one chart: its limits, where they came from, its groups, and what weakens it."""
    chart = told.chart
    rows = [("centre" if chart.kind != "cusum" else "target", told.amount(chart.center))]
    rows.append(("limits", _limit_words(told)))
    if chart.kind not in ("c", "u"):
        rows.append(("sd of one ball", f"{chart.sd:.4g} {told.unit}, {chart.sd_words}"))
    rows += [
        (f"half width, {name}", f"{reach:.4g} {told.unit}".strip())
        for name, reach in chart.widths
        if len(chart.widths) > 1
    ]
    if count is not None:
        test = count.dispersion
        rows.append(
            (
                "against chance",
                f"index of dispersion {test.index:.3g}, p {test.p_more:.2g}"
                if test.degrees
                else "one group tells nothing",
            )
        )
        if test.more_than_chance:
            called = sorted({signal.group for signal in count.wider.signals})
            named = ", ".join(chart.group_name(group) for group in called) or "none"
            rows.append(("beyond the wider limits", named))
    second = chart.second
    if second is not None and chart.kind not in ("ewma", "cusum"):
        called = sorted({signal.group for signal in second.signals})
        named = ", ".join(chart.group_name(group) for group in called[:8]) or "none"
        rows.append((f"{second.quantity} beyond its limits", named))
    often = _once_in(told)
    if often:
        chance = ", were only chance at work" if count is not None else ""
        rows.append(("false calls", often + chance))
    print_rows(rows)
    _print_groups(told)
    for caution in chart.cautions:
        click.echo(caution)


def _limit_words(told: Told) -> str:
    chart = told.chart
    if chart.kind == "cusum":
        assert chart.ucl is not None
        return f"sums to ±{told.number(chart.ucl)}"
    if chart.ucl is not None and chart.lcl is not None:
        settles = " (once settled)" if chart.kind == "ewma" and not chart.second else ""
        return f"{told.number(chart.lcl)} to {told.amount(chart.ucl)}{settles}"
    low, high = chart.panel.lcl, chart.panel.ucl
    return (
        f"{told.number(float(low.min()))} to {told.amount(float(high.max()))}, "
        "by the size of each group"
    )


def _print_groups(told: Told) -> None:
    chart = told.chart
    panel, second = chart.panel, chart.second
    marks: dict[int, list[str]] = {}
    panels = [panel] if second is None or chart.kind == "cusum" else [panel, second]
    for shown in panels:
        for signal in shown.signals:
            words = signal.words if signal.rule in ("beyond-3", "beyond-h") else signal.rule
            if shown is not panel:
                words = f"{shown.quantity} {words}"
            marks.setdefault(signal.group, []).append(words)
    count = panel.points.size
    listed: Sequence[int] = range(1, count + 1) if count <= MOST_GROUPS else sorted(marks)
    head = ["group", "units" if chart.kind in ("c", "u") else "balls"]
    if told.clocks:
        head.insert(1, "time")
    limits = chart.kind != "cusum"  # a cusum's are the same for every group
    head += [panel.quantity, "from", "to"] if limits else [panel.quantity]
    if second is not None:
        head.append(second.quantity)
    head.append("signal")
    lower = second.lcl if second is not None and chart.kind == "ewma" else panel.lcl
    rows = []
    for group in listed[:MOST_GROUPS]:
        at = group - 1
        row = [chart.group_name(group), f"{chart.sizes[at]:g}"]
        if told.clocks:
            row.insert(1, told.clocks[at])
        columns = (panel.points, lower, panel.ucl) if limits else (panel.points,)
        row += [told.number(float(column[at])) for column in columns]
        if second is not None:
            row.append(told.number(float(second.points[at])))
        row.append("; ".join(marks.get(group, [])))
        rows.append(row)
    if rows:
        print_table(head, rows)
    if len(listed) > MOST_GROUPS:
        click.echo(f"... and {len(listed) - MOST_GROUPS} more groups that signal.")
