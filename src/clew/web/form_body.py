"""Reading what a plain form sent: a few words, each under its name."""

from __future__ import annotations

from urllib.parse import parse_qs

from starlette.exceptions import HTTPException
from starlette.requests import Request

LONGEST_FORM = 16_384
"""Bytes of a form; none of ours is longer."""


async def form_of(request: Request, longest: int = LONGEST_FORM) -> dict[str, str]:
    """Read a form; of a name that stands twice the last counts.

    Parameters
    ----------
    request : Request
        What was sent, ``application/x-www-form-urlencoded``.
    longest : int
        Bytes beyond which it is refused.

    Returns
    -------
    dict of str to str
        What was typed, by name.

    Raises
    ------
    HTTPException
        413 for a longer one.
    """
    return {name: values[-1] for name, values in (await form_lists(request, longest)).items()}


async def form_lists(request: Request, longest: int = LONGEST_FORM) -> dict[str, list[str]]:
    """Read a form in which a name may stand several times, as ticked boxes do.

    Parameters
    ----------
    request : Request
        What was sent, ``application/x-www-form-urlencoded``.
    longest : int
        Bytes beyond which it is refused.

    Returns
    -------
    dict of str to list of str
        All that was typed, by name.

    Raises
    ------
    HTTPException
        413 for a longer one.
    """
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > longest:
            raise HTTPException(413, "That is more than this form holds")
    found = parse_qs(body.decode("utf-8", "replace"), max_num_fields=400)
    return {name.replace("\0", ""): values for name, values in found.items()}
