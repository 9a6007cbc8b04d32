"""The charts of Steam and Dry: bulk along the steamer, regain along the dryer, ranked limits.

Dashes, shapes and words say what colours say: each rule and each part of a curve is named on it.
"""

from __future__ import annotations

import json
from typing import Any, Literal

from clew.languages import say, spoken
from clew.web.drawn.charts import TEXT, WIDTH, defined_once, filled, finished, named

_Align = Literal["left", "right", "center"]
_SIDES: tuple[tuple[_Align, int], ...] = (("left", 1), ("right", -1), ("center", 0))
"""How a text stands to its place, and which way it is moved off it."""
_DASHES = {"solid": [1, 0], "dashed": [7, 4], "dotted": [2, 4]}


def _dashed() -> Any:
    import altair as alt

    return (
        alt.StrokeDash("dash:N")
        .scale(domain=list(_DASHES), range=list(_DASHES.values()))
        .legend(None)
    )


@defined_once
def bulk_spec(ends_s: float, levels: int) -> dict[str, Any]:
    """Bulk over the time in steam, with upright rules whose names stand on levels above it.

    Data ``curve``: x, y (per cent), dash. Data ``rules``: at, from, level, dash, words, align.
    Data ``points``: x, y.
    """
    import altair as alt

    high = 100.0 + 14.0 * levels
    x = alt.X("x:Q").scale(domain=[0, ends_s], nice=False).title(say("seconds in steam"))
    y = (
        alt.Y("y:Q")
        .scale(domain=[0, high], nice=False)
        .title(say("bulk, % of the full shrink"))
        .axis(values=[0, 25, 50, 75, 100])
    )
    curve = alt.Chart(named("curve"))
    rules = alt.Chart(named("rules"))
    layers = alt.layer(
        curve.mark_area(color="var(--weld-soft)", opacity=0.6)
        .transform_filter("datum.dash == 'solid'")
        .encode(x=x, y=y),
        rules.mark_rule(color="var(--ink)", strokeWidth=1.8).encode(
            x=alt.X("at:Q"), y=alt.Y("from:Q"), y2="level:Q", strokeDash=_dashed()
        ),
        curve.mark_line(color="var(--weld)", strokeWidth=3).encode(x=x, y=y, strokeDash=_dashed()),
        alt.Chart(named("points"))
        .mark_point(filled=True, size=110, color="var(--ink)", opacity=1)
        .encode(x=x, y=y),
        *_labels("rules", "at:Q", "level:Q", 8),
    )
    return finished(layers, 190 + 26 * levels)


def regain_spec(
    ends_s: float, cooled_at_s: float, ticks: tuple[float, ...], high: float
) -> dict[str, Any]:
    """Regain over the time in the dryer, with its band, and once cooled at the right.

    Data ``band``: x, low, high. Data ``curve``: x, y, dash, part. Data ``wanted`` and
    ``end``: at. Data ``cooling``: x, y. Data ``cooled``: x, low, high. Data ``points``: x, y,
    shape. Data ``words``: x, y, words, align.
    """
    middle = 0.5 * (ticks[-1] + cooled_at_s)
    found: dict[str, Any] = filled(
        _regain_spec(),
        {
            "@x": [0, ends_s],
            "@y": [0, high],
            "@ticks": [*ticks, cooled_at_s],
            "@label": f"datum.value > {middle} ? {_cooled()} : format(datum.value, '~r')",
        },
    )
    return found


def _cooled() -> str:
    """Write the last place's word into an expression, in the language that is spoken now."""
    return json.dumps(spoken(say("cooled")), ensure_ascii=False)


@defined_once
def _regain_spec() -> dict[str, Any]:
    import altair as alt

    x_scale = alt.Scale(domain=["@x"], nice=False)
    regain = say("regain, %")
    axis = alt.Axis(values=["@ticks"], labelExpr="@label", labelOverlap=False)
    x = alt.X("x:Q").scale(x_scale).title(say("seconds in the dryer")).axis(axis)
    y = alt.Y("y:Q").scale(domain=["@y"], nice=False).title(regain).axis(tickCount=5)
    low = alt.Y("low:Q").title(regain)
    curve = alt.Chart(named("curve"))
    wanted, end = alt.Chart(named("wanted")), alt.Chart(named("end"))
    cooled, cooling = alt.Chart(named("cooled")), alt.Chart(named("cooling"))
    layers = alt.layer(
        alt.Chart(named("band"))
        .mark_area(color="var(--weld-soft)", opacity=0.75)
        .encode(x=x, y=low, y2="high:Q"),
        end.mark_rule(color="var(--quiet)", strokeWidth=1.4).encode(x="at:Q"),
        wanted.mark_rule(color="var(--ink)", strokeWidth=2, strokeDash=_DASHES["dashed"]).encode(
            y=alt.Y("at:Q")
        ),
        curve.mark_line(color="var(--weld)", strokeWidth=3.4).encode(
            x=x, y=y, strokeDash=_dashed(), detail="part:N"
        ),
        cooling.mark_line(color="var(--quiet)", strokeWidth=1.8, strokeDash=[5, 3]).encode(
            x=x, y=y
        ),
        cooled.mark_rule(color="var(--weld-soft)", strokeWidth=16, strokeCap="round").encode(
            x=x, y=low, y2="high:Q"
        ),
        cooled.mark_rule(color="var(--weld)", strokeWidth=2).encode(x=x, y=low, y2="high:Q"),
        alt.Chart(named("points"))
        .mark_point(filled=True, size=110, color="var(--ink)", opacity=1)
        .encode(
            x=x,
            y=y,
            shape=alt.Shape("shape:N")
            .scale(domain=["circle", "diamond"], range=["circle", "diamond"])
            .legend(None),
        ),
        *_labels("words", "x:Q", "y:Q", 9),
    )
    return finished(layers, 250)


