"""The addresses of Lots: the page, and its certificate or report as a PDF."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from typing import Annotated, Any
from urllib.parse import parse_qsl
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import first_upper, joined, moment, say
from clew.mill.model import Mill
from clew.web.answers import refuse_not_asked
from clew.web.asked.form_body import form_lists
from clew.web.door.who import who_of
from clew.web.drawn.figures import Figures
from clew.web.lots import said as words
from clew.web.lots import view
from clew.web.lots.files import LotFiles
from clew.web.lots.inputs import LOOKED_FOR, LOTS_KEYS
from clew.web.lots.kept import (
    anchor_beside,
    asked_of,
    decided_words,
    kept,
    onward_of,
    taken_back,
    undo_of,
)
from clew.web.lots.page import LotsPage, open_lots
from clew.web.lots.plan_chart import plan_chart
from clew.web.workbench import Workbench


def lots_router(bench: Workbench, files: LotFiles) -> APIRouter:
    """Serve Lots, whole or what changes with an input, and its paper."""
    router = APIRouter()

    def opened(request: Request) -> tuple[Mill, LotsPage]:
        refuse_not_asked(request, (*LOTS_KEYS, "kept", "undone"))
        mill, asked = bench.mill.read().mill, request.query_params
        return mill, open_lots(mill, asked, asked.getlist("rule"), files, bench.units(request))

    @router.get("/lots", include_in_schema=False)
    def lots(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        mill, page = opened(request)
        asked = request.query_params
        return _show(
            bench, request, mill, page, "lots_part.html" if part == "answer" else "lots.html",
            was_kept=asked.get("kept", ""), was_undone=bool(asked.get("undone")),
        )  # fmt: skip

    @router.get("/lots/certificate.pdf", include_in_schema=False)
    def certificate(request: Request) -> Response:
        mill, page = opened(request)
        if page.paper is None:
            none = Fault(
                page.missing or say("nothing to certify"), say("a sample of the lot"), key="file"
            )
            raise BadInput(page.faults or (none,))
        if not page.size_said:
            raise BadInput(
                Fault(say("no size of the lot, which the paper needs"), say("balls"), key="size")
            )
        from clew.papers.printing import made_now, pdf_of

        paper = replace(page.paper, anchor=anchor_beside(bench, mill))
        made = made_now(mill.mill.time_zone)
        return Response(
            pdf_of(paper, made=made),
            media_type="application/pdf",
            headers={"Content-Disposition": f'inline; filename="{pdf_name(page)}"'},
        )

    @router.post("/lots/decide", include_in_schema=False)
    async def decide(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(_decide, request, typed)

    def _decide(request: Request, typed: dict[str, list[str]]) -> Response:
        try:
            return kept(bench, files, request, typed)
        except BadInput as bad:
            mill, asked = bench.mill.read().mill, asked_of(typed)
            page = open_lots(mill, asked, asked.getlist("rule"), files, bench.units(request))
            wrong = joined(
                "; ",
                (
                    say("{what}; expected {expected}", what=one.what, expected=one.expected)
                    for one in bad.faults
                ),
            )
            return _show(bench, request, mill, page, "lots.html", keep_wrong=wrong, status=422)

    @router.post("/lots/undo", include_in_schema=False)
    async def undo(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(taken_back, bench, request, typed)

    return router


def _show(
    bench: Workbench, request: Request, mill: Mill, page: LotsPage, template: str, *,
    was_kept: str = "", was_undone: bool = False, keep_wrong: str = "", status: int = 200,
) -> HTMLResponse:  # fmt: skip
    who = who_of(request)
    shown = shown_of(mill, page, Figures(bench.units(request)))
    return bench.show(
        request, template, at="lots", status=422 if page.faults else status, page=page,
        looked_for=LOOKED_FOR, first_upper=first_upper, who=who,
        decided=decided_words(bench, page, mill),
        printed=moment(datetime.now(ZoneInfo(mill.mill.time_zone))),
        asked=parse_qsl(page.query()), was_kept=was_kept, was_undone=was_undone,
        keep_wrong=keep_wrong, undo=undo_of(bench, was_kept, who),
        onward=onward_of(bench, page, mill), **shown,
    )  # fmt: skip


def pdf_name(page: LotsPage) -> str:
    """Name the paper by what it is and what lot it is of; plain letters only."""
    released = page.answer is not None and page.answer.decision.word == "release"
    kind = "release-certificate" if released else "lot-report"
    name = f"{kind} {page.chosen.ball.name} {page.chosen.lot_name}".lower()
    return re.sub(r"[^a-z0-9]+", "-", name).strip("-") + ".pdf"


def shown_of(mill: Mill, page: LotsPage, figures: Figures) -> dict[str, Any]:
    """Everything the page arranges around the decision."""
    plan = page.plan
    shown: dict[str, Any] = {
        "said": None,
        "wrong": words.faults_said(page),
        "told": [],
        "sheets": [],
        "office": words.OFFICE_WORDS,
        "plan_words": words.plan_words(page),
        "plan_chart": None if plan is None else plan_chart(plan, mill, page.lot_size),
        "plan_note": words.plan_rests_on(mill),
        "size_words": words.size_words(page),
        "sampled": words.sampling_words(page, page.sampling) if page.sampling else "",
        "tables": page.tables,
    }
    if page.answer is not None and page.paper is not None:
        shown["said"] = words.decision_words(page, page.answer.decision, figures)
        shown["told"] = words.findings_told(page.answer.decision, figures)
        shown["sheets"] = view.sheets_shown(page.answer.verdicts, page.paper.sheets, figures)
    return shown
