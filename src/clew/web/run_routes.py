"""The address of Run: the line now, and what a lead starts, changes and ends there."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message
from clew.ledger.runs.end import EndQuestion, end_message
from clew.ledger.runs.setting import SetQuestion, set_message
from clew.ledger.runs.start import StartQuestion, start_message
from clew.ledger.state.known import LineState
from clew.ledger.store.reading import heads_of, records_naming
from clew.ledger.store.trouble import CannotKeep
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.papers.fingerprint import inputs_fingerprint
from clew.quantities import MASS, read_quantity
from clew.web.answers import refuse_not_asked
from clew.web.form_body import form_of, key_typed
from clew.web.hand_routes import line_asked
from clew.web.run_live import LiveLines
from clew.web.run_report import report_of
from clew.web.run_said import live_shown, lots_shown
from clew.web.run_stream import HeadWatch, stream_of
from clew.web.who import Who, who_of
from clew.web.workbench import Workbench

RUN_KEYS = ("line", "told")
TOLD = {
    "start": "The run has started. Check the winders against its run card.",
    "set": "The change is kept.",
    "end": "The run has ended.",
}
Typed = dict[str, str]


def run_router(bench: Workbench) -> APIRouter:
    """Serve Run, the stream that keeps it fresh, and the lead's forms."""
    router = APIRouter()
    lines = LiveLines(bench)
    watch = HeadWatch(lambda: heads_of(bench.ledger.ledger()), lambda: bench.closing)

    @router.get("/run", include_in_schema=False)
    def run(request: Request, part: Annotated[str, Query()] = "") -> HTMLResponse:
        refuse_not_asked(request, RUN_KEYS)
        line = line_asked(bench.mill.read().mill, request.query_params.get("line", ""))
        told = TOLD.get(request.query_params.get("told", ""), "")
        return _show(bench, lines, request, line, part=part, told=told)

    @router.get("/run/stream", include_in_schema=False)
    async def stream(request: Request) -> Response:
        return stream_of(request, watch)

    @router.get("/run/report.pdf", include_in_schema=False)
    def report(request: Request) -> Response:
        refuse_not_asked(request, ("line", "shift"))
        return report_of(bench, request)

    deeds: tuple[tuple[str, Callable[..., Message]], ...] = (
        ("start", _started), ("set", _changed), ("end", _ended),
    )  # fmt: skip
    for name, make in deeds:
        _post(router, bench, lines, name, make)
    return router


def _post(
    router: APIRouter, bench: Workbench, lines: LiveLines, name: str, make: Callable[..., Message]
) -> None:
    @router.post(f"/run/{name}", include_in_schema=False, name=f"run_{name}")
    async def post(request: Request) -> Response:
        typed = await form_of(request)
        return await run_in_threadpool(_do, bench, lines, request, typed, name, make)


def _do(
    bench: Workbench, lines: LiveLines, request: Request, typed: Typed, name: str,
    make: Callable[..., Message],
) -> Response:  # fmt: skip
    mill = bench.mill.read().mill
    line = line_asked(mill, typed.get("line", ""))
    try:
        ledger = bench.ledger.ledger()
        if not _kept_before(bench, line, typed):
            message = make(bench, mill, line, typed, who_of(request), lines.state(line.name))
            ledger.append([message])
    except BadInput as bad:
        words = [_words(one) for one in bad.faults]
        return _show(bench, lines, request, line, typed=typed, faults=words, form=name, status=422)
    except CannotKeep as trouble:
        words = [f"The ledger cannot keep anything: {trouble.reason}"]
        return _show(bench, lines, request, line, typed=typed, faults=words, form=name, status=503)
    from urllib.parse import quote_plus

    return RedirectResponse(f"/run?line={quote_plus(line.name)}&told={name}", status_code=303)


def _words(fault: Fault) -> str:
    text = f"{fault.key}: {fault.what}" if fault.key else fault.what
    return text + (f" ({fault.value})" if fault.value else "") + (
        f"; expected {fault.expected}" if fault.expected else ""
    )  # fmt: skip


