"""The run card as a page of the workbench and as a PDF, from the same question as Wind."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from fastapi import APIRouter
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.ball.run_card import RunCard
from clew.faults import BadInput
from clew.papers import CardContent, card_content, inputs_fingerprint, run_card_html, run_card_pdf
from clew.papers.printing import made_now
from clew.quantities import UnitSystem
from clew.web.answers import refuse_not_asked
from clew.web.wind.page import WIND_KEYS, Wind, open_wind
from clew.web.workbench import Workbench


def card_router(bench: Workbench) -> APIRouter:
    """Serve run cards."""
    router = APIRouter()

    def card_for(request: Request) -> tuple[Wind, CardContent]:
        refuse_not_asked(request, (*WIND_KEYS, "order"))
        units = bench.units(request)
        page = open_wind(bench.mill.read().mill, request.query_params, units)
        if page.card is None:
            raise BadInput(page.faults)
        return page, content_of(page, page.card, units)

    @router.get("/wind/card", include_in_schema=False)
    def card(request: Request) -> HTMLResponse:
        page, content = card_for(request)
        made = made_now(page.tried.mill.time_zone)
        start = {
            "ball": page.chosen.ball.name, "lot": page.chosen.lot_name,
            "line": page.chosen.line.name, "order": request.query_params.get("order", "")[:80],
        }  # fmt: skip
        query = urlencode([(key, said) for key, said in request.query_params.multi_items()
                           if key != "order"])  # fmt: skip
        return bench.show(
            request, "card.html", at="wind", query=query, title=content.title,
            # a run starts from the mill file: not from what was only tried, nor from no dye lot
            start="" if page.tried_words or not page.chosen.lot_name else urlencode(
                {key: said for key, said in start.items() if said}
            ),
            article=Markup(run_card_html(content, made=made, standalone=False)),
        )  # fmt: skip

    @router.get("/wind/card.pdf", include_in_schema=False)
    def card_pdf(request: Request) -> Response:
        page, content = card_for(request)
        name = re.sub(r"[^a-z0-9]+", "-", content.title.lower()).strip("-")
        return Response(
            run_card_pdf(content, made=made_now(page.tried.mill.time_zone)),
            media_type="application/pdf",
            headers={"Content-Disposition": f'inline; filename="{name}.pdf"'},
        )

    return router


def content_of(page: Wind, card: RunCard, units: UnitSystem) -> CardContent:
    """Arrange the card; values that were tried stand on it as such, on screen and on paper."""
    mill, line = page.tried, page.chosen.line
    return card_content(
        card,
        mill.safety,
        line,
        fingerprint=inputs_fingerprint(mill, card.ball_name, card.lot_name, line.name),
        units=units,
        paper=mill.mill.paper,
        tried=page.tried_words,
    )