def _labels(data: str, x: str, y: str, gap: int) -> list[Any]:
    """Texts that stand left of, right of or over their place, as their row says."""
    import altair as alt

    held = alt.Chart(named(data))
    made = []
    for align, side in _SIDES:
        mark = held.transform_filter(f"datum.align == '{align}'").mark_text(
            align=align, dx=side * gap, baseline="middle", fontSize=TEXT, color="var(--ink)"
        )
        made.append(mark.encode(x=alt.X(x), y=alt.Y(y), text="words:N"))
    return made


def limits_spec(rows: int, fastest: float, axis_title: str, least: bool) -> dict[str, Any]:
    """Fastest feeds as ranked bars, each under its words; the feed as it is crosses every bar.

    Data ``rows``: place, feed, words, side, kind (``first``, ``other``, ``over``). Data ``now``:
    at, words, align. Data ``least``: the same for the slowest feed.
    """
    found: dict[str, Any] = filled(_limits_spec(rows, axis_title, least), {"@x": [0, fastest]})
    return found


@defined_once
def _limits_spec(rows: int, axis_title: str, least: bool) -> dict[str, Any]:
    import altair as alt

    step = 54
    held = alt.Chart(named("rows"))
    scale = alt.Scale(domain=["@x"], nice=False)
    x = alt.X("feed:Q").scale(scale).title(axis_title).axis(grid=False)
    top, bottom = -0.55, rows + (0.5 if least else 0.0)
    y_scale = alt.Scale(domain=[top, bottom], reverse=True, nice=False)
    y = alt.Y("place:Q").scale(y_scale).axis(None)
    looks: dict[str, dict[str, Any]] = {
        "first": {"fill": "var(--weld)", "stroke": "var(--ink)", "strokeWidth": 2},
        "other": {"fill": "var(--weld-soft)", "stroke": "var(--weld)", "strokeWidth": 1.5},
        "over": {
            "fill": "var(--madder-soft)", "stroke": "var(--madder)", "strokeWidth": 2,
            "strokeDash": [4, 3],
        },
    }  # fmt: skip
    bars = [
        held.transform_filter(f"datum.kind == '{kind}' && datum.feed > 0")
        .mark_bar(height=18, orient="horizontal", **look)
        .encode(x=x, x2=alt.datum(0), y=y)
        for kind, look in looks.items()
    ]
    ends: tuple[tuple[_Align, int, str], ...] = (("left", 0, "words"), ("right", WIDTH, "side"))
    texts = [
        held.mark_text(align=align, dy=-21, baseline="middle", fontSize=TEXT, color="var(--ink)")
        .encode(x=alt.value(at), y=y, text=f"{field}:N")
        for align, at, field in ends
    ]  # fmt: skip
    rules = []
    for name, dash, dy in (("now", [1, 0], -9), ("least", _DASHES["dotted"], 12)):
        if name == "least" and not least:
            continue
        at = alt.X("at:Q").scale(scale)
        shown = alt.Chart(named(name))
        rules.append(
            shown.mark_rule(color="var(--ink)", strokeWidth=2.4, strokeDash=dash).encode(
                x=at, y=alt.Y("from:Q").axis(None), y2="to:Q"
            )
        )
        for align, _ in _SIDES:
            rules.append(
                shown.transform_filter(f"datum.labelled && datum.align == '{align}'")
                .mark_text(
                    align=align, baseline="middle", dy=dy, fontSize=TEXT, color="var(--ink)",
                    fontWeight="bold" if name == "now" else "normal",
                )
                .encode(x=at, y=alt.Y("label:Q").axis(None), text="words:N")
            )  # fmt: skip
    return finished(alt.layer(*bars, *rules, *texts), round((bottom - top) * step))
