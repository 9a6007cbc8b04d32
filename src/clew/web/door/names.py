"""Who stands at the tablet: names lately used, and until when a name holds."""

from __future__ import annotations

import uuid

from clew.faults import BadInput
from clew.ledger.events.message import Message
from clew.ledger.people.people import people_of
from clew.ledger.state.shifts import shift_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_in_time
from clew.ledger.store.trouble import CannotKeep
from clew.mill.model import Mill
from clew.web.workbench import Workbench

MOST_NAMES = 12
_LOOKED_AT = 200
KIND = "at the tablet"


def shift_ends_us(mill: Mill, now_us: int) -> int:
    """Say when the shift ends that it is now.

    Parameters
    ----------
    mill : Mill
        Whose clock and shifts.
    now_us : int
        Now, UTC, microseconds since 1970 [us].

    Returns
    -------
    int
        The next start of a shift by the mill's clock, also over a night in which it is set [us].
    """
    return shift_of(now_us, mill.mill.shift_starts, mill.mill.time_zone).upto_us


def names_lately(bench: Workbench, line: str) -> tuple[str, ...]:
    """Name those who lately stood at the tablets of a line, the last one first, then the people.

    Parameters
    ----------
    bench : Workbench
        The mill and its ledger.
    line : str
        Name of the line.

    Returns
    -------
    tuple of str
        At most twelve; none where there is no ledger yet, or it does not answer.
    """
    try:
        ledger = bench.ledger.ledger(make=False)
        records = records_in_time(
            ledger, line, kinds=(KIND,), latest_first=True, most=_LOOKED_AT
        )  # fmt: skip
        found = [str(record.fields().get("hand", "")) for record in records]
        found += [person.name for person in people_of(ledger)]
    except (BadInput, CannotKeep):
        return ()
    return tuple(dict.fromkeys(name for name in found if name))[:MOST_NAMES]


def note_hand(ledger: Ledger, line: str, name: str) -> None:
    """Keep that somebody else stands at a tablet of a line.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : str
        Name of the line.
    name : str
        Who.

    Raises
    ------
    CannotKeep
        When the database cannot write.
    """
    now_us = ledger.clock()
    message = Message(
        line=line, kind=KIND, at_us=now_us, source="tablet", key=uuid.uuid4().hex, author=name,
        body={"hand": name},
    )  # fmt: skip
    ledger.append([message])
