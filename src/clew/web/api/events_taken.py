"""Messages from a program: who sends them, what they may say, and what became of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from starlette.requests import Request

from clew.faults import Fault
from clew.ledger.events.message import MILL_WORD, Message, Taken
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.arriving import read_part
from clew.ledger.ingest.clashes import same_event
from clew.ledger.people.roles import needed_for
from clew.ledger.store.ledger import Ledger
from clew.web.door.who import Who
from clew.web.workbench import Workbench

SOURCE = "http"
"""Source of messages on this machine, where nobody has to say who sends."""


@dataclass(frozen=True, slots=True)
class Result:
    """What became of one message.

    Attributes
    ----------
    outcome : {"kept", "already", "refused"}
        What.
    line : str
        Its chain; empty where it is refused.
    seq : int or None
        Its place there; the other message's at a clash.
    flags : tuple of str
        What is odd about it.
    faults : tuple of Fault
        Why it is refused.
    clash : bool
        Whether it is refused because another message has its key.
    """

    outcome: Literal["kept", "already", "refused"]
    line: str = ""
    seq: int | None = None
    flags: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    clash: bool = False


def take_in(bench: Workbench, request: Request, found: Sequence[object]) -> list[Result]:
    """Read messages and keep those that can be read, in one transaction.

    Parameters
    ----------
    bench : Workbench
        The mill and its ledger.
    request : Request
        Who sends.
    found : sequence of object
        The messages, as a JSON parser made them.

    Returns
    -------
    list of Result
        One a message, in their order.

    Raises
    ------
    BadInput
        When there is no mill or no ledger to keep them in.
    CannotKeep
        When the ledger cannot write; nothing was kept then.
    """
    mill = bench.mill.read().mill
    who = _who(request)
    sender = _sender(who, mill.mill.time_zone)
    lines = frozenset(one.name for one in mill.line)
    results: list[Result | None] = []
    good: list[Message] = []
    for one in found:
        arrived = read_part(one, sender, lines)
        faults = arrived.faults
        if arrived.message is not None:
            faults = _not_allowed(who, arrived.message)
        if arrived.message is None or faults:
            results.append(Result("refused", faults=faults))
        else:
            results.append(None)
            good.append(arrived.message)
    taken = iter(_kept(bench.ledger.ledger(), good) if good else ())
    return [_result(next(taken)) if one is None else one for one in results]


def _kept(ledger: Ledger, messages: Sequence[Message]) -> list[Taken]:
    """Keep messages; one that stands there as another sent it, but the same, is kept already."""
    taken = list(ledger.append(messages))
    clashes = [at for at, one in enumerate(taken) if one.outcome == "clash"]
    if clashes:
        same = same_event(ledger, [(messages[at], taken[at]) for at in clashes])
        for at, is_same in zip(clashes, same, strict=True):
            if is_same:
                taken[at] = replace(taken[at], outcome="already")
    return taken


def _who(request: Request) -> Who | None:
    found = getattr(request.state, "who", None)
    return found if isinstance(found, Who) else None


def _sender(who: Who | None, zone: str) -> Sender:
    if who is None or who.how == "tablet":
        return Sender(SOURCE, author="" if who is None else who.name, zone=zone)
    return Sender(who.source, author=who.name, zone=zone, line=who.line)


def _not_allowed(who: Who | None, message: Message) -> tuple[Fault, ...]:
    """Say what this sender may not enter."""
    if who is None:
        return ()
    faults = []
    needs = needed_for(message.kind)
    if not who.may(needs):
        faults.append(
            Fault("not for this sender", f'someone who may "{needs}"', key="kind",
                  value=message.kind)
        )  # fmt: skip
    if not who.may_write_to(message.line):  # the mill's own chain is no line's
        faults.append(
            Fault("not for this sender", f"only {who.line}", key="line",
                  value=message.line or MILL_WORD)
        )  # fmt: skip
    return tuple(faults)


def _result(taken: Taken) -> Result:
    if taken.outcome != "clash":
        return Result(taken.outcome, taken.line, taken.seq, taken.flags)
    fault = Fault(
        "another message of this source has this key",
        "a key that is new for each message", key="key",
    )  # fmt: skip
    return Result("refused", taken.line, taken.seq, faults=(fault,), clash=True)
