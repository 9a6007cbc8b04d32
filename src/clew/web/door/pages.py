"""The pages at the door: sign in, sign out, who is at the tablet, another password."""

from __future__ import annotations

from contextlib import suppress
from urllib.parse import quote

import anyio
import anyio.to_thread
from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.people.names import read_name
from clew.ledger.people.passwords import SHORTEST
from clew.ledger.people.people import set_password
from clew.ledger.people.sessions import LONGEST_US, begin_session, end_session
from clew.ledger.people.signing_in import SignedIn, is_password_of, sign_in
from clew.ledger.store.ledger import now_us
from clew.ledger.store.trouble import CannotKeep
from clew.web.asked.form_body import form_of
from clew.web.asked.reader import local_path
from clew.web.door.door import HAND_COOKIE, session_cookie, session_in
from clew.web.door.names import names_lately, note_hand, shift_ends_us
from clew.web.door.who import who_of
from clew.web.mill_on_disk import UnusableMill
from clew.web.workbench import Workbench

Form = dict[str, str]
_HASHED_AT_ONCE = 4
"""Passwords looked at together; the others wait outside, so that no page waits for them."""
WRONG = say("That name and password do not go together.")


def door_router(bench: Workbench) -> APIRouter:
    """Serve the pages at the door."""
    router = APIRouter(include_in_schema=False)
    few = anyio.CapacityLimiter(_HASHED_AT_ONCE)

    @router.get("/sign-in")
    def asked_in(request: Request) -> Response:
        back = local_path(request.query_params.get("back", "/"))
        if not request.state.sign_in or who_of(request).how == "session":
            return RedirectResponse(back, status_code=303)
        return bench.show(request, "sign_in.html", back=back, name="", wrong="")

    @router.post("/sign-in")
    async def signed_in(request: Request) -> Response:
        form = await form_of(request)
        if not request.state.sign_in:
            return RedirectResponse("/who", status_code=303)
        return await anyio.to_thread.run_sync(_sign_in, bench, request, form, limiter=few)

    @router.post("/sign-out")
    def signed_out(request: Request) -> Response:
        return _sign_out(bench, request)

    @router.get("/who")
    def who(request: Request) -> Response:
        return _who(bench, request)

    @router.post("/who")
    async def stands(request: Request) -> Response:
        form = await form_of(request)
        return await run_in_threadpool(_stand, bench, request, form)

    @router.post("/password")
    async def password(request: Request) -> Response:
        form = await form_of(request)
        return await anyio.to_thread.run_sync(_password, bench, request, form, limiter=few)

    return router


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


def _set_session(answer: Response, scheme: str, token: str) -> None:
    answer.set_cookie(
        session_cookie(scheme), token, max_age=LONGEST_US // 1_000_000 if token else 0, path="/",
        secure=scheme == "https", httponly=True, samesite="lax",
    )  # fmt: skip


def _sign_in(bench: Workbench, request: Request, form: Form) -> Response:
    back, name = local_path(form.get("back", "/")), form.get("name", "").strip()[:200]
    scheme, status, wrong = request.url.scheme, 401, WRONG
    try:
        found = sign_in(
            bench.ledger.ledger(), name, form.get("password", ""), address=_address(request),
            instead_of=session_in(request.headers, scheme),
        )  # fmt: skip
    except CannotKeep as trouble:
        found, status = SignedIn(), 503
        wrong = say("Nobody can sign in now: {reason}.", reason=trouble.reason)
    if found.token:
        answer = RedirectResponse(back, status_code=303)
        _set_session(answer, scheme, found.token)
        return answer
    if found.wait_s:
        status, wrong = 429, _wait_words(found.wait_s)
    page = bench.show(request, "sign_in.html", status=status, back=back, name=name, wrong=wrong)
    if found.wait_s:
        page.headers["Retry-After"] = str(found.wait_s)
    return page


