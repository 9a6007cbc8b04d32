"""What every answer carries and every request must: headers that keep the pages to themselves.

The pages load nothing from elsewhere and nothing from elsewhere may frame or read them. A request
for another host's name is refused, so that a page on the internet cannot reach the workbench by
giving its own name this machine's address.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
"""Names by which this machine calls itself."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
"""No inline script, no inline style, nothing from another host."""


def host_name(host: str) -> str:
    """Take the port off a Host header; an IPv6 address keeps its brackets."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


class Guard:
    """Middleware: refuse foreign host names, add the headers.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    hosts : iterable of str
        Host names to answer to; ``*`` for any.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = LOOPBACK) -> None:
        self.app = app
        self.hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-cache")
            await send(message)

        host = host_name(Headers(scope=scope).get("host", ""))
        if "*" in self.hosts or host in self.hosts:
            await self.app(scope, receive, send_guarded)
            return
        refusal = PlainTextResponse(
            f"This workbench answers to {', '.join(sorted(self.hosts))}, not to that name.\n",
            status_code=421,
        )
        await refusal(scope, receive, send_guarded)
