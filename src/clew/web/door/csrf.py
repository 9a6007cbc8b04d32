"""That a form comes from a page of ours, and not from one elsewhere that sends it in our name.

Two fences: where the browser says a request comes from (``Sec-Fetch-Site``, ``Origin``), asked of
everybody who changes anything; and of those who signed in, a proof in the form itself that only
our own pages can hold.

Source: OWASP Cross-Site Request Forgery Prevention Cheat Sheet (2025); W3C Fetch Metadata.
"""

from __future__ import annotations

import hmac
from urllib.parse import parse_qs, urlsplit

from starlette.datastructures import Headers
from starlette.types import Message, Receive

FIELD = "csrf"
HEADER = "x-csrf"
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing."""
LONGEST_FORM = 65_536
"""Bytes of a form that is looked into for its proof."""
_PORTS = {"http": 80, "https": 443}


def comes_from_elsewhere(headers: Headers, scheme: str) -> bool:
    """Say whether the browser says that a request was made by another site's page.

    Parameters
    ----------
    headers : Headers
        The request's.
    scheme : str
        http or https, as the reader's browser sees it.

    Returns
    -------
    bool
        True when it says so; a program that is no browser says nothing, and has no cookies that
        it was not given.
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = headers.get("origin")
    if origin is None:
        return False
    try:
        said = urlsplit(origin)
        here = urlsplit(f"{said.scheme}://{headers.get('host', '')}")
        same = (said.hostname, _port(said.port, said.scheme)) == (
            here.hostname, _port(here.port, said.scheme)
        )  # fmt: skip
    except ValueError:
        return True
    return not same or said.scheme not in _PORTS or (scheme == "https" and said.scheme != "https")


def _port(port: int | None, scheme: str) -> int | None:
    return port if port is not None else _PORTS.get(scheme)


def is_proof(said: str, wanted: str) -> bool:
    """Compare a form's proof with the session's, in a time that gives nothing away."""
    return bool(wanted) and hmac.compare_digest(said.encode(), wanted.encode())


class TooLong(Exception):  # noqa: N818 - it is the form that is too long
    """A form is longer than any of ours."""


async def proof_said(headers: Headers, receive: Receive) -> tuple[str, Receive]:
    """Read the proof that a request carries, and hand its body on unread.

    Parameters
    ----------
    headers : Headers
        The request's.
    receive : ASGI receive
        Where its body comes from.

    Returns
    -------
    str, ASGI receive
        The proof, empty where there is none; and where the body can be read again.

    Raises
    ------
    TooLong
        When the form is longer than any of ours.
    """
    said = headers.get(HEADER)
    if said is not None:
        return said, receive
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        return "", receive
    body, more = b"", True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            return "", receive  # half a form proves nothing, whatever it holds
        body += message.get("body", b"")
        more = message.get("more_body", False)
        if len(body) > LONGEST_FORM:
            raise TooLong
    try:
        fields = parse_qs(body.decode("utf-8", "replace"), max_num_fields=1000)
    except ValueError:
        raise TooLong from None
    first = True

    async def again() -> Message:
        nonlocal first
        if first:
            first = False
            return {"type": "http.request", "body": body, "more_body": False}
        return await receive()

    return fields.get(FIELD, [""])[-1], again