def _sign_out(bench: Workbench, request: Request) -> Response:
    scheme = request.url.scheme
    answer: Response = RedirectResponse("/sign-in" if request.state.sign_in else "/", 303)
    token = session_in(request.headers, scheme)
    if request.state.sign_in and token:
        try:
            end_session(bench.ledger.ledger(), token)
        except CannotKeep as trouble:
            words = say(
                "This browser forgets it; the ledger could not: {reason}.", reason=trouble.reason
            )
            heading = say("You are signed out here only")
            answer = bench.show(request, "missing.html", status=503, heading=heading, words=words)
        answer.headers["Clear-Site-Data"] = '"cache"'
    _set_session(answer, scheme, "")
    return answer


def _wait_words(wait_s: int) -> str:
    if wait_s < 90:
        return say("Too many tries. Wait {n} s and try again.", n=wait_s)
    return say("Too many tries. Wait {n} min and try again.", n=-(-wait_s // 60))


def _who(
    bench: Workbench, request: Request, *, status: int = 200, wrong: str = "", done: str = ""
) -> Response:
    back = local_path(request.query_params.get("back", "/run"))
    names: tuple[str, ...] = ()
    if who_of(request).how == "tablet":
        with suppress(UnusableMill):
            names = names_lately(bench, bench.mill.read().mill.line[0].name)
    return bench.show(
        request, "who.html", status=status, back=back, names=names, wrong=wrong, done=done,
        shortest=SHORTEST,
    )  # fmt: skip


def _stand(bench: Workbench, request: Request, form: Form) -> Response:
    """Set who stands at the tablet; one touch, until the shift ends."""
    if who_of(request).how != "tablet":
        return RedirectResponse("/who", status_code=303)
    said = form.get("other", "").strip() or form.get("hand", "")
    answer = RedirectResponse(local_path(form.get("back", "/")), status_code=303)
    if not said.strip():
        answer.delete_cookie(HAND_COOKIE, httponly=True, samesite="lax")
        return answer
    try:
        name = read_name(said)
        mill = bench.mill.read().mill
    except UnusableMill:
        raise
    except BadInput as bad:
        return _who(bench, request, status=422, wrong=bad.faults[0].said())
    with suppress(CannotKeep):  # the banner says so; who enters what is with each entry
        note_hand(bench.ledger.ledger(), mill.line[0].name, name)
    now = now_us()
    answer.set_cookie(
        HAND_COOKIE, quote(name), max_age=-(-(shift_ends_us(mill, now) - now) // 1_000_000),
        path="/", httponly=True, samesite="lax", secure=request.url.scheme == "https",
    )  # fmt: skip
    return answer


def _password(bench: Workbench, request: Request, form: Form) -> Response:
    """Give whoever is signed in another password, when they know the one they have."""
    who = who_of(request)
    if who.how != "session":
        return RedirectResponse("/who", status_code=303)
    now, new, again = (form.get(key, "") for key in ("now", "new", "again"))
    try:
        ledger = bench.ledger.ledger()
        if new != again:
            raise BadInput(Fault(say("the new password was not typed the same twice")))
        found = is_password_of(ledger, who.name, now, address=_address(request))
        if found.wait_s:
            return _who(bench, request, status=429, wrong=_wait_words(found.wait_s))
        if not found.name:
            raise BadInput(Fault(say("that is not the password you have now")))
        set_password(ledger, who.name, new, author=who.name)
        token = begin_session(ledger, who.name)
    except CannotKeep as trouble:
        return _who(
            bench,
            request,
            status=503,
            wrong=say("Nothing was changed: {reason}.", reason=trouble.reason),
        )
    except UnusableMill:
        raise
    except BadInput as bad:
        return _who(bench, request, status=422, wrong=bad.faults[0].said())
    answer = RedirectResponse("/who", status_code=303)
    _set_session(answer, request.url.scheme, token)
    return answer
