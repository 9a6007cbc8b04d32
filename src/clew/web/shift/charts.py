"""The chart of Shift that Altair draws: the buffer's level over the shift, with its band."""

from __future__ import annotations

from typing import Any

from clew.languages import say
from clew.web.drawn.charts import TEXT, defined_once, filled, finished, named


def level_spec(shift_h: float, ticks: tuple[float, ...]) -> dict[str, Any]:
    """Level of the buffers over the shift: mean, and the middle 80 % of lanes and shifts.

    Data ``rows``: x (hours), low, mean, high (per cent). Data ``words``: x, y, words.
    """
    numbers = {"@hours": shift_h, "@ticks": list(ticks)}
    return dict(filled(_level_spec(), numbers))


@defined_once
def _level_spec() -> dict[str, Any]:
    import altair as alt

    held = alt.Chart(named("rows"))
    x = (
        alt.X("x:Q")
        .scale(domain=[0, "@hours"], nice=False)
        .title(say("hours into the shift"))
        .axis(values=["@ticks"], format="~g", labelOverlap=False)
    )
    y = alt.Y("low:Q").scale(domain=[0, 100], nice=False).title(say("buffer, % of what it holds"))
    y = y.axis(values=[0, 25, 50, 75, 100])
    layers = alt.layer(
        held.mark_area(
            color="var(--weld-soft)", opacity=0.75, line=False
        ).encode(x=x, y=y, y2="high:Q"),
        held.mark_line(color="var(--quiet)", strokeWidth=1.6, strokeDash=[5, 3]).encode(
            x=x, y="low:Q"
        ),
        held.mark_line(color="var(--quiet)", strokeWidth=1.6, strokeDash=[5, 3]).encode(
            x=x, y="high:Q"
        ),
        held.mark_line(color="var(--weld)", strokeWidth=3.2).encode(x=x, y="mean:Q"),
        alt.Chart(named("words"))
        .mark_text(align="right", baseline="middle", fontSize=TEXT, color="var(--ink)")
        .encode(x="x:Q", y="y:Q", text="words:N"),
    )  # fmt: skip
    return finished(layers, 220)
