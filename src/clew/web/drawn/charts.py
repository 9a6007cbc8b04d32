"""Every chart of the workbench, defined once in Altair; data are named and filled in later.

Shapes and words say what colours say: solid, dashed and dotted rules carry their own labels.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import lru_cache, wraps
from importlib import import_module
from threading import Lock
from typing import TYPE_CHECKING, Any, ParamSpec

if TYPE_CHECKING:
    import altair as alt

WIDTH = 400
"""Width of a chart before the page scales it; text stays legible on a narrow telephone."""
TEXT = 16


_P = ParamSpec("_P")
_ONE_AT_A_TIME = Lock()


def defined_once(define: Callable[_P, dict[str, Any]]) -> Callable[_P, dict[str, Any]]:
    """Keep a definition, and make one at a time: Altair is not made for several threads."""
    kept = lru_cache(maxsize=16)(define)

    @wraps(define)
    def of(*args: _P.args, **kwargs: _P.kwargs) -> dict[str, Any]:
        with _ONE_AT_A_TIME:
            # Altair looks whether pandas is loaded, and breaks on one that another thread has half
            # loaded: the solver's library brings it along
            with suppress(ImportError):
                import_module("pandas")
            return kept(*args, **kwargs)  # type: ignore[arg-type]  # all arguments are hashable

    return of


def filled(spec: Any, numbers: Mapping[str, Any]) -> Any:
    """Put what changes with every answer into a definition, in the place of its names.

    Parameters
    ----------
    spec : any
        A definition made once, with names where numbers go; making one takes longer than a page.
    numbers : mapping of str to any
        What goes where.

    Returns
    -------
    any
        A copy with the numbers in place.
    """
    if isinstance(spec, str):
        return numbers.get(spec, spec)
    if isinstance(spec, list):
        if len(spec) == 1 and isinstance(spec[0], str) and spec[0] in numbers:
            return numbers[spec[0]]  # a list that is a name by itself
        return [filled(one, numbers) for one in spec]
    if isinstance(spec, dict):
        return {key: filled(one, numbers) for key, one in spec.items()}
    return spec


def finished(chart: alt.LayerChart | alt.FacetChart, height: int) -> dict[str, Any]:
    """Give a chart the page's own colours and type."""
    import altair as alt

    ink, quiet, rule = "var(--ink)", "var(--quiet)", "var(--rule)"
    axis = alt.AxisConfig(
        labelFontSize=TEXT,
        titleFontSize=TEXT,
        titleFontWeight="normal",
        labelColor=ink,
        titleColor=quiet,
        gridColor=rule,
        domainColor=quiet,
        tickColor=quiet,
        labelFlush=False,
        titlePadding=8,
        tickCount=6,
    )
    spec: dict[str, Any] = (
        chart.properties(width=WIDTH, height=height, background="transparent", padding=4)
        .configure(font="inherit", axis=axis)
        .configure_view(stroke=None)
        .to_dict(validate=False)
    )
    return spec


def named(name: str) -> alt.NamedData:
    """Name data that are filled in when a chart is drawn."""
    import altair as alt

    return alt.NamedData(name=name)


@defined_once
def interval_spec(axis_title: str, rows: int) -> dict[str, Any]:
    """Intervals in rows with rules across them for declaration, target and call-out.

    Data ``rows``: row, low, high, middle, words. Data ``rules``: at, words, dash, level.
    """
    import altair as alt

    step = 62
    height = rows * step
    x = alt.X("low:Q").scale(zero=False, nice=False, padding=26).title(axis_title).axis(grid=False)
    y = alt.Y("place:Q").scale(domain=[0, rows], reverse=True, nice=False).axis(None)
    held = alt.Chart(named("rows"))
    bar = held.mark_bar(
        height=16, cornerRadius=8, fill="var(--weld-soft)", stroke="var(--weld)", strokeWidth=1.5
    )
    middle = held.mark_tick(
        thickness=4, height=26, color="var(--ink)", opacity=1, orient="vertical"
    )
    words = held.mark_text(dy=-21, align="center", fontSize=TEXT, color="var(--ink)")
    ruled = alt.Chart(named("rules"))
    rule = ruled.mark_rule(color="var(--ink)", strokeWidth=1.6)
    label = ruled.mark_text(fontSize=TEXT, color="var(--ink)", baseline="bottom", lineBreak="\n")
    layers = alt.layer(
        rule.encode(
            x=alt.X("at:Q"), y=alt.Y("top:Q").axis(None), y2=alt.Y2("bottom:Q"),
            strokeDash=alt.StrokeDash("dash:N").scale(
                domain=["solid", "dashed", "dotted"], range=[[1, 0], [7, 4], [2, 4]]
            ).legend(None),
        ),
        bar.encode(x=x, x2="high:Q", y=y),
        middle.encode(x="middle:Q", y=y),
        words.encode(x="middle:Q", y=y, text="words:N"),
        label.encode(x="at:Q", y=alt.Y("label:Q").axis(None), text="words:N"),
    )  # fmt: skip
    return finished(layers, height)


@defined_once
def shares_spec(lines: int = 1) -> dict[str, Any]:
    """Shares of a whole as bars, largest first, each with its words and its per cent above it.

    Data ``rows``: place, share, words of at most so many lines.
    """
    import altair as alt

    held = alt.Chart(named("rows"))
    y = alt.Y("place:O").axis(None).scale(paddingInner=0.1)
    x = alt.X("share:Q").scale(domain=[0, 1]).axis(None)
    bar = held.mark_bar(height=12, yOffset=10 * lines - 2, cornerRadius=6, fill="var(--weld)")
    words = held.mark_text(
        align="left",
        baseline="top",
        dy=-10 - 10 * lines,
        fontSize=TEXT,
        color="var(--ink)",
        lineBreak="\n",
        lineHeight=20,
    )
    layers = alt.layer(
        bar.encode(x=x, y=y),
        words.encode(x=alt.value(0), y=y, text="words:N"),
    )
    spec = finished(layers, 0)
    spec["height"] = {"step": 28 + 20 * lines}
    return spec


@defined_once
def line_spec(
    x_title: str, y_title: str, x_domain: tuple[float, float] | None = None
) -> dict[str, Any]:
    """One line over a number, its ends marked.

    Data ``rows``: x, y.
    """
    import altair as alt

    held = alt.Chart(named("rows"))
    x = alt.X("x:Q").title(x_title)
    if x_domain is None:
        x = x.scale(zero=True, nice=False)
    else:
        low, high = x_domain
        quarters = [low + (high - low) * part / 4 for part in range(5)]
        x = x.scale(domain=[low, high], nice=False).axis(values=quarters, labelOverlap=False)
    y = alt.Y("y:Q").title(y_title).scale(zero=True).axis(tickCount=5)
    layers = alt.layer(
        held.mark_area(color="var(--weld-soft)", opacity=0.6).encode(x=x, y=y),
        held.mark_line(color="var(--weld)", strokeWidth=2.6).encode(x=x, y=y),
    )
    return finished(layers, 190)
