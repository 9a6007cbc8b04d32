"""The addresses of Trace: the page, the recall list as a table and as a paper, the open events."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.moments import us_of, utc_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import head_of, lines_of, records_in_time
from clew.ledger.store.trouble import CannotKeep
from clew.ledger.trace.answer import BackTrace, ForwardTrace
from clew.ledger.trace.band_code import write_band_code
from clew.ledger.trace.pallets import PalletTrace
from clew.ledger.trace.recall import RecallList, recall_csv, recall_list
from clew.ledger.trace.tracing import Tracing
from clew.mill.model import Mill
from clew.papers.printing import made_now, pdf_of
from clew.web.answers import refuse_not_asked
from clew.web.asked.limits import fault_for
from clew.web.door.who import who_of
from clew.web.drawn.figures import Figures
from clew.web.trace.page import TRACE_KEYS, WHATS, TraceAsked, as_typed, trace_asked, traced
from clew.web.trace.view import NOTHING, back_shown, forward_shown, pallet_shown
from clew.web.workbench import Workbench


def trace_router(bench: Workbench) -> APIRouter:
    """Serve Trace and what can be taken along from it."""
    router = APIRouter()

    @router.get("/trace", include_in_schema=False)
    def trace(request: Request) -> HTMLResponse:
        refuse_not_asked(request, TRACE_KEYS)
        mill, shown = bench.mill.read().mill, _nothing()
        status, asked = 200, as_typed(request.query_params)
        try:
            asked = trace_asked(request.query_params)
            if asked.name:
                shown |= _shown(traced(mill, bench.ledger.ledger(), asked), mill, bench, request)
        except BadInput as bad:
            status = 422
            shown["faults"] = [fault_for(one, bench.units(request)) for one in bad.faults]
        return bench.show(
            request, "trace.html", at="trace", status=status, asked=asked, whats=WHATS,
            who=who_of(request), example=_example(mill), latest=_latest(mill, bench),
            nothing=NOTHING, **shown,
        )  # fmt: skip

    @router.get("/trace/recall.csv", include_in_schema=False)
    def table(request: Request) -> Response:
        found, _, _ = recalled(request)
        return Response(recall_csv(found), media_type="text/csv; charset=utf-8",
                        headers=_file("recall.csv"))  # fmt: skip

    @router.get("/trace/recall.pdf", include_in_schema=False)
    def paper(request: Request) -> Response:
        from clew.papers.recall_list_content import recall_content

        found, mill, ledger = recalled(request)
        content = recall_content(
            found, mill_name=mill.mill.name, author=who_of(request).name,
            anchors=_anchors(ledger), words=(), paper=mill.mill.paper,
        )  # fmt: skip
        made = made_now(mill.mill.time_zone, utc_of(ledger.clock()))
        return Response(pdf_of(content, made=made), media_type="application/pdf",
                        headers=_file("recall.pdf", inline=True))  # fmt: skip

    @router.get("/trace/epcis.json", include_in_schema=False)
    def events(request: Request) -> Response:
        from clew.ledger.trace.epcis import SITE, Keys
        from clew.ledger.trace.export import epcis_file

        refuse_not_asked(request, TRACE_KEYS)
        asked, mill, ledger = _named(request, bench)
        found = traced(mill, ledger, asked)
        if isinstance(found, PalletTrace):
            raise BadInput(
                Fault(say("not for a whole pallet"), say("its cases, one by one"), key="what")
            )
        keys = Keys("", "", "", "urn", SITE)
        content = epcis_file(Tracing(mill, ledger), found, keys, made_us=ledger.clock())
        return Response(content, media_type="application/ld+json",
                        headers=_file("epcis.json"))  # fmt: skip

    def recalled(request: Request) -> tuple[RecallList, Mill, Ledger]:
        refuse_not_asked(request, TRACE_KEYS)
        asked, mill, ledger = _named(request, bench)
        found = traced(mill, ledger, asked)
        if not isinstance(found, ForwardTrace):
            raise BadInput(
                Fault(say("nothing that is recalled"), say("a cone or a dye lot"), key="what")
            )
        return recall_list(found, mill.mill.time_zone), mill, ledger

    return router


def _example(mill: Mill) -> str:
    """Write a code as this mill's bands carry it, with names of its own."""
    line = mill.line[0]
    lot = next((one.lot for colour in mill.colour for one in colour.dye_lot), "LOT-1")
    at = datetime(2026, 11, 25, 14, 32, tzinfo=ZoneInfo(mill.mill.time_zone))
    return write_band_code(lot, line.name, line.winder[0].number, us_of(at), mill.mill.time_zone)


def _latest(mill: Mill, bench: Workbench) -> str:
    """Write the code of the ball that was banded last, to try the page with; empty for none."""
    try:
        ledger = bench.ledger.ledger(make=False)
        for line in mill.line:
            winders = {one.lane: one.number for one in line.winder}
            for one in records_in_time(
                ledger, line.name, kinds=("banded",), latest_first=True, most=1
            ):
                run = next(
                    records_in_time(
                        ledger,
                        line.name,
                        kinds=("run start",),
                        upto_us=one.at_us,
                        latest_first=True,
                        most=1,
                    ),
                    None,
                )
                lot = one.lot or ("" if run is None else run.lot)
                if lot and one.lane in winders:
                    return write_band_code(lot, line.name, winders[one.lane], one.at_us,
                                           mill.mill.time_zone)  # fmt: skip
    except (BadInput, CannotKeep):
        return ""
    return ""


def _named(request: Request, bench: Workbench) -> tuple[TraceAsked, Mill, Ledger]:
    asked = trace_asked(request.query_params)
    if not asked.name:
        raise BadInput(
            Fault(say("nothing to trace"), say("its name, or what the band says"), key="name")
        )
    return asked, bench.mill.read().mill, bench.ledger.ledger()


def _file(name: str, *, inline: bool = False) -> dict[str, str]:
    how = "inline" if inline else "attachment"
    return {"Content-Disposition": f'{how}; filename="{name}"'}


def _anchors(ledger: Ledger) -> list[str]:
    heads = [(line, *head_of(ledger, line)) for line in lines_of(ledger)]
    return [anchor_at(line, seq, digest).text() for line, seq, digest in heads if seq]


def _nothing() -> dict[str, Any]:
    return {"headline": "", "words": (), "ways": (), "sheets": (), "missing": (), "faults": (),
            "onward": False, "any": False,
            "of_pallet": False}  # fmt: skip


def _shown(
    found: BackTrace | ForwardTrace | PalletTrace, mill: Mill, bench: Workbench, request: Request
) -> dict[str, Any]:
    zone = mill.mill.time_zone
    if isinstance(found, PalletTrace):
        return pallet_shown(found, zone) | {"onward": False, "any": True, "of_pallet": True}
    if isinstance(found, ForwardTrace):
        return forward_shown(found, zone) | {"onward": True, "any": bool(found.balls)}
    shown = back_shown(found, zone, Figures(bench.units(request)))
    return shown | {"onward": False, "any": bool(found.balls)}