def _kept_before(bench: Workbench, line: Line, typed: Typed) -> bool:
    """Say whether this very form was sent before: a button that is pressed twice does one thing."""
    from clew.ledger.store.reading import records_in_time

    key = typed.get("key", "")
    found = records_in_time(
        bench.ledger.ledger(), line.name, kinds=("run start", "run set", "run end"),
        latest_first=True, most=20,
    )  # fmt: skip
    return bool(key) and any(one.key == key for one in found)


def _common(bench: Workbench, typed: Typed, who: Who) -> dict[str, Any]:
    return {
        "at_us": bench.ledger.ledger().clock(),
        "author": who.name,
        "source": who.source or "tablet",
        "key": key_typed(typed) or secrets.token_hex(12),
    }


def _started(
    bench: Workbench, mill: Mill, line: Line, typed: Typed, who: Who, state: LineState
) -> Message:
    ball, lot = typed.get("ball", ""), typed.get("lot", "")
    ledger = bench.ledger.ledger()
    question = StartQuestion(
        ball, lot, line.name, **_common(bench, typed, who), order=typed.get("order", "").strip(),
        trial=bool(typed.get("trial")), card=inputs_fingerprint(mill, ball, lot, line.name),
    )  # fmt: skip

    def used(name: str) -> bool:
        return next(records_naming(ledger, "run", name), None) is not None

    return start_message(mill, question, state.run, used, last_run=state.last_run).message


def _changed(
    bench: Workbench, mill: Mill, line: Line, typed: Typed, who: Who, state: LineState
) -> Message:
    del mill
    counts: dict[int, float] = {}
    faults: list[Fault] = []
    for winder in line.winder:
        text = typed.get(f"winder-{winder.number}", "").strip().replace(",", ".")
        if not text:
            continue
        try:
            counts[winder.number] = float(text)
        except ValueError:
            faults.append(Fault("no counter setting", "a number", key=f"winder {winder.number}",
                                value=repr(text)[:40]))  # fmt: skip
    values: dict[str, float] = {}
    target = typed.get("target", "").strip()
    if target:
        try:
            values["target_g"] = read_quantity(target, MASS)
        except BadInput as bad:
            one = bad.faults[0]
            faults.append(Fault(one.what, one.expected, key="target", value=repr(target)[:40]))
    if faults:
        raise BadInput(faults)
    question = SetQuestion(
        **_common(bench, typed, who), why=typed.get("why", ""), counts=counts, values=values
    )
    return set_message(line, question, state.run)


def _ended(
    bench: Workbench, mill: Mill, line: Line, typed: Typed, who: Who, state: LineState
) -> Message:
    del mill
    question = EndQuestion(**_common(bench, typed, who), why=typed.get("why", ""))
    return end_message(line.name, question, state.run)


def _show(
    bench: Workbench, lines: LiveLines, request: Request, line: Line, *, part: str = "",
    told: str = "", typed: Typed | None = None, faults: list[str] | None = None, form: str = "",
    status: int = 200,
) -> HTMLResponse:  # fmt: skip
    mill = bench.mill.read().mill
    shown: dict[str, Any] = {"live": None, "trouble_now": "", "now_clock": ""}
    try:
        shown |= live_shown(lines.answer(line.name), mill, bench.units(request))
    except CannotKeep as trouble:
        shown["trouble_now"] = trouble.reason
    return bench.show(
        request, "run_part.html" if part == "live" else "run.html", at="run", status=status,
        line_name=line.name, lines=[one.name for one in mill.line], told=told, told_wrong=False,
        who=who_of(request), typed=typed or {}, form_faults=faults or [], open_form=form,
        form_key=secrets.token_hex(12), balls=[one.name for one in mill.ball],
        lots=lots_shown(mill), orders=[one.number for one in mill.order],
        **({"running": False, "settings": (), "target": ""} | shown),
    )  # fmt: skip
