"""What every answer carries and every request must: headers that keep the pages to themselves.

The pages load nothing from elsewhere and nothing from elsewhere may frame or read them. A request
for another host's name is refused, so that a page on the internet cannot reach the workbench by
giving its own name this machine's address.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
"""Names by which this machine calls itself."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'self'; style-src 'self'; frame-src 'none'; "
        "worker-src 'none'; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "X-Permitted-Cross-Domain-Policies": "none",
    # Nothing goes to other hosts. Under no-referrer a browser would also hide where our own forms
    # come from (it then sends "Origin: null"), and the door asks for just that.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": (
        "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), "
        "magnetometer=(), microphone=(), midi=(), payment=(), usb=()"
    ),
}
"""No inline script, no inline style, nothing from another host, no frame.

Source: OWASP Secure Headers Project; HTTP Headers Cheat Sheet (2025).
"""

TLS_ONLY = {"Strict-Transport-Security": "max-age=31536000"}
"""Sent over TLS: for a year a browser asks for this host in no other way."""

ANY_ADDRESS = "any address"
"""Among the hosts: every name that is a bare IP address, which nobody else's name can be."""


def headers_of(scheme: str) -> dict[str, str]:
    """Name what every answer carries over http or https."""
    return HEADERS | TLS_ONLY if scheme == "https" else dict(HEADERS)


def host_name(host: str) -> str:
    """Take the port off a Host header; an IPv6 address keeps its brackets."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


def is_address(host: str) -> bool:
    """Say whether a host's name is a bare IP address."""
    try:
        ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return False
    return True


def is_readable(scope: Scope) -> bool:
    """Say whether an address is one that can stand on a page: no controls, its query in ASCII."""
    query = scope.get("query_string", b"").decode("latin-1")
    return bool(scope["path"].isprintable() and query.isascii() and query.isprintable())


class Guard:
    """Middleware: refuse foreign host names and addresses that nobody can read, add the headers.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    hosts : iterable of str
        Host names to answer to; `ANY_ADDRESS` for bare addresses, ``*`` for any.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = LOOPBACK) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in headers_of(scope.get("scheme", "")).items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-cache")
            await send(message)

        if not is_readable(scope):
            unread = PlainTextResponse("That address cannot be read.\n", status_code=400)
            await unread(scope, receive, send_guarded)
            return
        host = host_name(Headers(scope=scope).get("host", ""))
        if self._answers_to(host):
            await self.app(scope, receive, send_guarded)
            return
        refusal = PlainTextResponse(
            f"This workbench answers to {', '.join(sorted(self.hosts))}, not to that name.\n",
            status_code=421,
        )
        await refusal(scope, receive, send_guarded)

    def _answers_to(self, host: str) -> bool:
        if "*" in self.hosts or host in self.hosts:
            return True
        return ANY_ADDRESS in self.hosts and is_address(host)
