"""The chart of Case: what a ball costs, part on part, from the cone to the pallet."""

from __future__ import annotations

from typing import Any

from clew.web.drawn.charts import TEXT, defined_once, finished, named


@defined_once
def waterfall_spec(most: float) -> dict[str, Any]:
    """Bars that begin where the one above ended, each with its words and its money above it.

    Data ``rows``: place, start, end, words, whole (true for the sum and the price), less (true
    where a part takes something off).
    """
    import altair as alt

    held = alt.Chart(named("rows"))
    y = alt.Y("place:O").axis(None).scale(paddingInner=0.1)
    x = alt.X("start:Q").scale(domain=[0, most], nice=False).axis(None)
    bar: dict[str, Any] = {"height": 13, "yOffset": 9, "minBandSize": 2}
    layers = alt.layer(
        held.transform_filter("!datum.whole && !datum.less")
        .mark_bar(fill="var(--weld)", **bar).encode(x=x, x2="end:Q", y=y),
        held.transform_filter("datum.less")
        .mark_bar(fill="var(--ground)", stroke="var(--weld)", strokeWidth=2, strokeDash=[4, 3],
                  **bar).encode(x=x, x2="end:Q", y=y),
        held.transform_filter("datum.whole")
        .mark_bar(fill="var(--ink)", **bar).encode(x=x, x2="end:Q", y=y),
        held.mark_text(align="left", baseline="top", dy=-19, fontSize=TEXT, color="var(--ink)")
        .encode(x=alt.value(0), y=y, text="words:N"),
    )  # fmt: skip
    spec = finished(layers, 0)
    spec["height"] = {"step": 46}
    return spec
