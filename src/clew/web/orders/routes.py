"""The addresses of Orders: the page, the price of a wish, and the plan's papers and file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.plan.sequence.change import LineNow
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.terms import ShiftPlan
from clew.plan.shift.which import read_shift
from clew.web.answers import refuse_not_asked
from clew.web.drawn.figures import Figures
from clew.web.orders.files import OrderFiles, PlanFiles
from clew.web.orders.page import ORDERS_KEYS, OrdersPage, Planned, Planner, open_orders
from clew.web.orders.view import plan_shown
from clew.web.workbench import Workbench


def planner_of(bench: Workbench) -> Planner:
    """Make the planner of a workbench, from the files beside its mill file."""
    return Planner(OrderFiles(bench.mill.folder), PlanFiles(bench.mill.folder))


def now_on_lines(bench: Workbench, mill: Mill) -> Mapping[str, LineNow]:
    """What the ledger says stands on the lines, nothing without one; raises `CannotKeep`."""
    from clew.ledger.runs.now import lines_now

    try:
        return lines_now(bench.ledger.ledger(make=False), mill)
    except BadInput:
        return {}


NOT_TOLD = say(
    "The ledger does not answer: every line is taken to be empty, so the first "
    "change on each may be priced wrongly."
)


def orders_router(bench: Workbench, planner: Planner) -> APIRouter:
    """Serve Orders, whole or the wish alone, and what can be taken along from it."""
    router = APIRouter()

    def opened(request: Request) -> tuple[Mill, OrdersPage, str]:
        refuse_not_asked(request, ORDERS_KEYS)
        reading = bench.mill.read()
        on_lines: Mapping[str, LineNow] = {}
        mind = ""
        try:
            on_lines = now_on_lines(bench, reading.mill)
        except CannotKeep:
            mind = NOT_TOLD
        return reading.mill, open_orders(reading, request.query_params, planner, on_lines), mind

    def planned(request: Request) -> tuple[Mill, Planned]:
        mill, page, _ = opened(request)
        if page.planned is None:
            raise BadInput(
                page.faults or (Fault(say("no orders to plan"), say("a list of orders")),)
            )
        return mill, page.planned

    def of_shift(request: Request) -> tuple[Mill, ShiftPlan]:
        mill, found = planned(request)
        asked = request.query_params
        begins, ends = read_shift(
            mill, asked.get("date", ""), asked.get("shift", ""), now=found.plan.now
        )
        seed = found.plan.answer.seed
        return mill, shift_plan(
            mill,
            found.plan.timed,
            shift_from=begins,
            shift_upto=ends,
            seed=seed,
            lines_now=found.plan.terms.lines_now,
        )

    @router.get("/orders", include_in_schema=False)
    @planner.few
    def orders(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        mill, page, mind = opened(request)
        template = "parts/orders_wish.html" if part == "wish" else "orders.html"
        shown: dict[str, Any] = plan_shown(page, mill, Figures(bench.units(request)))
        return bench.show(
            request, template, at="orders", status=422 if page.faults else 200, page=page,
            lines=[line.name for line in mill.line], mind=mind, **shown,
        )  # fmt: skip

    @router.get("/orders/plan.csv", include_in_schema=False)
    @planner.few
    def table(request: Request) -> Response:
        from clew.plan.sequence.plan_file import plan_csv

        _, found = planned(request)
        return Response(plan_csv(found.plan.timed), media_type="text/csv; charset=utf-8",
                        headers=_file("plan.csv"))  # fmt: skip

    @router.get("/orders/shift-plan.pdf", include_in_schema=False)
    @planner.few
    def shift_paper(request: Request) -> Response:
        from clew.papers.printing import made_now, pdf_of
        from clew.papers.shift_plan_content import shift_plan_content

        mill, plan = of_shift(request)
        made = made_now(mill.mill.time_zone)
        raw = pdf_of(shift_plan_content(plan, mill, units=bench.units(request)), made=made)
        return Response(
            raw, media_type="application/pdf", headers=_file("shift-plan.pdf", inline=True)
        )

    @router.get("/orders/pick-list.pdf", include_in_schema=False)
    @planner.few
    def pick_paper(request: Request) -> Response:
        from clew.papers.pick_list_content import pick_list_content
        from clew.papers.printing import made_now, pdf_of

        mill, plan = of_shift(request)
        made = made_now(mill.mill.time_zone)
        raw = pdf_of(pick_list_content(plan, mill, units=bench.units(request)), made=made)
        return Response(
            raw, media_type="application/pdf", headers=_file("pick-list.pdf", inline=True)
        )

    return router


def _file(name: str, *, inline: bool = False) -> dict[str, str]:
    how = "inline" if inline else "attachment"
    return {"Content-Disposition": f'{how}; filename="{name}"'}
