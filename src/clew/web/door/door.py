"""The door: who comes, and whether they may. Nothing behind it asks that again.

At the mill's own machine nobody signs in: whoever sits there holds the ledger's file. Everywhere
else a session or a token is asked for, and an address that the table of rules does not name is
closed.
"""

from __future__ import annotations

from functools import partial
from urllib.parse import quote, unquote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from clew.faults import BadInput, Fault
from clew.languages import first_lower, say
from clew.ledger.people.names import read_name
from clew.ledger.people.roles import PERMISSION_NAMES
from clew.ledger.people.sessions import form_proof, session_of
from clew.ledger.people.tokens import token_of
from clew.ledger.store.trouble import CannotKeep
from clew.web.answers import faults_body
from clew.web.door.csrf import SAFE, TooLong, comes_from_elsewhere, is_proof, proof_said
from clew.web.door.rules import rule_for
from clew.web.door.who import NOBODY, Who, at_tablet, of_session, of_token
from clew.web.workbench import Workbench

HAND_COOKIE = "clew_hand"
_FORWARDED = (
    "forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto",
    "x-forwarded-server", "x-real-ip",
)  # fmt: skip
_NO_STORE = "no-store"


def session_cookie(scheme: str) -> str:
    """Name the session's cookie: over TLS one that no other host can set or read."""
    return "__Host-clew" if scheme == "https" else "clew_session"


def session_in(headers: Headers, scheme: str) -> str:
    """Read the session's token off a request; empty where there is none."""
    return _cookies(headers).get(session_cookie(scheme), "")


def _cookies(headers: Headers) -> dict[str, str]:
    # not the standard library's reader: that one stops at the first cookie it does not like, and
    # other programs on this host set cookies too
    return cookie_parser("; ".join(headers.getlist("cookie")))


