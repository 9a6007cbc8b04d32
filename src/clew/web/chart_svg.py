"""From a chart's definition to a drawing inside the page.

Vega-Lite makes the drawing on this machine, without a browser and without a request to anybody. Its
colours are the page's own variables, so a chart turns with the light and prints in black.
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup

_PLAIN_NUMBERS = {"decimal": ".", "thousands": "", "grouping": [3], "currency": ["", ""]}
"""Numbers on an axis as everywhere else: a point, and no mark between thousands."""

Rows = Sequence[Mapping[str, Any]]

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
        The drawing.
    table : Table
        Its numbers as text.
    """

    key: str
    title: str
    svg: Markup
    table: Table


def drawn(
    key: str, title: str, spec: Mapping[str, Any], data: Mapping[str, Rows], table: Table
) -> Chart:
    """Draw a chart.

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
        The drawing with its title, description and table.
    """
    whole = {**spec, "datasets": {name: list(rows) for name, rows in data.items()}}
    svg = _svg(json.dumps(whole, sort_keys=True, allow_nan=False))
    described = "; ".join(", ".join(row) for row in table.rows[:8])
    head = (
        f'role="img" aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{html.escape(title)}</title>'
        f'<desc id="{key}-desc">{html.escape(described)}</desc>'
    )
    # the drawing is markup: Vega has escaped every text in it
    return Chart(key, title, Markup(svg.replace(">", " " + head, 1)), table)


@lru_cache(maxsize=256)
def _svg(spec: str) -> str:
    import vl_convert

    svg = str(
        vl_convert.vegalite_to_svg(
            json.loads(spec), allowed_base_urls=[], format_locale=_PLAIN_NUMBERS
        )
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
    from clew.web.charts import shares_spec

    _svg(json.dumps({**shares_spec(), "datasets": {"rows": []}}, sort_keys=True))
