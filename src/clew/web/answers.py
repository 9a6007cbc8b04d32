"""The one shape of a fault for programs, and how every kind of failure becomes a plain answer."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import DEFAULT, first_lower, first_upper, say, speaking, spoken
from clew.ledger.store.trouble import CannotKeep
from clew.web.asked.speech import language_of
from clew.web.case.page import COST_KEYS, PACK_KEYS
from clew.web.creel.page import CREEL_KEYS
from clew.web.door.guard import headers_of
from clew.web.knots.answer_page import ANSWER_KEYS
from clew.web.knots.inputs import KNOTS_KEYS
from clew.web.orders.page import PLAN_KEYS, WISH_KEYS
from clew.web.wind.page import WIND_KEYS
from clew.web.workbench import Workbench

_WORDS = {
    404: (
        say("There is no such page"),
        say("The open stations are drawn above, each with its link."),
    ),
    405: (say("That cannot be done here"), say("This address is only for reading.")),
}

_KNOWN = {
    "/api/yarn": CREEL_KEYS,
    "/api/knots/answer": ANSWER_KEYS,
    **{f"/api/knots/{what}": KNOTS_KEYS for what in ("law", "price", "strand")},
    **{f"/api/plan/{what}": PLAN_KEYS for what in ("materials", "sequence")},
    "/api/plan/wish": WISH_KEYS,
    "/api/plan/pack": PACK_KEYS,
    "/api/plan/cost": COST_KEYS,
}
"""What is asked at each address for programs; at the others it is what Wind asks."""


class FaultBody(BaseModel):
    """One thing wrong with what was asked."""

    what: str
    expected: str
    key: str
    value: str
    place: str


class FaultsBody(BaseModel):
    """Everything wrong with what was asked."""

    faults: list[FaultBody]


def faults_body(faults: tuple[Fault, ...]) -> dict[str, Any]:
    """Put faults into the shape that every address for programs answers with."""
    return {
        "faults": [
            {
                "what": spoken(fault.what),
                "expected": spoken(fault.expected),
                "key": fault.key,
                "value": fault.value,
                "place": _place(fault),
            }
            for fault in faults
        ]
    }


def not_asked(key: str, value: str, known: tuple[str, ...]) -> Fault:
    """Say that a name in an address is none that is asked for there."""
    words = say("one of {names}", names=", ".join(known))
    return Fault(
        say("nothing of that name is asked here"), words, key=key[:80], value=repr(value)[:80]
    )


def refuse_not_asked(request: Request, known: tuple[str, ...]) -> None:
    """Refuse a page's address that names what the page does not ask.

    Parameters
    ----------
    request : Request
        What was asked.
    known : tuple of str
        What the page asks.

    Raises
    ------
    BadInput
        With every name that is not known.
    """
    said = request.query_params.multi_items()
    faults = [not_asked(key, value, known) for key, value in said if key not in (*known, "part")]
    if faults:
        raise BadInput(faults)


def _place(fault: Fault) -> str:
    where = fault.file if fault.line is None else f"{fault.file}:{fault.line}"
    return " ".join(part for part in (where, f"[{fault.section}]" if fault.section else "") if part)


def _for_programs(request: Request) -> bool:
    return request.url.path.startswith(("/api/", "/openapi.json"))


def answer_failures(app: FastAPI, bench: Workbench) -> None:
    """Make every failure a plain page or a plain object; no traceback reaches a reader."""

    def bad_input(request: Request, error: Exception) -> Response:
        assert isinstance(error, BadInput)
        if _for_programs(request):
            return JSONResponse(faults_body(error.faults), status_code=422)
        return bench.show_faults(request, error)

    def bad_request(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        known = _KNOWN.get(request.url.path, WIND_KEYS)
        faults = tuple(
            not_asked(str(found["loc"][-1]), str(found.get("input")), known)
            if found["type"] == "extra_forbidden"
            else Fault(
                str(found["msg"]), key=str(found["loc"][-1]), value=repr(found.get("input"))[:80]
            )
            for found in error.errors()
        )
        return bad_input(request, BadInput(faults))

    def refused(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        heading, words = _WORDS.get(error.status_code, (error.detail, ""))
        if _for_programs(request):
            fault = Fault(first_lower(heading), value=request.url.path)
            return JSONResponse(faults_body((fault,)), error.status_code, error.headers)
        page = bench.show(
            request, "missing.html", status=error.status_code, heading=heading, words=words
        )
        page.headers.update(error.headers or {})
        return page

    def failed(request: Request, error: Exception) -> Response:
        # this answer is made outside the guard, the door and the reader's language; the mill file
        # is not asked again for its own: what failed may be just that
        with speaking(DEFAULT if _for_programs(request) else language_of(request, None)):
            return told_failure(request, error)

    def told_failure(request: Request, error: Exception) -> Response:
        heading = say("Clew failed to answer that")
        words = say(
            "It is a fault of the program ({kind}), not of what you entered. The "
            "window where Clew was started says more.",
            kind=type(error).__name__,
        )
        answer: Response = (
            JSONResponse(faults_body((Fault(words),)), status_code=500)
            if _for_programs(request)
            else bench.show(request, "missing.html", status=500, heading=heading, words=words)
        )
        answer.headers.update(headers_of(request.url.scheme) | {"Cache-Control": "no-store"})
        return answer

    def cannot_keep(request: Request, error: Exception) -> Response:
        assert isinstance(error, CannotKeep)
        later = {"Retry-After": "5"}
        if _for_programs(request):
            fault = Fault(
                say("the ledger cannot be read or written: {reason}", reason=error.reason)
            )
            return JSONResponse(faults_body((fault,)), status_code=503, headers=later)
        words = say("{reason}. Nothing was kept or acknowledged.", reason=first_upper(error.reason))
        page = bench.show(
            request,
            "missing.html",
            status=503,
            heading=say("The ledger does not answer"),
            words=words,
        )
        page.headers.update(later)
        return page

    app.add_exception_handler(BadInput, bad_input)
    app.add_exception_handler(CannotKeep, cannot_keep)
    app.add_exception_handler(RequestValidationError, bad_request)
    app.add_exception_handler(HTTPException, refused)
    app.add_exception_handler(Exception, failed)
