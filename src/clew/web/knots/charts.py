"""The charts of Knots: balls by the number of their knots, and what each limit costs.

Dashes, words and shapes say what colours say: what is over the limit is outlined with dashes.
"""

from __future__ import annotations

from typing import Any

from clew.web.drawn.charts import TEXT, WIDTH, defined_once, finished, named

_NAMES = 96
"""Room for the names of the bars, left of them."""
_FIGURES = 1.75
"""Room for the figure behind the longest bar, as a multiple of it."""


@defined_once
def law_spec(rows: float, ruled: bool) -> dict[str, Any]:
    """Balls by number of knots, one bar a number, with the limit as a rule between two of them.

    Data ``rows``: place, name, share (of the largest), words, over. Data ``rules``: at, words.
    """
    import altair as alt

    step = 36
    held = alt.Chart(named("rows"))
    x = alt.X("share:Q").scale(domain=[0, _FIGURES], range=[_NAMES, WIDTH]).axis(None)
    y = alt.Y("place:Q").scale(domain=[0, rows], reverse=True, nice=False).axis(None)
    within = held.transform_filter("!datum.over").mark_bar(
        height=20, orient="horizontal", fill="var(--weld)"
    )
    over = held.transform_filter("datum.over").mark_bar(
        height=20, orient="horizontal", fill="var(--madder-soft)", stroke="var(--madder)",
        strokeWidth=2, strokeDash=[4, 3],
    )  # fmt: skip
    name = held.mark_text(align="left", fontSize=TEXT, color="var(--ink)", baseline="middle")
    words = held.mark_text(align="left", fontSize=TEXT, color="var(--ink)", baseline="middle", dx=8)
    layers = [
        within.encode(x=x, x2=alt.datum(0), y=y),
        over.encode(x=x, x2=alt.datum(0), y=y),
        name.encode(x=alt.value(0), y=y, text="name:N"),
        words.encode(x=x, y=y, text="words:N"),
    ]
    if ruled:
        rules = alt.Chart(named("rules"))
        rule = rules.mark_rule(color="var(--ink)", strokeWidth=2, strokeDash=[7, 4])
        label = rules.mark_text(
            align="right", fontSize=TEXT, color="var(--ink)", baseline="bottom", dy=-4,
            fontWeight="bold",
        )  # fmt: skip
        at = alt.Y("at:Q").axis(None)
        layers += [
            rule.encode(x=alt.value(0), x2=alt.value(WIDTH), y=at),
            label.encode(x=alt.value(WIDTH), y=at, text="words:N"),
        ]
    return finished(alt.layer(*layers), round(rows * step))


@defined_once
def price_spec(
    axis_title: str, rows: int, domain: tuple[float, float], ticks: tuple[float, ...]
) -> dict[str, Any]:
    """Costs with their bands on a scale of tens: today's filled with a disc, the other hollow.

    Data ``rows``: place, low, high, middle, words, today.
    """
    import altair as alt

    step = 50
    held = alt.Chart(named("rows"))
    scale = alt.Scale(type="log", domain=list(domain), nice=False)
    axis = alt.Axis(grid=True, values=list(ticks), format="~g", labelOverlap=False)
    x = alt.X("low:Q").scale(scale).title(axis_title).axis(axis)
    middle = alt.X("middle:Q").scale(scale).title(axis_title).axis(axis)
    y = alt.Y("place:Q").scale(domain=[0, rows], reverse=True, nice=False).axis(None)
    bar: dict[str, Any] = {"height": 14, "cornerRadius": 7, "stroke": "var(--weld)"}
    today = held.transform_filter("datum.today && datum.high > datum.low")
    half = held.transform_filter("!datum.today && datum.high > datum.low")
    layers = alt.layer(
        today.mark_bar(fill="var(--weld-soft)", strokeWidth=1.5, **bar).encode(
            x=x, x2="high:Q", y=y
        ),
        half.mark_bar(fill="var(--ground)", strokeWidth=1.5, strokeDash=[3, 3], **bar).encode(
            x=x, x2="high:Q", y=y
        ),
        held.transform_filter("datum.today")
        .mark_point(shape="circle", size=110, filled=True, color="var(--ink)", opacity=1)
        .encode(x=middle, y=y),
        held.transform_filter("!datum.today")
        .mark_point(
            shape="diamond", size=110, filled=True, fill="var(--ground)", stroke="var(--ink)",
            strokeWidth=2, opacity=1,
        )
        .encode(x=middle, y=y),
        held.mark_text(
            align="left", dy=-19, fontSize=TEXT, color="var(--ink)", baseline="middle"
        ).encode(x=alt.value(0), y=y, text="words:N"),
    )  # fmt: skip
    return finished(layers, rows * step)
