"""In which language a reader is answered: the one chosen, else the mill's, else the browser's."""

from __future__ import annotations

from collections.abc import Iterable

from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from clew.languages import DEFAULT, LANGUAGES, speaking
from clew.web.mill_on_disk import MillOnDisk, UnusableMill

COOKIE = "clew_language"


class Speech:
    """Speaks the reader's language while a page is answered; programs are answered in English.

    Parameters
    ----------
    app : ASGIApp
        What answers.
    mill : MillOnDisk
        The mill, whose own language is the one of its tablets.
    """

    def __init__(self, app: ASGIApp, mill: MillOnDisk) -> None:
        self._app = app
        self._mill = mill

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer in the reader's language."""
        if scope["type"] != "http" or scope["path"].startswith(("/api/", "/openapi.json")):
            await self._app(scope, receive, send)
            return
        with speaking(language_of(Request(scope), self._of_mill())):
            await self._app(scope, receive, send)

    def _of_mill(self) -> str | None:
        try:
            return self._mill.read().mill.mill.language
        except UnusableMill:
            return None


def language_of(request: Request, of_mill: str | None) -> str:
    """Choose the language of an answer.

    Parameters
    ----------
    request : Request
        What was asked: its cookie, and the languages its browser wants.
    of_mill : str or None
        The mill's own language, where its file says one.

    Returns
    -------
    str
        One of `clew.languages.LANGUAGES`.
    """
    wanted = accepted(request.headers.get("accept-language", ""))
    for code in (request.cookies.get(COOKIE, ""), of_mill, *wanted):
        if code in LANGUAGES:
            return code
    return DEFAULT


def accepted(header: str) -> Iterable[str]:
    """Read which languages a browser wants, the most wanted first.

    Parameters
    ----------
    header : str
        ``Accept-Language``, such as ``fr-CH, de;q=0.8``; what cannot be read is left out.

    Returns
    -------
    iterable of str
        Primary subtags in small letters.

    Notes
    -----
    Source: RFC 9110, 12.5.4 (MEMORY).
    """
    wanted: list[tuple[float, str]] = []
    for part in header.split(",")[:20]:
        name, _, weight = part.partition(";")
        try:
            share = float(weight.strip().removeprefix("q=")) if weight else 1.0
        except ValueError:
            continue
        if 0.0 < share <= 1.0:
            wanted.append((share, name.strip().partition("-")[0].lower()))
    return [code for _, code in sorted(wanted, key=lambda one: -one[0])]
