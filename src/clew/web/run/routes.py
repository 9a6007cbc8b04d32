"""The address of Run: the line now, and what a lead starts, changes and ends there."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.store.reading import heads_of
from clew.ledger.store.trouble import CannotKeep
from clew.mill.lines import Line
from clew.web.answers import refuse_not_asked
from clew.web.asked.form_body import form_of
from clew.web.door.who import who_of
from clew.web.run.forms import FORMS, LeadForm, keep_form
from clew.web.run.hand_routes import line_asked
from clew.web.run.live import LiveLines
from clew.web.run.next import onward, take_back, undo_of
from clew.web.run.report import report_of
from clew.web.run.said import live_shown, lots_shown
from clew.web.run.stream import HeadWatch, stream_of
from clew.web.workbench import Workbench

RUN_KEYS = ("line", "told")
FILLED = ("ball", "lot", "order", "target", "why")
"""What another page may have typed already into a form here, and each winder's counter."""
TOLD = {
    "start": say("The run has started. Check the winders against its run card."),
    "set": say("The change is kept."),
    "end": say("The run has ended."),
    "undo": say("Taken back: it stays in the ledger, marked as a slip."),
}
Typed = dict[str, str]


def run_router(bench: Workbench) -> APIRouter:
    """Serve Run, the stream that keeps it fresh, and the lead's forms."""
    router = APIRouter()
    lines = LiveLines(bench)
    watch = HeadWatch(lambda: heads_of(bench.ledger.ledger()), lambda: bench.closing)

    @router.get("/run", include_in_schema=False)
    def run(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        asked = request.query_params
        line = line_asked(bench.mill.read().mill, asked.get("line", ""))
        filled = (*FILLED, *(f"winder-{one.number}" for one in line.winder))
        refuse_not_asked(request, (*RUN_KEYS, "form", *filled))
        form = asked.get("form", "")
        typed = {key: asked[key][:200] for key in filled if key in asked}
        return _show(
            bench, lines, request, line, part=part, told=TOLD.get(asked.get("told", ""), ""),
            typed=typed, form=form if form in TOLD else "",
        )  # fmt: skip

    @router.get("/run/stream", include_in_schema=False)
    async def stream(request: Request) -> Response:
        return stream_of(request, watch)

    @router.get("/run/report.pdf", include_in_schema=False)
    def report(request: Request) -> Response:
        refuse_not_asked(request, ("line", "shift"))
        return report_of(bench, request)

    for name in FORMS:
        _post(router, bench, lines, name)

    @router.post("/run/undo", include_in_schema=False)
    async def undo(request: Request) -> Response:
        typed = await form_of(request)
        return await run_in_threadpool(_undone, bench, lines, request, typed)

    return router


def _undone(bench: Workbench, lines: LiveLines, request: Request, typed: Typed) -> Response:
    line = line_asked(bench.mill.read().mill, typed.get("line", ""))
    seq = typed.get("seq", "")
    try:
        place = int(seq) if seq.isascii() and seq.isdecimal() and len(seq) < 16 else 0
        take_back(bench.ledger.ledger(), line.name, place, who_of(request))
    except BadInput as bad:
        return _show(bench, lines, request, line, faults=bad.faults, form="undo", status=422)
    except CannotKeep as trouble:
        return _show(bench, lines, request, line, faults=(_cannot(trouble),), form="undo",
                     status=503)  # fmt: skip
    return RedirectResponse(_back_to(line, "undo"), status_code=303)


def _cannot(trouble: CannotKeep) -> Fault:
    return Fault(say("The ledger cannot keep anything: {reason}", reason=trouble.reason))


def _back_to(line: Line, told: str) -> str:
    from urllib.parse import quote_plus

    return f"/run?line={quote_plus(line.name)}&told={told}"


def _post(router: APIRouter, bench: Workbench, lines: LiveLines, name: str) -> None:
    @router.post(f"/run/{name}", include_in_schema=False, name=f"run_{name}")
    async def post(request: Request) -> Response:
        typed = await form_of(request)
        return await run_in_threadpool(_do, bench, lines, request, typed, name)


def _do(bench: Workbench, lines: LiveLines, request: Request, typed: Typed, name: str) -> Response:
    mill = bench.mill.read().mill
    line = line_asked(mill, typed.get("line", ""))
    try:
        state = lines.state(line.name)
        keep_form(LeadForm(bench.ledger.ledger(), mill, line, state, typed, who_of(request)), name)
    except BadInput as bad:
        return _show(bench, lines, request, line, typed=typed, faults=bad.faults, form=name,
                     status=422)  # fmt: skip
    except CannotKeep as trouble:
        return _show(bench, lines, request, line, typed=typed, faults=(_cannot(trouble),),
                     form=name, status=503)  # fmt: skip
    return RedirectResponse(_back_to(line, name), status_code=303)


def _words(fault: Fault) -> str:
    text = joined(": ", (fault.key, fault.what)) if fault.key else fault.what
    if fault.value:
        text = joined(" ", (text, f"({fault.value})"))
    return _expected(text, fault)


def _beside(fault: Fault) -> str:
    return _expected(fault.what, fault)


def _expected(text: str, fault: Fault) -> str:
    if not fault.expected:
        return text
    return say("{fault}; expected {expected}", fault=text, expected=fault.expected)


def _show(
    bench: Workbench, lines: LiveLines, request: Request, line: Line, *, part: str = "",
    told: str = "", typed: Typed | None = None, faults: Sequence[Fault] = (), form: str = "",
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    mill = bench.mill.read().mill
    who = who_of(request)
    shown: dict[str, Any] = {"live": None, "trouble_now": "", "now_clock": ""}
    try:
        shown |= live_shown(lines.answer(line.name), mill, bench.units(request))
        if part != "live":
            shown["onward"] = onward(bench, mill, line, lines.state(line.name))
            if who.may("lead runs"):
                shown["undo"] = undo_of(bench.ledger.ledger(), line.name, who)
    except CannotKeep as trouble:
        shown["trouble_now"] = trouble.reason
    return bench.show(
        request, "run_part.html" if part == "live" else "run.html", at="run", status=status,
        line_name=line.name, lines=[one.name for one in mill.line], told=told, told_wrong=False,
        who=who, typed=typed or {}, form_faults=[_words(one) for one in faults], open_form=form,
        wrong={one.key: _beside(one) for one in faults if one.key},
        form_key=secrets.token_hex(12), balls=[one.name for one in mill.ball],
        lots=lots_shown(mill), orders=[one.number for one in mill.order],
        **({"running": False, "settings": (), "target": "", "onward": (), "undo": None} | shown),
    )  # fmt: skip
