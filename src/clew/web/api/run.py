"""The JSON beside Run and Trace: the line now, and where a ball comes from or a cone went."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.requests import Request

from clew.faults import BadInput, Fault
from clew.ledger.state.live_plain import plain_live
from clew.ledger.trace.answer import BackTrace, ForwardTrace
from clew.ledger.trace.pallets import PalletTrace
from clew.ledger.trace.plain import plain_back, plain_forward, plain_pallet, plain_recall
from clew.ledger.trace.recall import recall_list
from clew.web.answers import refuse_not_asked
from clew.web.api.questions import FAULTS
from clew.web.run.live import LiveLines
from clew.web.trace.page import TRACE_KEYS, trace_asked, traced
from clew.web.workbench import Workbench

What = Annotated[str, Query(description="band, cone, lot, case, pallet or token")]
Name = Annotated[str, Query(description="its name, or what the band says")]


def api_run_router(bench: Workbench) -> APIRouter:
    """Serve the line now, and traces, to programs."""
    router = APIRouter(responses=FAULTS)
    lines = LiveLines(bench)

    @router.get("/api/run/live", summary="What a line does now")
    def live(
        request: Request,
        line: Annotated[str, Query(description="name of the line; the first when left out")] = "",
    ) -> dict[str, Any]:
        refuse_not_asked(request, ("line",))
        mill = bench.mill.read().mill
        return plain_live(lines.answer(mill.find_line(line or mill.line[0].name).name))

    @router.get("/api/lot/trace", summary="Back from a band, a case or a token; on from a cone")
    def trace(request: Request, what: What = "band", name: Name = "") -> dict[str, Any]:
        del what, name  # read off the address, as the page does
        found = _traced(bench, request)
        if isinstance(found, PalletTrace):
            return plain_pallet(found)
        return plain_forward(found) if isinstance(found, ForwardTrace) else plain_back(found)

    @router.get("/api/lot/recall", summary="Every case and ball a cone or dye lot may be in")
    def recall(request: Request, what: What = "cone", name: Name = "") -> dict[str, Any]:
        del what, name
        found = _traced(bench, request)
        if not isinstance(found, ForwardTrace):
            raise BadInput(Fault("nothing that is recalled", "a cone or a dye lot", key="what"))
        return plain_recall(recall_list(found, bench.mill.read().mill.mill.time_zone))

    return router


def _traced(bench: Workbench, request: Request) -> BackTrace | ForwardTrace | PalletTrace:
    refuse_not_asked(request, TRACE_KEYS)
    asked = trace_asked(request.query_params)
    if not asked.name:
        raise BadInput(Fault("nothing to trace", "its name, or what the band says", key="name"))
    return traced(bench.mill.read().mill, bench.ledger.ledger(), asked)
