"""What Band says of its charts: which signal, and which variance their limits rest on."""

from __future__ import annotations

from clew.languages import figure, joined, say
from clew.web.band.answer import Charts, WinderChart
from clew.web.band.figures import Measure
from clew.web.band.said import and_words

_NAMED = 12
"""So many winders are named; more are counted."""


def chart_words(charts: Charts, measure: Measure) -> str:
    """Say which charts signal."""
    called = [one for one in charts.each if one.chart.signals]
    if not charts.each:
        return ""
    groups = max(int(one.chart.panel.points.size) for one in charts.each)
    kind = charts.each[0].chart.kind
    wide = [one for one in charts.each if one.chart.second and one.chart.second.signals]
    said = []
    if not called:
        said.append(
            say("No winder’s level signals in {n} balls.", n=groups)
            if kind == "individuals"
            else say("No winder’s level signals in {n} groups.", n=groups)
        )
    else:
        places = [_at(one, one.chart.signals[0]) for one in called[:_NAMED]]
        more = len(called) - _NAMED
        said.append(
            say("Signals: {places}, and {n} more.", places=and_words(places), n=more)
            if more > 0
            else say("Signals: {places}.", places=and_words(places))
        )
        if kind == "cusum":
            said += [_shifts(one, measure) for one in called[:_NAMED] if one.chart.shifts]
    if wide and kind in ("xbar-s", "individuals"):
        places = [_at(one, _first_wide(one)) for one in wide[:_NAMED]]
        more = len(wide) - _NAMED
        said.append(
            say(
                "Spread signals: {places}, and {n} more; look at those balls, not at the counter.",
                places=joined(", ", places),
                n=more,
            )
            if more > 0
            else say(
                "Spread signals: {places}; look at those balls, not at the counter.",
                places=and_words(places),
            )
        )
    return joined(" ", said)


def _at(one: WinderChart, group: int) -> str:
    where = group_words(one, group)
    if not one.winder:
        return say("all balls at {group}", group=where)
    return say("winder {winder} at {group}", winder=one.winder, group=where)


def _first_wide(one: WinderChart) -> int:
    assert one.chart.second is not None
    return min(signal.group for signal in one.chart.second.signals)


def _shifts(one: WinderChart, measure: Measure) -> str:
    told = [
        say("rose at {group} to about {level}", group=at, level=level)
        if upward
        else say("fell at {group} to about {level}", group=at, level=level)
        for upward, at, level in (
            (shift.upward, group_words(one, shift.began), measure.text(shift.level))
            for shift in one.chart.shifts[:2]
        )
    ]
    moves = told[0] if len(told) == 1 else say("{first}, then {then}", first=told[0], then=told[1])
    if not one.winder:
        return say("All balls {moves}.", moves=moves)
    return say("Winder {winder} {moves}.", winder=one.winder, moves=moves)


def group_words(one: WinderChart, group: int) -> str:
    """Name a group with its time of day."""
    name = one.chart.group_name(group)
    clock = one.clocks[group - 1] if one.clocks else ""
    if one.chart.kind == "individuals":
        if clock:
            return say("ball {ball} ({clock})", ball=name, clock=clock)
        return say("ball {ball}", ball=name)
    if clock:
        return say("group {group} ({clock})", group=name, clock=clock)
    return say("group {group}", group=name)


def variance_words(one: WinderChart, measure: Measure) -> str:
    """Say which variance the limits rest on, and how often they call for nothing."""
    chart = one.chart
    widths = dict(chart.widths)
    said = []
    if chart.kind == "cusum":
        said.append(
            say("The sums run in standard deviations of a group’s mean, cones counted.")
            if "cone" in chart.sd_words
            else say("The sums rest on the spread {source}.", source=_from(chart.sd_words))
        )
    elif "cones counted" in widths:
        near = widths.get("within subgroup")
        said.append(
            say(
                "Limits ±{width}: cones are counted, for balls from one cone are alike and a "
                "group’s mean moves with its cones.",
                width=measure.text(widths["cones counted"]),
            )
        )
        if near is not None:
            said.append(
                say(
                    "From the spread inside groups alone they would be ±{width}, and call at every "
                    "fresh cone.",
                    width=measure.text(near),
                )
            )
    else:
        said.append(say("Limits rest on the spread {source}.", source=_from(chart.sd_words)))
    said.append(_false_calls(one))
    return joined(" ", said)


def _false_calls(one: WinderChart) -> str:
    often = one.false_call_groups
    if often is None:
        return say("How often it calls for nothing is not known here.")
    count = figure(f"{often:.3g}" if often < 1000.0 else f"{often:,.0f}".replace(",", "\u00a0"))
    if one.chart.kind == "individuals":
        return say(
            "With no change at all such a chart calls once in about {count} balls.", count=count
        )
    return say(
        "With no change at all such a chart calls once in about {count} groups.", count=count
    )


_SPREADS = {
    "moving range": say("from one ball to the next (moving range)"),
    "within subgroup": say("within subgroup"),
    "cones counted": say("from: cones counted"),
}


def _from(sd_words: str) -> str:
    if sd_words in _SPREADS:
        return _SPREADS[sd_words]
    return say("from: {what}", what=sd_words)
