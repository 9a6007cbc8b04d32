"""The ledger of the played day: each thing is kept once, however often the day is begun."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

from clew.faults import BadInput
from clew.ledger.events.message import MILL_LINE, Message, Record
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.arriving import read_part
from clew.ledger.shipping.turn import keep_in_turn
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records

if TYPE_CHECKING:
    from clew.cli.day.asked import DayClock
    from clew.mill.model import Mill

Made = TypeVar("Made")
SOURCE = "clew demo"
"""What the ledger names as the sender of what the lead and the packer keep."""


class DayKeeping:
    """Puts the day's messages into the ledger, in order of time.

    Parameters
    ----------
    ledger : Ledger
        The ledger; its clock is the day's.
    clock : DayClock
        The day's clock.
    mill : Mill
        The mill.
    """

    def __init__(self, ledger: Ledger, clock: DayClock, mill: Mill) -> None:
        self.ledger, self.clock, self.mill = ledger, clock, mill
        self.before: dict[str, Record] = {}
        for line in (MILL_LINE, *(one.name for one in mill.line)):
            for record in chain_records(ledger, line):
                if record.source == SOURCE:
                    self.before[record.key] = record

    def feed(self, messages: Sequence[dict[str, Any]], upto: datetime) -> None:
        """Keep flat messages as they arrive, all in one transaction.

        Parameters
        ----------
        messages : sequence of dict
            As machines and tablets send them.
        upto : datetime
            When the last of them has arrived.

        Raises
        ------
        BadInput
            When one of them cannot be read.
        CannotKeep
            When the ledger cannot write; nothing is kept then.
        """
        self.clock.reach(_us(upto))
        lines = frozenset(one.name for one in self.mill.line)
        sender = Sender("line", zone=self.mill.mill.time_zone)
        arrived = [read_part(one, sender, lines) for one in messages]
        faults = [fault for one in arrived for fault in one.faults]
        if faults:
            raise BadInput(faults)
        self.ledger.append([one.message for one in arrived if one.message is not None])

    def once(self, key: str, make: Callable[[], Message]) -> Message | Record:
        """Keep one message under a key of ours, or give the record that has it already."""
        if key in self.before:
            return self.before[key]
        message = make()
        self.ledger.append([message])
        return message

    def in_turn(
        self,
        key: str,
        work: Callable[[], Made],
        messages_of: Callable[[Made], Sequence[Message]],
    ) -> Made | Record:
        """Work out packages and keep them, or give the record that has the key already."""
        if key in self.before:
            return self.before[key]
        made, _ = keep_in_turn(self.ledger, work, messages_of)
        return made

    def tell(
        self, kind: str, at_us: int, key: str, *, author: str, line: str = "", **says: Any
    ) -> Message | Record:
        """Keep something that the lead or a hand tells."""
        self.clock.reach(at_us)

        def make() -> Message:
            found = {"kind": kind, "line": line, **says}
            sender = Sender(SOURCE, author, "", self.mill.mill.time_zone, at_us, key)
            arrived = read_part({name: one for name, one in found.items() if one != ""}, sender)
            if arrived.message is None:
                raise BadInput(arrived.faults)
            return arrived.message

        return self.once(key, make)


def _us(moment: datetime) -> int:
    return round(moment.timestamp() * 1e6)
