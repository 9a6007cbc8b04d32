"""The address of Steam."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.heat_words import CAUTIONS
from clew.line.heat.speed_limits import SpeedLimits
from clew.web import heat_figures as heat
from clew.web import heat_said as said
from clew.web import steam_view as view
from clew.web.answers import refuse_not_asked
from clew.web.figures import Figures
from clew.web.heat_page import BELT, FEED, STEAM_ASKS, HeatPage, open_heat
from clew.web.workbench import Workbench


def steam_router(bench: Workbench) -> APIRouter:
    """Serve Steam, whole or only what changes with an input."""
    router = APIRouter()

    @router.get("/steam", include_in_schema=False)
    def steam(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, STEAM_ASKS.keys)
        units = bench.units(request)
        page = open_heat(bench.mill.read().mill, request.query_params, units, STEAM_ASKS)
        shown: dict[str, Any] = {"said": None}
        if page.answer is not None and page.limits is not None:
            shown = _shown(page.answer, page.limits, Figures(units))
        template = "steam_part.html" if part == "answer" else "steam.html"
        return bench.show(
            request, template, at="steam", status=200 if page.answer is not None else 422,
            page=page, cautions=CAUTIONS, link=link_with(page, "/dry"), heat=heat, **shown,
        )  # fmt: skip

    return router


def link_with(page: HeatPage, path: str) -> str:
    """Address of the other page for the same yarn and line, with what both of them ask."""
    chosen = {"ball": page.ball.name, "lot": page.lot_value, "line": page.line.name}
    return f"{path}?" + urlencode(chosen | page.typed(FEED.key, BELT.key))


def _shown(answer: HeatAnswer, limits: SpeedLimits, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the answer."""
    verdict, because = said.bulk_words(answer, figures)
    drawn, where = said.steam_words(answer, figures)
    return {
        "said": {
            "verdict": verdict,
            "because": because,
            "drawn": drawn,
            "where": where,
            "room": said.room_words(answer, limits, figures),
            "warnings": said.warning_words(answer, said.steam_keys(answer), figures),
        },
        "charts": {
            "bulk": view.bulk_chart(answer, figures),
            "steam": view.steam_chart(answer, figures),
        },
        "caption": view.bulk_caption(answer, figures),
    }
