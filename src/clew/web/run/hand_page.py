"""What the page for hands shows: lanes, buttons, the choices beside them, what was entered last."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from clew.languages import figure, joined, say
from clew.ledger.events.message import Record
from clew.ledger.events.moments import local_of
from clew.ledger.ingest.by_hand import (
    CHECK_WORDS,
    DEEDS,
    SHUT_DOWN,
    START_UP,
    Deed,
    Place,
    deeds_at,
    flag_words,
    said_again,
)
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_in_time
from clew.mill.lines import Line
from clew.mill.model import Mill

UNDO_US = 600_000_000
"""How long a hand may take back what it entered [us]."""
MOST_SHOWN = 8
_BY_HAND = (*dict.fromkeys(deed.kind for deed in DEEDS), "check", "correction")
_LOOK_BACK_US = 24 * 3_600_000_000

HAND_KEYS = ("line", "lane", "clock", "kept", "again", "taken_back")
"""What the address of the page may name."""


@dataclass(frozen=True, slots=True)
class Entered:
    """One thing that was entered, as the page tells it.

    Attributes
    ----------
    seq : int
        Its place in the line's chain.
    clock : str
        When it happened, by the mill's clock.
    words : str
        What it was.
    author : str
        Who entered it; empty where nobody said.
    odd : str
        What is odd about it.
    undo : bool
        Whether it can still be taken back with a touch.
    taken_back : bool
        Whether it was.
    """

    seq: int
    clock: str
    words: str
    author: str
    odd: str
    undo: bool
    taken_back: bool


@dataclass(frozen=True, slots=True)
class HandPage:
    """The page for hands.

    Attributes
    ----------
    line : Line
        The line.
    lane : int or None
        The lane that was touched.
    lot : str
        Dye lot of the run in progress; empty for none.
    lots : tuple of str
        Dye lots that can be chosen.
    clock : str
        Time of day that is entered for; empty for now.
    entered : tuple of Entered
        What was entered last.
    typed : mapping of str to str
        What was typed into the button that was refused.
    faults : mapping of str to str
        What was wrong with it, by name.
    refused : str
        That button's name; empty where none was.
    """

    line: Line
    lane: int | None
    lot: str
    lots: tuple[str, ...]
    clock: str
    entered: tuple[Entered, ...]
    typed: Mapping[str, str] = field(default_factory=dict)
    faults: Mapping[str, str] = field(default_factory=dict)
    refused: str = ""

    @property
    def lanes(self) -> range:
        """Numbers of the lanes."""
        return range(1, self.line.lanes + 1)

    @property
    def winders(self) -> dict[int, int]:
        """Number of each lane's winder."""
        return {one.lane: one.number for one in self.line.winder}

    def key(self) -> str:
        """Make a key for a form: two presses of one rendered button are one entry."""
        return secrets.token_hex(12)

    def deeds(self, place: Place) -> tuple[Deed, ...]:
        """Give the buttons of a place."""
        return deeds_at(place)

    def at_lane(self, words: str, lane: int) -> str:
        """Say a deed with its lane; 0 for the line as a whole."""
        return say("{deed}, lane {lane}", deed=words, lane=lane) if lane else words

    @property
    def looks(self) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
        """Give both looks over the line: what each is kept as, its words, and its list."""
        return (
            ("start-up", CHECK_WORDS["start-up"], START_UP),
            ("shut-down", CHECK_WORDS["shut-down"], SHUT_DOWN),
        )


def hand_page(
    mill: Mill, line: Line, ledger: Ledger | None, *, lane: int | None, clock: str, author: str
) -> HandPage:
    """Gather what the page shows.

    Parameters
    ----------
    mill : Mill
        The mill.
    line : Line
        The line.
    ledger : Ledger or None
        The ledger; None where it cannot be read.
    lane : int or None
        The lane that was touched.
    clock : str
        Time of day that is entered for; empty for now.
    author : str
        Who stands at the tablet.

    Returns
    -------
    HandPage
        All of it.
    """
    lot = "" if ledger is None else running_lot(ledger, line.name)
    return HandPage(
        line, lane, lot, tuple(one.lot for colour in mill.colour for one in colour.dye_lot), clock,
        () if ledger is None else _entered(ledger, line.name, mill.mill.time_zone, author),
    )  # fmt: skip


def running_lot(ledger: Ledger, line: str) -> str:
    """Say which dye lot the run in progress is of; empty for no run."""
    last = records_in_time(ledger, line, kinds=("run start", "run end"), latest_first=True, most=1)
    for record in last:
        return record.lot if record.kind == "run start" else ""
    return ""


def _entered(ledger: Ledger, line: str, zone: str, author: str) -> tuple[Entered, ...]:
    now_us = ledger.clock()
    found = [
        record
        for record in records_in_time(
            ledger, line, kinds=_BY_HAND, from_us=now_us - _LOOK_BACK_US, latest_first=True,
            most=10 * MOST_SHOWN,
        )
        if record.author or record.source.startswith(("tablet", "web"))
    ]  # fmt: skip
    gone = voided_by(found)
    shown = [record for record in found if record.kind != "correction"][:MOST_SHOWN]
    return tuple(
        Entered(
            record.seq,
            f"{local_of(record.at_us, zone):%H:%M:%S}",
            entry_words(record),
            record.author,
            joined(", ", map(flag_words, record.flag_words())),
            record.seq not in gone and may_undo(record, author, now_us),
            record.seq in gone,
        )
        for record in shown
    )


def voided_by(records: Iterable[Record]) -> frozenset[int]:
    """Give the places of what some corrections among records of one chain say never happened."""
    bodies = (one.fields() for one in records if one.kind == "correction")
    return frozenset(int(body["of_seq"]) for body in bodies if body.get("void"))


def may_undo(record: Record, author: str, now_us: int) -> bool:
    """Say whether somebody may take an entry back: their own, and soon."""
    own = record.author == author and record.source.startswith(("tablet", "web"))
    undoes = record.kind not in ("correction", "run start", "run set", "run end")
    return own and undoes and now_us - record.received_us <= UNDO_US


_SHOWN = ("why", "to", "note", "what")


def entry_words(record: Record) -> str:
    """Say what was entered, on one line."""
    body: dict[str, Any] = record.fields()
    words = next(
        (deed.words for deed in DEEDS if deed.kind == record.kind
         and all(body.get(key) == value for key, value in deed.fixed.items())),
        record.kind,
    )  # fmt: skip
    if record.kind == "check":
        words = CHECK_WORDS.get(str(body.get("what", "")), say("check"))
    parts = [words]
    if record.lane:
        parts.append(say("lane {lane}", lane=record.lane))
    parts += [name for name in (record.cone, record.lot, record.token) if name]
    if "mass_g" in body:
        parts.append(figure(f"{body['mass_g']:.1f} g"))
    if "length_m" in body:
        parts.append(figure(f"{body['length_m']:.1f} m"))
    if record.kind != "check":
        parts += [said_again(str(body[key])[:60]) for key in _SHOWN if key in body]
    if body.get("not_done"):
        parts.append(say("{n} not in order", n=len(body["not_done"])))
    return joined(", ", parts)
