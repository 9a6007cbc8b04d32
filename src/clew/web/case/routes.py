"""The addresses of Case: the page, what changes are worth, bands and labels."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import DEFAULT, say, speaking
from clew.mill import mill_file
from clew.mill.net_content import read_tables
from clew.web.answers import refuse_not_asked
from clew.web.asked.chosen import choose
from clew.web.asked.whole import whole_typed
from clew.web.case.page import CASE_KEYS, open_case, worth_of
from clew.web.case.ship_view import SHIP_KEYS, ship_shown
from clew.web.case.view import case_shown, worth_table
from clew.web.door.who import who_of
from clew.web.drawn.figures import Figures
from clew.web.few_at_once import FewAtOnce
from clew.web.workbench import Workbench

MOST_BANDS = 2000


def case_router(bench: Workbench) -> APIRouter:
    """Serve Case, whole or what takes longer, and the bands of a ball."""
    router = APIRouter()
    few = FewAtOnce(4)

    @router.get("/case", include_in_schema=False)
    @few
    def case(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, (*CASE_KEYS, "worth", *SHIP_KEYS))
        reading = bench.mill.read()
        page = open_case(reading, request.query_params)
        worth = None
        if page.cost is not None and (
            part == "price" or request.query_params.get("worth") == "yes"
        ):
            tables = read_tables(mill_file(bench.mill.folder).parent)
            steps = worth_of(reading.mill, page, tables)
            worth = worth_table(steps, page.cost.figures.currency)
        template = "parts/case_worth.html"
        ships: dict[str, Any] = {}
        if part != "price":
            asked = {key: said for key, said in request.query_params.items() if key in CASE_KEYS}
            template = "case.html"
            ships = ship_shown(
                bench, reading.mill, page, asked, who_of(request), told=request.query_params
            )
        return bench.show(
            request, template, at="case", status=422 if page.faults else 200, page=page,
            worth=worth, **case_shown(page, reading.mill, Figures(bench.units(request))), **ships,
        )  # fmt: skip

    @router.get("/case/bands.pdf", include_in_schema=False)
    @few
    def bands(request: Request) -> Response:
        from clew.checks.band.findings import judged
        from clew.checks.band.text import band_of
        from clew.papers.labels.bands import bands_pdf
        from clew.papers.printing import made_now

        refuse_not_asked(request, ("ball", "lot", "line", "copies"))
        mill = bench.mill.read().mill
        chosen = choose(mill, request.query_params)
        typed = request.query_params.get("copies", "1")
        copies, fault = whole_typed("copies", typed, MOST_BANDS, 1)
        if fault is not None:
            raise BadInput(fault)
        against = [one for one in judged(mill, chosen.ball.name, chosen.lot_name) if one.breaks_law]
        if against:
            raise BadInput(
                Fault(say("{title}: {words}", title=one.title, words=one.words), one.source)
                for one in against
            )
        made = made_now(mill.mill.time_zone)
        with speaking(mill.mill.language or DEFAULT):  # as the words on it in the mill file do
            raw = bands_pdf(
                band_of(mill, chosen.ball.name, chosen.lot_name), copies, made=made,
                paper=mill.mill.paper, footer=f"{mill.mill.name} · {chosen.subject}",
            )  # fmt: skip
        return Response(
            raw, media_type="application/pdf",
            headers={"Content-Disposition": 'inline; filename="bands.pdf"'},
        )  # fmt: skip

    return router
