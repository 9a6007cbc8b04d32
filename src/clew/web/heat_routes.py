"""What the addresses of Steam and of Dry have in common."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.heat_words import CAUTION_PARTS
from clew.line.heat.speed_limits import SpeedLimits
from clew.web import heat_figures as heat
from clew.web.answers import refuse_not_asked
from clew.web.figures import Figures
from clew.web.heat_page import BELT, FEED, FEWEST_DRAWS, Asking, HeatPage, open_heat
from clew.web.workbench import Workbench

Arrange = Callable[[HeatAnswer, SpeedLimits, Figures], dict[str, Any]]
"""Arranges everything a page shows around its answer."""


def heat_router(
    bench: Workbench, station: str, beside: str, asking: Asking, arrange: Arrange
) -> APIRouter:
    """Serve a station, whole or only what changes with an input.

    Parameters
    ----------
    bench : Workbench
        The mill and the means to show it.
    station, beside : str
        Key of the station, which is also its address and its template, and of the other one.
    asking : Asking
        What the page asks.
    arrange : Arrange
        Arranges the answer.

    Returns
    -------
    APIRouter
        The station's address.
    """
    router = APIRouter()

    @router.get(f"/{station}", include_in_schema=False)
    def shown(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, asking.keys)
        units = bench.units(request)
        # while a slider moves the interval would be nearly all of the work: it follows at rest
        quick = part == "answer" and asking.draws > FEWEST_DRAWS
        asked = replace(asking, draws=FEWEST_DRAWS) if quick else asking
        page = open_heat(bench.mill.read().mill, request.query_params, units, asked)
        content: dict[str, Any] = {"said": None}
        if page.answer is not None and page.limits is not None:
            content = arrange(page.answer, page.limits, Figures(units))
        template = f"{station}_part.html" if part in ("answer", "price") else f"{station}.html"
        return bench.show(
            request, template, at=station, status=200 if page.answer is not None else 422,
            page=page, quick=quick, cautions=CAUTION_PARTS, link=_link_with(page, beside),
            heat=heat, **content,
        )  # fmt: skip

    return router


def _link_with(page: HeatPage, station: str) -> str:
    """Address of the other page for the same yarn and line, with what both of them ask."""
    return f"/{station}?" + urlencode(page.chosen.address | page.typed(FEED.key, BELT.key))
