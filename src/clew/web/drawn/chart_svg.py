"""From a chart's definition to a drawing inside the page.

Vega-Lite makes the drawing on this machine, without a browser and without a request to anybody. Its
colours are the page's own variables, so a chart turns with the light and prints in black. The
definition goes into the page beside the drawing; a browser that can draw it itself says so when it
asks again, and is then spared the server's drawing.
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Mapping, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from clew.languages import joined, spoken, tongue

Rows = Sequence[Mapping[str, Any]]

DRAWS_HEADER = "Clew-Draws"
"""Sent by a page whose browser has the means to draw charts itself."""
_DIGITS = 6
"""Of a number in a definition: more than can be drawn."""
_DRAWN_THERE: ContextVar[bool] = ContextVar("drawn_there", default=False)

_INSIDE_ARIA = re.compile(r' (?:role|aria-[a-z]+)="[^"]*"')
_EMPTY = re.compile(r'<path class="(?:background|foreground)"[^>]*/>')
_UNSEEN_TEXT = re.compile(r'<text [^>]*opacity="0"[^>]*>[^<]*</text>')
_OPENING = re.compile(r'<svg [^>]*?width="(\d+)" height="(\d+)"[^>]*>')


@dataclass(frozen=True, slots=True)
class Table:
    """The numbers behind a chart: a head and rows of printed text."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart as a page shows it.

    Attributes
    ----------
    key : str
        Name on its page; part of the identifiers inside it.
    title : str
        What it shows, in one sentence.
    svg : Markup
        The drawing; hidden and empty where the browser draws it.
    table : Table
        Its numbers as text.
    definition : str
        Its Vega-Lite definition with its data, as JSON; empty for what is drawn in another way.
    """

    key: str
    title: str
    svg: Markup
    table: Table
    definition: str = ""

    @property
    def shown(self) -> Markup:
        """What goes into a page: the drawing, and the definition a browser may draw it from."""
        if not self.definition:
            return self.svg
        said = self.definition.replace("&", "&amp;").replace("<", "&lt;").replace("'", "&#39;")
        return Markup(
            f'<div class="drawing" data-chart="{html.escape(self.key)}" '
            f"data-definition='{said}'>{self.svg}</div>"
        )


class DrawnThere:
    """Middleware: notes for an answer whether its browser draws the charts itself.

    Parameters
    ----------
    app : ASGI application
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        there = scope["type"] == "http" and DRAWS_HEADER in Headers(scope=scope)
        token = _DRAWN_THERE.set(there)
        try:
            await self._app(scope, receive, send)
        finally:
            _DRAWN_THERE.reset(token)


def drawn(
    key: str, title: str, spec: Mapping[str, Any], data: Mapping[str, Rows], table: Table
) -> Chart:
    """Draw a chart, unless the browser that asks draws it.

    Parameters
    ----------
    key : str
        Name of the chart on its page.
    title : str
        What it shows, in one sentence.
    spec : mapping
        Vega-Lite definition whose data are named.
    data : mapping of str to rows
        The rows under those names.
    table : Table
        The same numbers for people who read rather than look.

    Returns
    -------
    Chart
        The chart.

    Raises
    ------
    ValueError
        For a number that is not finite.
    """
    datasets = {name: [_rounded(row) for row in rows] for name, rows in data.items()}
    named = _said({key: part for key, part in spec.items() if key != "$schema"})
    whole = json.dumps(
        {**named, "datasets": datasets}, sort_keys=True, allow_nan=False, separators=(",", ":")
    )
    described = spoken(joined("; ", (joined(", ", row) for row in table.rows[:8])))
    said = (
        f'<title id="{key}-title">{html.escape(spoken(title))}</title>'
        f'<desc id="{key}-desc">{html.escape(described)}</desc>'
    )
    if _DRAWN_THERE.get():
        return Chart(key, title, Markup(f"<svg hidden>{said}</svg>"), table, whole)
    head = f' role="img" aria-labelledby="{key}-title {key}-desc">{said}'
    # the drawing is markup: Vega has escaped every text in it
    drawing = _svg(whole, tongue().decimal).replace(">", head, 1)
    return Chart(key, title, Markup(drawing), table, whole)


def _rounded(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else _said(value)
        for name, value in row.items()
    }


def _said(part: Any) -> Any:
    """Say every text of a definition or a row in the reader's language."""
    if isinstance(part, dict):
        return {key: _said(one) for key, one in part.items()}
    if isinstance(part, list | tuple):
        return [_said(one) for one in part]
    return spoken(part)


@lru_cache(maxsize=256)
def _svg(spec: str, decimal: str) -> str:
    import vl_convert

    # numbers on an axis as everywhere else: the reader's mark, and none between thousands
    numbers = {"decimal": decimal, "thousands": "", "grouping": [3], "currency": ["", ""]}
    svg = str(
        vl_convert.vegalite_to_svg(json.loads(spec), allowed_base_urls=[], format_locale=numbers)
    )
    for noise in (_EMPTY, _UNSEEN_TEXT, _INSIDE_ARIA):
        svg = noise.sub("", svg)
    # lines of one text are words of one sentence to who hears or copies them
    svg = svg.replace("</tspan><tspan", "</tspan> <tspan")
    return _OPENING.sub(
        r'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 \1 \2" width="\1" height="\2">',
        svg,
        count=1,
    )


def warm() -> None:
    """Start the drawing engine, so that the first page does not wait for it."""
    from clew.web.drawn.charts import shares_spec

    _svg(json.dumps({**shares_spec(), "datasets": {"rows": []}}, sort_keys=True), ".")
