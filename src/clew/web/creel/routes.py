"""The address of Creel."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse

from clew.mill.model import Mill
from clew.web.answers import refuse_not_asked
from clew.web.asked.chosen import NO_LOT
from clew.web.creel.page import CREEL_KEYS, Creel, open_creel
from clew.web.creel.view import count_chart, count_table, doubt_chart, water_table
from clew.web.drawn.figures import Figures
from clew.web.wind.page import OF_YARN
from clew.web.workbench import Workbench


def creel_router(bench: Workbench) -> APIRouter:
    """Serve Creel, whole or only what changes with an input."""
    router = APIRouter()

    @router.get("/creel", include_in_schema=False)
    def creel(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, CREEL_KEYS)
        units = bench.units(request)
        page = open_creel(bench.mill.read().mill, request.query_params, units)
        figures, answer = Figures(units), page.answer
        shown = {} if answer is None else {
            "charts": {
                "count": count_chart(answer, figures),
                "doubt": doubt_chart(answer, figures),
            },
            "counts": count_table(answer, figures),
            "water": water_table(answer, figures),
        }  # fmt: skip
        template = "creel_part.html" if part == "answer" else "creel.html"
        status = 200 if answer is not None else 422
        link = wind_link(bench.mill.read().mill, page)
        return bench.show(
            request, template, at="creel", status=status, creel=page, wind_link=link, **shown
        )

    return router


def wind_link(mill: Mill, page: Creel) -> str:
    """Address that winds this yarn with what was typed; empty if no ball is made of it."""
    balls = [ball.name for ball in mill.ball if ball.yarn == page.yarn.name]
    if not balls:
        return ""
    lot = NO_LOT if page.dye_lot is None else page.dye_lot.lot
    both = {one.key for one in OF_YARN}
    typed = {one.key: one.text for one in page.entries if one.moved and one.key in both}
    return "/wind?" + urlencode({"ball": balls[0], "lot": lot, **typed})
