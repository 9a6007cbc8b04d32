"""What the addresses of Steam and of Dry have in common."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.line.heat.heat_words import CAUTION_PARTS
from clew.web.answers import refuse_not_asked
from clew.web.drawn.figures import Figures
from clew.web.heat import figures as heat
from clew.web.heat.page import BELT, FEED, Asking, HeatPage, open_heat
from clew.web.workbench import Workbench

Arrange = Callable[[HeatPage, Figures], dict[str, Any]]
"""Arranges everything a page shows around the answer that it has."""


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
        page = open_heat(bench.mill.read().mill, request.query_params, units, asking)
        content: dict[str, Any] = {"said": None}
        if page.answer is not None:
            content = arrange(page, Figures(units))
        template = f"{station}_part.html" if part == "answer" else f"{station}.html"
        return bench.show(
            request, template, at=station, status=200 if page.answer is not None else 422,
            page=page, cautions=CAUTION_PARTS, link=_link_with(page, beside),
            heat=heat, **content,
        )  # fmt: skip

    return router


def _link_with(page: HeatPage, station: str) -> str:
    """Address of the other page for the same yarn and line, with what both of them ask."""
    return f"/{station}?" + urlencode(page.chosen.address | page.typed(FEED.key, BELT.key))
