"""Reading what a plain form sent: a few words, each under its name."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import parse_qs

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.reading import is_plain

LONGEST_FORM = 16_384
"""Bytes of a form; none of ours is longer."""
MOST_FIELDS = 400


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
        413 for a longer one, or one of more fields than any of ours has.
    """
    body = await form_bytes(request, longest)
    try:
        found = parse_qs(body.decode("utf-8", "replace"), max_num_fields=MOST_FIELDS)
    except ValueError:
        raise HTTPException(413, say("That is more than this form holds")) from None
    return {name.replace("\0", ""): values for name, values in found.items()}


async def form_bytes(request: Request, longest: int) -> bytes:
    """Read a form's body; 413 for a longer one, 400 for one that breaks off."""
    body = b""
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > longest:
                raise HTTPException(413, say("That is more than this form holds"))
    except ClientDisconnect:  # nobody is there to be told, and no fault of ours
        raise HTTPException(400, say("That form broke off")) from None
    return body


def key_typed(typed: Mapping[str, str]) -> str:
    """Read the key that a form carries, by which a button pressed twice does one thing.

    Parameters
    ----------
    typed : mapping of str to str
        What was sent.

    Returns
    -------
    str
        The key; empty where the form carries none.

    Raises
    ------
    BadInput
        For one that no page of ours has made: too long, or with control characters.
    """
    key = typed.get("key", "").strip()
    if len(key) <= LONGEST_NAME and is_plain(key):
        return key
    raise BadInput(Fault(say("no key of a form"), say("the page opened anew"), key="key"))
