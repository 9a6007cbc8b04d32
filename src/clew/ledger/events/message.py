"""A message as a source sends it, and the record that the ledger keeps of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

NO_LANE = 0
"""An event of the whole line."""
MILL_LINE = ""
"""The chain of what belongs to no line: pallets, shipments, decisions, people."""
MILL_WORD = "(mill)"
"""How that chain, which has no line, is named on paper, in commands and in messages."""


@dataclass(frozen=True, slots=True)
class Message:
    """One thing that a machine or a hand reports, read and checked but not yet kept.

    Attributes
    ----------
    line : str
        Line it belongs to; empty for the mill as a whole.
    kind : str
        One of the kinds of `clew.ledger.events.kinds.KINDS`.
    at_us : int
        When it happened, UTC, microseconds since 1970 [us].
    source : str
        Who sent it: a machine, a file, a tablet. Keys are told apart within one source.
    key : str
        The source's own key of this message: two with one key are one message.
    author : str
        Person who vouches for it; empty for a machine.
    lane : int
        Lane, from 1; 0 for the whole line.
    ball : int or None
        Number of the ball on that lane's winder.
    run, cone, lot, package, token : str
        What else it names: a run, a cone, a dye lot, a case or pallet, a ball's token or tray;
        empty where it names none.
    body : mapping of str to JSON value
        The kind's other fields.
    flags : tuple of str
        What is odd about it already, such as a reading out of range.
    """

    line: str
    kind: str
    at_us: int
    source: str
    key: str
    author: str = ""
    lane: int = NO_LANE
    ball: int | None = None
    run: str = ""
    cone: str = ""
    lot: str = ""
    package: str = ""
    token: str = ""
    body: Mapping[str, Any] = field(default_factory=dict)
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Record:
    """One row of the ledger.

    Attributes
    ----------
    line : str
        Line whose chain it stands in.
    seq : int
        Its place in that chain, from 1, without gaps.
    at_us, received_us : int
        When it happened and when it was kept, UTC, microseconds since 1970 [us].
    kind, source, key, author, lane, ball, run, cone, lot, package, token
        As in `Message`.
    body : str
        The other fields as JSON text, keys sorted: the hash is of this very text.
    flags : str
        What is odd about it, parted by commas.
    hash : bytes
        SHA-256 over the row before's hash and all of the above.
    """

    line: str
    seq: int
    at_us: int
    received_us: int
    kind: str
    source: str
    key: str
    author: str
    lane: int
    ball: int | None
    run: str
    cone: str
    lot: str
    package: str
    token: str
    body: str
    flags: str
    hash: bytes

    def fields(self) -> dict[str, Any]:
        """Read the body."""
        import json

        found = json.loads(self.body)
        assert isinstance(found, dict)
        return found

    def flag_words(self) -> tuple[str, ...]:
        """Part the flags."""
        return tuple(self.flags.split(",")) if self.flags else ()


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one message: it is kept, it was kept before, or it cannot be.

    Attributes
    ----------
    outcome : {"kept", "already", "clash"}
        ``clash``: another message of that source has this key; nothing was written.
    line : str
        Chain it stands in.
    seq : int
        Its place there; the other message's at a clash.
    flags : tuple of str
        What the ledger found odd.
    """

    outcome: Literal["kept", "already", "clash"]
    line: str
    seq: int
    flags: tuple[str, ...] = ()
