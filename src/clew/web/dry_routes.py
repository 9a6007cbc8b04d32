"""The address of Dry."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.heat_words import CAUTIONS
from clew.line.heat.speed_limits import SpeedLimits
from clew.web import dry_view as view
from clew.web import heat_figures as heat
from clew.web import heat_said as said
from clew.web.answers import refuse_not_asked
from clew.web.figures import Figures
from clew.web.heat_page import DRY_ASKS, open_heat
from clew.web.steam_routes import link_with
from clew.web.workbench import Workbench


def dry_router(bench: Workbench) -> APIRouter:
    """Serve Dry, whole or only what changes with an input."""
    router = APIRouter()

    @router.get("/dry", include_in_schema=False)
    def dry(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, DRY_ASKS.keys)
        units = bench.units(request)
        page = open_heat(bench.mill.read().mill, request.query_params, units, DRY_ASKS)
        shown: dict[str, Any] = {"said": None}
        if page.answer is not None and page.limits is not None:
            shown = _shown(page.answer, page.limits, Figures(units))
        template = "dry_part.html" if part == "answer" else "dry.html"
        return bench.show(
            request, template, at="dry", status=200 if page.answer is not None else 422,
            page=page, cautions=CAUTIONS, link=link_with(page, "/steam"), heat=heat, **shown,
        )  # fmt: skip

    return router


def _shown(answer: HeatAnswer, limits: SpeedLimits, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the answer."""
    verdict, regains = said.dry_words(answer)
    sure, band = said.sure_words(answer)
    limit, runs = said.limit_words(limits, figures)
    return {
        "said": {
            "verdict": verdict,
            "regains": regains,
            "sure": sure,
            "band": band,
            "limit": limit,
            "runs": runs,
            "allowed": said.allowed_words(limits, figures),
            "energy": said.energy_words(answer, figures),
            "warnings": said.warning_words(answer, said.DRY_KEYS, figures),
            "needed": said.needed_words(answer),
        },
        "charts": {
            "regain": view.regain_chart(answer),
            "limits": view.limits_chart(limits, figures),
            "doubt": view.doubt_chart(answer, figures),
        },
        "captions": {
            "regain": view.regain_caption(answer),
            "limits": view.limits_caption(limits, figures),
        },
        "heats": view.heat_table(answer, figures),
    }