class Door:
    """Middleware: find out who comes, and let in who may.

    Parameters
    ----------
    app : ASGI application
        What is behind the door.
    bench : Workbench
        The mill, its ledger and the means to show a page.
    sign_in : bool
        Whether signing in is asked for; not at the mill's own machine.
    """

    def __init__(self, app: ASGIApp, bench: Workbench, *, sign_in: bool) -> None:
        self.app, self.bench, self.sign_in = app, bench, sign_in

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return  # there is no other door
        request = Request(scope, receive)
        scope["state"] = {**scope.get("state", {}), "who": NOBODY, "sign_in": self.sign_in}
        scope["state"]["still"] = partial(self._still, request)
        refusal = self._behind_an_unknown_proxy(request)
        if refusal is None and not (self.sign_in and scope["path"].startswith("/static/")):
            try:
                scope["state"]["who"] = await run_in_threadpool(self._who, request)
            except CannotKeep as trouble:
                refusal = self._cannot(request, trouble.reason)
            except BadInput as bad:
                refusal = self._cannot(request, bad.faults[0].said())
            except _NoToken:
                refusal = _no_token()
        if refusal is None:
            refusal, receive = await self._judge(request, receive)
        send = self._unkept(send, scope["path"])
        await (self.app if refusal is None else refusal)(scope, receive, send)

    def _who(self, request: Request) -> Who:
        said = request.headers.get("authorization")
        if said is not None:
            kind, _, token = said.partition(" ")
            found = None
            if kind.lower() == "bearer":
                found = token_of(self.bench.ledger.ledger(), token.strip())
            if found is None:
                raise _NoToken
            return of_token(found.name, found.scopes, found.line)
        if not self.sign_in:
            return at_tablet(hand_of(request))
        cookie = session_in(request.headers, request.url.scheme)
        session = None
        if cookie:
            by_hand = not _by_itself(request)
            session = session_of(self.bench.ledger.ledger(), cookie, seen=by_hand)
        return of_session(session.name, session.role, form_proof(cookie)) if session else NOBODY

    def _still(self, request: Request) -> bool:
        """Say whether whoever asked is who they were: a session or a token may have ended."""
        try:
            return bool(self._who(request) == request.state.who)
        except _NoToken:
            return False
        except (CannotKeep, BadInput):  # then there is nothing to tell them either
            return True

    async def _judge(self, request: Request, receive: Receive) -> tuple[Response | None, Receive]:
        """Refuse, or let in with a body that can be read."""
        refusal = None
        if request.method not in SAFE:
            refusal, receive = await self._forged(request, receive)
        return refusal or self._not_allowed(request), receive

    async def _forged(self, request: Request, receive: Receive) -> tuple[Response | None, Receive]:
        """Refuse what another site's page sends in a reader's name."""
        who: Who = request.state.who
        if comes_from_elsewhere(request.headers, request.url.scheme):
            return self._refused(request, 403, _ELSEWHERE, _ELSEWHERE_WORDS), receive
        if who.how != "session":
            return None, receive
        try:
            said, receive = await proof_said(request.headers, receive)
        except TooLong:
            words = say("Nothing of it was entered.")
            return self._refused(request, 413, say("That form is too long"), words), receive
        if is_proof(said, who.csrf):
            return None, receive
        # a page's script keeps what it could not send on a 401, and sends it again with a new proof
        status = 401 if _for_script(request) else 403
        return self._refused(request, status, _OLD_FORM, _OLD_FORM_WORDS), receive

    def _not_allowed(self, request: Request) -> Response | None:
        """Refuse what the table of rules does not let this one do."""
        who: Who = request.state.who
        rule = rule_for(request.method, request.scope["path"])
        if rule == "anyone" or (who.how == "tablet" and rule in (None, "no such method")):
            return None
        if who.how == "nobody":
            return self._sign_in_first(request)
        if rule is None or rule == "no such method":
            return self._refused(request, *(_NO_PAGE if rule is None else _NO_METHOD))
        if rule == "signed in" or who.may(rule):
            return None
        deed = PERMISSION_NAMES[rule]
        words = (
            say(
                "It takes somebody who may {deed}; {name}, {role}, may not.",
                deed=deed, name=who.name, role=who.role_words,
            )
            if who.how == "session"
            else say(
                "It takes somebody who may {deed}; the token of {source} may not.",
                deed=deed, source=who.source,
            )
        )  # fmt: skip
        return self._refused(request, 403, say("That is not for you to do here"), words)

    def _behind_an_unknown_proxy(self, request: Request) -> Response | None:
        """Refuse to take a proxy's readers for whoever sits at this machine."""
        if self.sign_in or not any(name in request.headers for name in _FORWARDED):
            return None
        return PlainTextResponse(
            "This workbench was opened for this machine alone, and a proxy asks it.\n"
            "Start it with clew serve --behind-proxy, so that readers sign in.\n",
            status_code=403,
        )

    def _sign_in_first(self, request: Request) -> Response:
        if _for_script(request):
            fault = Fault(
                say("not signed in"), say("a session, or Authorization: Bearer and a token")
            )
            return JSONResponse(faults_body((fault,)), 401, {"WWW-Authenticate": "Bearer"})
        query = f"?{request.url.query}" if request.url.query else ""
        path = request.scope["path"]
        back = "" if path == "/" or request.method not in SAFE else quote(path + query, safe="/")
        return RedirectResponse(f"/sign-in?back={back}" if back else "/sign-in", status_code=303)

    def _cannot(self, request: Request, reason: str) -> Response:
        words = say(
            "Who you are stands in the ledger, and it does not answer: {reason}.", reason=reason
        )
        found = self._refused(request, 503, say("The ledger cannot be asked"), words)
        found.headers["Retry-After"] = "10"
        return found

    def _refused(self, request: Request, status: int, heading: str, words: str) -> Response:
        if _for_script(request):
            fault = Fault(first_lower(heading), words)
            return JSONResponse(faults_body((fault,)), status)
        return self.bench.show(request, "missing.html", status=status, heading=heading, words=words)

    def _unkept(self, send: Send, path: str) -> Send:
        """Have no answer kept that took signing in: the button Back must not bring it again."""
        if not self.sign_in or path.startswith("/static/"):
            return send

        async def send_unkept(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).setdefault("Cache-Control", _NO_STORE)
            await send(message)

        return send_unkept


class _NoToken(Exception):  # noqa: N818 - whoever comes has none, which is no error of ours
    pass


_NO_PAGE = (
    404, say("There is no such page"),
    say("The open stations are drawn above, each with its link."),
)  # fmt: skip
_NO_METHOD = (405, say("That cannot be done here"), say("This address is only for reading."))
_ELSEWHERE = say("That form came from another site")
_ELSEWHERE_WORDS = say("Nothing of it was entered. Open the page here and enter it again.")
_OLD_FORM = say("That form is older than your session")
_OLD_FORM_WORDS = say("Nothing of it was entered. Open the page again and enter it there.")


def hand_of(request: Request) -> str:
    """Read who stands at the tablet; empty where nobody said so this shift."""
    try:
        return read_name(unquote(_cookies(request.headers).get(HAND_COOKIE, "")))
    except BadInput:
        return ""


def _no_token() -> Response:
    fault = Fault(
        say("no such token"), say("one that clew ledger token add has shown, and that stands")
    )
    headers = {"WWW-Authenticate": 'Bearer error="invalid_token"'}
    return JSONResponse(faults_body((fault,)), 401, headers)


def _by_itself(request: Request) -> bool:
    """Whether a page that lies open asks, with nobody before it: that keeps no session alive."""
    return request.scope["path"] == "/run/stream" or request.query_params.get("part") == "live"


def _for_script(request: Request) -> bool:
    """Whether a program asks, and not a reader in front of a page."""
    if request.scope["path"].startswith(("/api/", "/openapi.json")):
        return True
    accept = request.headers.get("accept", "")
    return "text/html" not in accept and (
        "application/json" in accept or "text/event-stream" in accept
    )
