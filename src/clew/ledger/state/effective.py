"""Putting corrections in: records become the events that count, in order of time.

Nothing is ever changed in the ledger: a correction is a record of its own, and may itself be
corrected. What counts is worked out here, and the first record stays as it was told.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import MILL_WORD, NO_LANE, Message, Record
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import NAMES, Sender, read_message
from clew.ledger.state.known import Effective

CORRECTION = "correction"
AHEAD = "ahead of our clock"
"""Flag of a record whose clock went wild: its moment says nothing."""
_OF_ARRIVAL = ("late", "out of order", AHEAD)

# At one instant: what ends something, then readings, then what begins; so the order of arrival
# decides nothing.
_RANK = {
    kind: rank
    for rank, kind in enumerate((
        "case closed", "at the tablet", "run end", "run start", "run set", "check", "stop",
        "belt off", "feed off", "cone off", "cone loaded", "feed", "turns", "content", "tie",
        "colour", "retie", "seen", "waste", "dry", "full", "doff", "pulled", "weighing",
        "length check", "banded", "rework", "belt on", "feed on", "go on", "handover", "note",
    ))
}  # fmt: skip
_LAST = len(_RANK)

Place = tuple[int, int, int, str, str]


def place_of(event: Effective) -> Place:
    """Say where an event stands among others: by time, then by what it is, never by arrival."""
    rank = _RANK.get(event.kind, _LAST)
    return (event.at_us, rank, event.lane, event.source, event.key)


@dataclass(frozen=True, slots=True)
class Corrected:
    """Records with their corrections put in.

    Attributes
    ----------
    events : tuple of Effective
        What counts, in order of time; no corrections among them, nothing that was voided.
    voided : frozenset of int
        Places in the chain of what did not happen.
    troubles : tuple of str
        Corrections that could not be put in, and why; what they meant stays as it was.
    """

    events: tuple[Effective, ...]
    voided: frozenset[int]
    troubles: tuple[str, ...]


def as_told(record: Record) -> Effective:
    """Take one record as it was told.

    Parameters
    ----------
    record : Record
        The record.

    Returns
    -------
    Effective
        The same with its body read.
    """
    return Effective(
        record.line, record.seq, record.at_us, record.kind, record.source, record.key,
        record.author, record.lane, record.ball, record.run, record.cone, record.lot,
        record.package, record.token, {} if record.body == "{}" else json.loads(record.body),
        record.flag_words(),
    )  # fmt: skip


def effective_events(records: Iterable[Record], *, zone: str = "") -> Corrected:
    """Put the corrections of one line into its records.

    Parameters
    ----------
    records : iterable of Record
        Records of one line in any order, repeats allowed; not need they be all there are.
    zone : str
        The mill's time zone, for moments in corrections that have no offset.

    Returns
    -------
    Corrected
        What counts.

    Notes
    -----
    A correction says with ``of_seq`` which record of its line was wrong; ``void``: it did not
    happen; ``change``: a JSON object of fields (``lane``, ``at``, names, and those of its kind;
    null takes one away), read as strictly as a new message. Several corrections of one record are
    put in in order of their own times, each onto what the one before left. A correction that is
    itself voided or changed counts as it then is.
    """
    told = {record.seq: record for record in records}
    by_target: dict[int, list[int]] = {}
    events: dict[int, Effective] = {}
    for seq, record in told.items():
        event = as_told(record)
        events[seq] = event
        if record.kind == CORRECTION:
            by_target.setdefault(int(event.body["of_seq"]), []).append(seq)
    if not by_target:
        return Corrected(tuple(sorted(events.values(), key=place_of)), frozenset(), ())
    putting = _Putting(events, by_target, zone)
    counted = [
        found
        for seq, event in events.items()
        if event.kind != CORRECTION and (found := putting.final(seq)) is not None
    ]
    for target, seqs in by_target.items():
        for seq in seqs:
            correction = putting.final(seq)
            if correction is not None and seq <= target:
                putting.trouble(
                    correction, say("record {target} is not older than it", target=target)
                )
    return Corrected(
        tuple(sorted(counted, key=place_of)),
        frozenset(putting.voided),
        tuple(sorted(putting.troubles)),
    )


class _Putting:
    """The corrections of one line while they are put in."""

    def __init__(
        self,
        events: Mapping[int, Effective],
        by_target: Mapping[int, list[int]],
        zone: str,
    ) -> None:
        self.events, self.by_target, self.zone = events, by_target, zone
        self.voided: set[int] = set()
        self.troubles: set[str] = set()
        self.found: dict[int, Effective | None] = {}

    def trouble(self, correction: Effective, why: str) -> None:
        who = correction.author or correction.source
        self.troubles.add(
            say(
                "correction {seq} by {who} could not be put in: {why}; what it meant stays "
                "as it was told",
                seq=correction.seq,
                who=who,
                why=why,
            )
        )

    def final(self, seq: int) -> Effective | None:
        """Give an event with its corrections in; None where it did not happen."""
        if seq not in self.found:
            event: Effective | None = self.events[seq]
            corrections = [
                one
                for mend in self.by_target.get(seq, ())
                # a correction comes after what it corrects: so there can be no ring either
                if mend > seq and (one := self.final(mend)) is not None
            ]
            for correction in sorted(corrections, key=place_of):
                if event is not None:
                    event = self.put(correction, event)
            if event is None:
                self.voided.add(seq)
            self.found[seq] = event
        return self.found[seq]

    def put(self, correction: Effective, event: Effective) -> Effective | None:
        if correction.body.get("void") is True:
            return None
        try:
            change = read_change(str(correction.body.get("change") or "{}"))
            if not change:
                return event
            return changed(event, change, zone=self.zone)
        except BadInput as bad:
            first = bad.faults[0]
            words = ": ".join(one for one in (first.key, first.what) if one)
            self.trouble(correction, words)
            return event


def read_change(text: str) -> dict[str, Any]:
    """Read what a correction changes.

    Parameters
    ----------
    text : str
        A JSON object of fields.

    Returns
    -------
    dict
        Field and its right value.

    Raises
    ------
    BadInput
        When it is no JSON object.
    """
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise BadInput(Fault(say("no JSON object"), say('such as {{"lane": 4}}'), key="change"))
    return found


def changed(event: Effective, change: Mapping[str, Any], *, zone: str = "") -> Effective:
    """Put right values into an event, checked as those of a new message are.

    Parameters
    ----------
    event : Effective
        The event.
    change : mapping of str to JSON value
        Fields and their right values: ``lane``, ``at``, names and fields of its kind; None takes
        a field away. Its line, kind, source and key stay what they are.
    zone : str
        Zone of moments without an offset.

    Returns
    -------
    Effective
        The event as it counts, with ``corrected`` set.

    Raises
    ------
    BadInput
        Everything that is wrong with it.
    """
    flat: dict[str, Any] = {
        **event.body,
        **{name: value for name in NAMES if (value := getattr(event, name)) not in ("", None)},
        "line": event.line or MILL_WORD, "kind": event.kind, "at": show_utc(event.at_us),
        "key": event.key,
    }  # fmt: skip
    if event.lane != NO_LANE:
        flat["lane"] = event.lane
    fixed = [name for name in change if name in ("line", "kind", "source", "key", "author")]
    if fixed:
        raise BadInput(
            [
                Fault(say("stays as it is; void the record and tell it anew"), key=one)
                for one in fixed
            ]
        )
    flat.update(change)
    wanted = {name: value for name, value in flat.items() if value is not None}
    sender = Sender(event.source, author=event.author, line=event.line, zone=zone)
    read: Message = read_message(wanted, sender)
    kept = tuple(
        flag
        for flag in event.flags
        if flag not in read.flags
        and not flag.endswith("out of range")
        and not (flag in _OF_ARRIVAL and "at" in change)
    )
    return replace(
        event, at_us=read.at_us, lane=read.lane, ball=read.ball, run=read.run, cone=read.cone,
        lot=read.lot, package=read.package, token=read.token, body=dict(read.body),
        flags=(*read.flags, *kept), corrected=True,
    )  # fmt: skip
