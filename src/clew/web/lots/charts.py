"""The charts of Lots: the balls of a sample on a line, and the chance that such a lot passes.

Shapes, dashes and words say what colours say: a short ball is a triangle, each rule has its label.
"""

from __future__ import annotations

from typing import Any

from clew.web.drawn.charts import TEXT, WIDTH, defined_once, filled, finished, named


def strip_spec(axis_title: str, low: float, high: float, height: int) -> dict[str, Any]:
    """Balls as dots on a scale, stacked where they are alike, with labelled rules across them.

    Data ``balls``: x, y (px from the top), what ("good", "short" or "far short"). Data ``rules``:
    at, words, top, bottom (px), dash ("solid", "dashed", "dotted"), strong, left (label's side).
    """
    numbers = {"@x": [low, high], "@tall": [0, height], "@height": height}
    found: dict[str, Any] = filled(_strip_spec(axis_title), numbers)
    return found


@defined_once
def _strip_spec(axis_title: str) -> dict[str, Any]:
    import altair as alt

    held = alt.Chart(named("balls"))
    ruled = alt.Chart(named("rules"))
    along = alt.Scale(domain=["@x"], nice=False)
    x = alt.X("x:Q").scale(along).title(axis_title).axis(grid=False)
    at = alt.X("at:Q").scale(along)
    across = alt.Scale(domain=["@tall"], range=["@tall"], nice=False)
    y = alt.Y("y:Q").scale(across).axis(None)
    dash = alt.StrokeDash("dash:N").scale(
        domain=["solid", "dashed", "dotted"], range=[[1, 0], [7, 4], [2, 4]]
    )
    width = alt.StrokeWidth("strong:N").scale(domain=[False, True], range=[1.6, 3.4]).legend(None)
    text: dict[str, Any] = {"fontSize": TEXT, "color": "var(--ink)", "baseline": "middle"}
    top = alt.Y("top:Q").scale(across).axis(None)
    layers = alt.layer(
        ruled.mark_rule(color="var(--ink)").encode(
            x=at, y=top, y2="bottom:Q", strokeDash=dash.legend(None), strokeWidth=width
        ),
        held.transform_filter("datum.what == 'good'")
        .mark_point(shape="circle", size=52, filled=True, fill="var(--weld)",
                    stroke="var(--ground)", strokeWidth=1, opacity=1)
        .encode(x=x, y=y),
        held.transform_filter("datum.what == 'short'")
        .mark_point(shape="triangle-down", size=120, filled=True, fill="var(--madder)",
                    stroke="var(--ink)", strokeWidth=1.2, opacity=1)
        .encode(x=x, y=y),
        held.transform_filter("datum.what == 'far short'")
        .mark_point(shape="cross", size=170, angle=45, filled=True, fill="var(--madder)",
                    stroke="var(--ink)", strokeWidth=1.2, opacity=1)
        .encode(x=x, y=y),
        ruled.transform_filter("datum.left").mark_text(align="right", dx=-6, **text).encode(
            x=at, y=top, text="words:N"
        ),
        ruled.transform_filter("!datum.left").mark_text(align="left", dx=6, **text).encode(
            x=at, y=top, text="words:N"
        ),
    )  # fmt: skip
    return finished(layers, 0) | {"height": "@height"}


def chance_spec(
    x_title: str, y_title: str, low: float, high: float, falls: bool = False
) -> dict[str, Any]:
    """A chance over what the lot truly is, with the band it lies in and places marked on it.

    Data ``rows``: x, low, high, y (per cent). Data ``marks``: x, y, words; one where the line
    rises. Data ``rules``: at, words.
    """
    found: dict[str, Any] = filled(_chance_spec(x_title, y_title, falls), {"@x": [low, high]})
    return found


@defined_once
def _chance_spec(x_title: str, y_title: str, falls: bool) -> dict[str, Any]:
    import altair as alt

    held = alt.Chart(named("rows"))
    marked = alt.Chart(named("marks"))
    ruled = alt.Chart(named("rules"))
    scale = alt.Scale(domain=["@x"], nice=False)
    x = alt.X("x:Q").scale(scale).title(x_title).axis(grid=False, tickCount=5)
    percent = alt.Scale(domain=[0, 100], nice=False)
    y = alt.Y("y:Q").scale(percent).title(y_title).axis(values=[0, 25, 50, 75, 100])
    text: dict[str, Any] = {"fontSize": TEXT, "color": "var(--ink)", "lineBreak": "\n"}
    # where the line rises the corner under its end is free for the words, where it falls the one
    # beside each mark
    text |= {"align": "left", "dx": 12, "dy": -26} if falls else {"align": "right"}
    layers = alt.layer(
        held.mark_area(color="var(--weld-soft)", opacity=0.9).encode(
            x=x, y=alt.Y("low:Q").scale(percent).title(y_title), y2="high:Q"
        ),
        ruled.mark_rule(color="var(--ink)", strokeWidth=1.6, strokeDash=[7, 4]).encode(
            x=alt.X("at:Q").scale(scale)
        ),
        held.mark_line(color="var(--weld)", strokeWidth=3).encode(x=x, y=y),
        marked.mark_point(
            shape="diamond", size=150, filled=True, fill="var(--ink)", stroke="var(--ground)",
            strokeWidth=1.5, opacity=1,
        ).encode(x=x, y=y),
        marked.mark_text(**text).encode(
            x=x if falls else alt.value(WIDTH - 6), y=y if falls else alt.value(112), text="words:N"
        ),
        ruled.mark_text(
            align="left", baseline="bottom", dx=6, fontSize=TEXT, color="var(--ink)"
        ).encode(x=alt.X("at:Q").scale(scale), y=alt.value(200), text="words:N"),
    )  # fmt: skip
    return finished(layers, 210)


STRIP_WIDTH = WIDTH
"""Width of the strip before the page scales it [px]."""
