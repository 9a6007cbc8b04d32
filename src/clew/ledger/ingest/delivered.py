"""Deliveries of a broker become rows: everything in one transaction, what is no message set aside.

This knows no broker; what it is handed may be acknowledged once it has returned.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message, Taken
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.arriving import parts_of, read_json, read_part
from clew.ledger.ingest.refusing import Refusal, keep_refused
from clew.ledger.ingest.topics import read_topic
from clew.ledger.people.roles import SCOPE_MAY, needed_for
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.trouble import CannotKeep


@dataclass(frozen=True, slots=True)
class Delivery:
    """What a broker delivered.

    Attributes
    ----------
    topic : str
        Where it was published.
    raw : bytes
        What was published.
    """

    topic: str
    raw: bytes


@dataclass(frozen=True, slots=True)
class Tally:
    """What became of messages.

    Attributes
    ----------
    kept, already, refused : int
        How many.
    """

    kept: int = 0
    already: int = 0
    refused: int = 0

    def __add__(self, other: Tally) -> Tally:
        """Count together."""
        return Tally(
            self.kept + other.kept, self.already + other.already, self.refused + other.refused
        )


def take_deliveries(
    ledger: Ledger, deliveries: Sequence[Delivery], *, zone: str, lines: Collection[str] = ()
) -> Tally:
    """Keep what was delivered; all of it is on the disk when this returns.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    deliveries : sequence of Delivery
        In the order in which they came.
    zone : str
        The mill's time zone.
    lines : collection of str
        Lines that the mill file names; a message of another one is flagged.

    Returns
    -------
    Tally
        What became of the messages in them.

    Raises
    ------
    CannotKeep
        When the database cannot write: none of it may be acknowledged then.
    """
    messages: list[Message] = []
    came: list[tuple[Delivery, object]] = []
    refused: list[Refusal] = []
    for delivery in deliveries:
        try:
            sender = _sender(delivery.topic, zone)
            found, _ = parts_of(read_json(delivery.raw))
        except BadInput as bad:
            body = delivery.raw[:8192].decode("utf-8", "replace")
            refused.append(Refusal(delivery.topic, "", _reason(bad.faults), body))
            continue
        for one in found:
            arrived = read_part(one, sender, lines)
            faults = arrived.faults
            if arrived.message is not None:
                faults = _not_allowed(arrived.message, sender)
            if arrived.message is None or faults:
                refused.append(_refusal(delivery, sender.source, faults, one))
            else:
                messages.append(arrived.message)
                came.append((delivery, one))
    taken = _append(ledger, messages)
    for result, message, (delivery, one) in zip(taken, messages, came, strict=True):
        if result is None:
            fault = Fault("the program failed to keep it")
            refused.append(_refusal(delivery, message.source, (fault,), one))
        elif result.outcome == "clash":
            fault = Fault(f"another message of this source has this key, at {result.seq}")
            refused.append(_refusal(delivery, message.source, (fault,), one))
    keep_refused(ledger, refused)
    outcomes = [one.outcome for one in taken if one is not None]
    return Tally(outcomes.count("kept"), outcomes.count("already"), len(refused))


def _sender(topic: str, zone: str) -> Sender:
    found = read_topic(topic)
    return Sender(found.source, line=found.line, zone=zone)


def _not_allowed(message: Message, sender: Sender) -> tuple[Fault, ...]:
    """Say what a machine at this topic may not tell.

    A broker says to which topics a machine may publish, not who stands at it: so it tells of no
    other line than its topic's, and does what a machine's token lets it do and no more.
    """
    faults = []
    if message.line and message.line != sender.line:
        faults.append(
            Fault("another line than its topic's", sender.line, key="line", value=message.line)
        )
    if needed_for(message.kind) not in SCOPE_MAY["events:write"]:
        faults.append(
            Fault("not for a machine to say", "a person, at a page or over HTTP", key="kind",
                  value=message.kind)
        )  # fmt: skip
    return tuple(faults)


def _append(ledger: Ledger, messages: Sequence[Message]) -> list[Taken | None]:
    """Keep messages together; where the program fails at one, each by itself, None for that one."""
    if not messages:
        return []
    try:
        return list(ledger.append(messages))
    except CannotKeep:
        raise
    except Exception:  # or that one would come again for ever, and hold up all behind it
        found: list[Taken | None] = []
        for message in messages:
            try:
                found += ledger.append([message])
            except CannotKeep:
                raise
            except Exception:
                found.append(None)
        return found


def _refusal(delivery: Delivery, source: str, faults: Sequence[Fault], found: object) -> Refusal:
    body = json.dumps(found, ensure_ascii=False)
    return Refusal(delivery.topic, source, _reason(faults), body)


def _reason(faults: Sequence[Fault]) -> str:
    return "; ".join(str(one) for one in faults)
