"""The chart of Band that Altair draws: the chance of a lot to pass over its mean ball."""

from __future__ import annotations

from typing import Any

from clew.languages import say
from clew.web.drawn.charts import TEXT, defined_once, finished, named


@defined_once
def passing_spec(
    x_title: str, x_domain: tuple[float, float], ticks: tuple[float, ...]
) -> dict[str, Any]:
    """Chance of a lot to pass over its mean ball, with rules for what is set and what is needed.

    Data ``rows``: x, y (per cent). Data ``rules``: at, dash, words, place, side.
    """
    import altair as alt

    x = (
        alt.X("x:Q")
        .scale(domain=list(x_domain), nice=False)
        .title(x_title)
        .axis(values=list(ticks), labelOverlap=False, format="~g")
    )
    y = alt.Y("y:Q").scale(domain=[0, 100]).title(say("lots that pass, %")).axis(tickCount=5)
    held = alt.Chart(named("rows"))
    ruled = alt.Chart(named("rules"))
    dash = (
        alt.StrokeDash("dash:N")
        .scale(domain=["solid", "dashed", "dotted"], range=[[1, 0], [7, 4], [2, 4]])
        .legend(None)
    )
    layers = alt.layer(
        held.mark_line(color="var(--weld)", strokeWidth=3).encode(x=x, y=y),
        ruled.mark_rule(color="var(--ink)", strokeWidth=1.8).encode(x="at:Q", strokeDash=dash),
        *(
            ruled.transform_filter(f"datum.side == '{side}'")
            .mark_text(
                align=side, dx=-6 if side == "right" else 6, fontSize=TEXT, color="var(--ink)"
            )
            .encode(x="at:Q", y="place:Q", text="words:N")
            for side in ("left", "right")
        ),
    )
    return finished(layers, 240)
