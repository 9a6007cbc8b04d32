"""What arrives over a network as bytes: JSON read strictly, one message or many, each by itself."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.events.message import MILL_LINE, Message
from clew.ledger.events.reading import Sender, read_message

MOST_BYTES = 2_000_000
"""Bytes that may arrive at once."""
MOST_MESSAGES = 1_000
"""Messages that may arrive at once."""
MOST_DEPTH = 8
"""How deep lists and objects may stand in one another; a message needs four."""

UNKNOWN_LINE = "line not in the mill file"
"""Flag of a message whose line the mill file does not name: kept, for the file may be behind."""

_STRUCTURE = re.compile(rb'"(?:[^"\\]|\\.)*+"|[\[\]{}]', re.DOTALL)


@dataclass(frozen=True, slots=True)
class Arrived:
    """One of the things that arrived.

    Attributes
    ----------
    found : object
        What it was, as a JSON parser made it.
    message : Message or None
        What was read of it; None where it is refused.
    faults : tuple of Fault
        Why it is refused.
    """

    found: object
    message: Message | None
    faults: tuple[Fault, ...] = ()


def read_json(raw: bytes) -> object:
    """Read JSON as RFC 8259 has it, and nothing looser.

    Parameters
    ----------
    raw : bytes
        UTF-8.

    Returns
    -------
    object
        What it says.

    Raises
    ------
    BadInput
        When it is too long, no UTF-8, no JSON, names a key twice, holds NaN or an endless number,
        or stands too deep in itself.
    """
    if len(raw) > MOST_BYTES:
        raise BadInput(Fault("too long", f"at most {MOST_BYTES} bytes", value=f"{len(raw)} bytes"))
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BadInput(Fault(f"no UTF-8 at byte {error.start}", "JSON in UTF-8")) from None
    _check_depth(raw)
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise BadInput(Fault(f"no JSON: {error.msg}", "JSON", value=where)) from None
    except ValueError:  # whole numbers of thousands of digits
        raise BadInput(Fault("a number that is too long", "at most 17 digits")) from None


def _check_depth(raw: bytes) -> None:
    depth = 0
    for token in _STRUCTURE.finditer(raw):
        sign = raw[token.start()]
        if sign in b"[{":
            depth += 1
            if depth > MOST_DEPTH:
                raise BadInput(
                    Fault("too deep", f"lists and objects at most {MOST_DEPTH} in one another")
                )
        elif sign in b"]}":
            depth -= 1


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise BadInput(Fault("named twice in one object", "each name once", key=writable(twice)))
    return found


def _refuse_constant(name: str) -> None:
    raise BadInput(Fault("no JSON number", "a finite number", value=name))


def writable(text: str, most: int = 60) -> str:
    """Cut a text and take out what no answer and no database can write.

    Parameters
    ----------
    text : str
        From anywhere.
    most : int
        Characters that are left of it.
    """
    kept = text[:most].replace("\x00", "\ufffd")
    return kept.encode("utf-8", "replace").decode("utf-8")


def parts_of(found: object) -> tuple[list[object], bool]:
    """Part what arrived into messages.

    Parameters
    ----------
    found : object
        One message, a list of them, or ``{"events": [...]}``.

    Returns
    -------
    list
        The messages, not yet read.
    bool
        Whether it was one message by itself.

    Raises
    ------
    BadInput
        When there are none, too many, or it is none of the three.
    """
    alone = False
    if isinstance(found, Mapping) and "events" in found:
        if len(found) > 1:
            others = sorted(writable(str(name)) for name in found if name != "events")
            raise BadInput(Fault('beside "events"', 'only {"events": [...]}', key=others[0]))
        found = found["events"]
        if not isinstance(found, list):
            raise BadInput(Fault("no list", '{"events": [...]}', key="events"))
    elif isinstance(found, Mapping):
        found, alone = [found], True
    if not isinstance(found, list):
        raise BadInput(Fault("no message", 'one object, a list of them, or {"events": [...]}'))
    if not found:
        raise BadInput(Fault("no message in it", f"1 to {MOST_MESSAGES} messages"))
    if len(found) > MOST_MESSAGES:
        raise BadInput(
            Fault("too many messages", f"at most {MOST_MESSAGES}", value=str(len(found)))
        )
    return found, alone


def read_part(found: object, sender: Sender, lines: Collection[str] = ()) -> Arrived:
    """Read one of the messages that arrived; a fault refuses this one alone.

    Parameters
    ----------
    found : object
        As a JSON parser made it.
    sender : Sender
        Who sent it.
    lines : collection of str
        Lines that the mill file names; a message of another one is flagged. None where empty.
    """
    try:
        message = read_message(found, sender)
    except BadInput as bad:
        clean = tuple(
            replace(one, key=writable(one.key), value=writable(one.value)) for one in bad.faults
        )
        return Arrived(found, None, clean)
    if lines and message.line != MILL_LINE and message.line not in lines:
        message = replace(message, flags=(*message.flags, UNKNOWN_LINE))
    return Arrived(found, message)
