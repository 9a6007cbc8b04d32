"""Answers sent packed, where that tells nobody anything."""

from __future__ import annotations

from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send


class Packed:
    """Packs what is sent: everything over http; over TLS only style sheets, scripts and drawings.

    A page holds the proof of its reader's forms, and repeats what was typed into its address: an
    eavesdropper who sees only lengths could guess the one by trying the other (BREACH, 2013). Over
    plain http there is nothing left to guess.

    Parameters
    ----------
    app : ASGIApp
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._plain = app
        self._packed = GZipMiddleware(app, compresslevel=4)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, packed or plain."""
        secret = scope.get("scheme") == "https" and not scope["path"].startswith("/static/")
        await (self._plain if secret else self._packed)(scope, receive, send)
