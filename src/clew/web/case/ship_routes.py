"""The addresses by which Case closes cases and pallets, ships, and prints what goes with them."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from typing import Literal
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from clew.faults import BadInput
from clew.languages import say
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.web.answers import refuse_not_asked
from clew.web.asked.form_body import form_lists, key_typed
from clew.web.case.page import CASE_KEYS, open_case
from clew.web.case.ship_closing import Asked, Refused, close_a_case, close_a_pallet, ship_it
from clew.web.case.ship_page import ship_state
from clew.web.case.ship_papers import label_pdf, paper_pdf
from clew.web.case.ship_undo import undo_closing
from clew.web.case.ship_view import Refusal, ship_shown
from clew.web.case.view import case_shown
from clew.web.door.who import who_of
from clew.web.drawn.figures import Figures
from clew.web.workbench import Workbench

Lists = Mapping[str, list[str]]
Deed = Callable[[Ledger, Mill, Asked], dict[str, str]]
_LONGEST_KEY = 60
"""Letters of a form's key that count: a record's key is made of it and a package's name."""


def ship_router(bench: Workbench) -> APIRouter:
    """Serve the forms of "Close and ship", and the labels and papers that come of them."""
    router = APIRouter()
    deeds: tuple[tuple[str, str, Deed], ...] = (
        ("case", "/case/close-case", close_a_case),
        ("pallet", "/case/close-pallet", close_a_pallet),
        ("ship", "/case/ship", ship_it),
    )
    for name, path, deed in deeds:
        _post(router, bench, name, path, deed)

    @router.post("/case/undo", include_in_schema=False)
    async def undo(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(_undo, bench, request, typed)

    @router.get("/case/label.pdf", include_in_schema=False)
    def label(request: Request) -> Response:
        refuse_not_asked(request, ("package", "order"))
        asked, mill = request.query_params, bench.mill.read().mill
        name, raw = label_pdf(
            bench.ledger.ledger(make=False), mill, asked.get("package", ""), asked.get("order", "")
        )
        return _pdf(name, raw)

    @router.get("/case/note.pdf", include_in_schema=False)
    def note(request: Request) -> Response:
        return _paper(bench, request, "note", "delivery-note.pdf")

    @router.get("/case/packing-list.pdf", include_in_schema=False)
    def packing_list(request: Request) -> Response:
        return _paper(bench, request, "packing list", "packing-list.pdf")

    return router


def _paper(
    bench: Workbench, request: Request, what: Literal["note", "packing list"], name: str
) -> Response:
    refuse_not_asked(request, ("delivery",))
    delivery = request.query_params.get("delivery", "").strip()
    mill = bench.mill.read().mill
    return _pdf(name, paper_pdf(bench.ledger.ledger(make=False), mill, delivery, what=what))


def _pdf(name: str, raw: bytes) -> Response:
    return Response(
        raw, media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )  # fmt: skip


def _post(router: APIRouter, bench: Workbench, name: str, path: str, deed: Deed) -> None:
    @router.post(path, include_in_schema=False, name=f"case_{name}")
    async def post(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(_do, bench, request, typed, name, deed)


def _do(bench: Workbench, request: Request, typed: Lists, name: str, deed: Deed) -> Response:
    mill, who = bench.mill.read().mill, who_of(request)
    try:
        asked = Asked(typed, _key(typed), who)
        told = deed(bench.ledger.ledger(make=False), mill, asked)
    except Refused as no:
        return _again(bench, request, Refusal(name, typed, (), no.reasons), 422)
    except BadInput as bad:
        return _again(bench, request, Refusal(name, typed, bad.faults), 422)
    except CannotKeep as trouble:
        return _again(bench, request, Refusal(name, typed, (), _nothing_kept(trouble)), 503)
    query = urlencode([*_page_asked(typed).items(), *told.items()])
    return RedirectResponse(f"/case?{query}#ship", status_code=303)


def _undo(bench: Workbench, request: Request, typed: Lists) -> Response:
    try:
        ledger = bench.ledger.ledger(make=False)
        state = ship_state(ledger, bench.mill.read().mill)
        name = undo_closing(ledger, state, typed.get("package", [""])[-1], who_of(request))
    except BadInput as bad:
        return _again(bench, request, Refusal("undo", typed, bad.faults), 422)
    except CannotKeep as trouble:
        return _again(bench, request, Refusal("undo", typed, (), _nothing_kept(trouble)), 503)
    query = urlencode([*_page_asked(typed).items(), ("undone", name)])
    return RedirectResponse(f"/case?{query}#ship", status_code=303)


def _nothing_kept(trouble: CannotKeep) -> tuple[str, ...]:
    return (
        say(
            "The ledger cannot keep anything: {reason}. Nothing is recorded", reason=trouble.reason
        ),
    )


def _key(typed: Lists) -> str:
    key = key_typed({name: values[-1] for name, values in typed.items()})
    return key[:_LONGEST_KEY] or secrets.token_hex(12)


def _page_asked(typed: Lists) -> dict[str, str]:
    """Read what the page around the form was asked."""
    pairs = parse_qsl(typed.get("page", [""])[-1][:2000])
    return {key: value for key, value in pairs if key in CASE_KEYS}


def _again(bench: Workbench, request: Request, refusal: Refusal, status: int) -> HTMLResponse:
    """Show the page with what was typed, and what is wrong with it beside it."""
    reading, asked = bench.mill.read(), _page_asked(refusal.typed)
    try:
        page = open_case(reading, asked)
    except BadInput:  # the mill file changed meanwhile; what was typed counts, not what is around
        page = open_case(reading, {})
    return bench.show(
        request, "case.html", at="case", status=status, page=page, worth=None,
        **case_shown(page, reading.mill, Figures(bench.units(request))),
        **ship_shown(bench, reading.mill, page, asked, who_of(request), refusal=refusal),
    )  # fmt: skip
