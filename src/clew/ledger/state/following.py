"""Following a line: newly arrived records are folded on, and only a late one folds anew."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import replace

from clew.ledger.events.message import Record
from clew.ledger.state.effective import (
    CORRECTION,
    Place,
    as_told,
    effective_events,
    place_of,
)
from clew.ledger.state.known import Effective, LineState
from clew.ledger.state.line_state import step

EVERY = 128
"""After so many events a state is put by, from which a late one is folded anew."""


class Following:
    """A line that is followed as its records arrive.

    Parameters
    ----------
    line : str
        Its name.
    zone : str
        The mill's time zone, for moments in corrections that have no offset.

    Notes
    -----
    Holds at all times what `clew.ledger.state.line_state.line_state` makes of the same records.
    """

    def __init__(self, line: str, *, zone: str = "") -> None:
        self.line, self.zone = line, zone
        self.newest_seq = 0
        self._records: dict[int, Record] = {}
        self._events: list[Effective] = []
        self._places: list[Place] = []
        self._states = [LineState(line)]
        """State after 0, EVERY, 2 EVERY, ... events."""
        self._last = self._states[0]
        self._folded = 0
        self._mended: set[int] = set()
        """Records that any correction is of."""

    @property
    def state(self) -> LineState:
        """What is known of the line now."""
        return self._last

    @property
    def events(self) -> tuple[Effective, ...]:
        """What counts, in order of time."""
        return tuple(self._events)

    def take(self, records: Iterable[Record]) -> LineState:
        """Take newly arrived records in.

        Parameters
        ----------
        records : iterable of Record
            In any order; one that is here already changes nothing.

        Returns
        -------
        LineState
            What is known of the line with them.
        """
        new = []
        for record in records:
            if record.seq not in self._records:
                self._records[record.seq] = record
                self.newest_seq = max(self.newest_seq, record.seq)
                new.append(record)
        if not new:
            return self._last
        mends = [int(one.fields()["of_seq"]) for one in new if one.kind == CORRECTION]
        self._mended.update(mends)
        # a record may come here later than what corrects it
        if mends or any(one.seq in self._mended for one in new):
            first = self._correct()
        else:
            first = self._insert([as_told(one) for one in new])
        self._fold_from(first)
        return self._last

    def _insert(self, events: list[Effective]) -> int:
        """Put events where their time puts them; gives the first place that changed."""
        first = len(self._events)
        for event in sorted(events, key=place_of):
            place = place_of(event)
            at = bisect_left(self._places, place)
            self._places.insert(at, place)
            self._events.insert(at, event)
            first = min(first, at)
        return first

    def _correct(self) -> int:
        """Put all corrections in anew; gives the first place that changed."""
        corrected = effective_events(self._records.values(), zone=self.zone)
        first = 0
        for old, new in zip(self._events, corrected.events, strict=False):
            if old != new:
                break
            first += 1
        self._events = list(corrected.events)
        self._places = [place_of(one) for one in self._events]
        if self._states[0].troubles != corrected.troubles:
            self._states = [replace(one, troubles=corrected.troubles) for one in self._states]
            self._last = replace(self._last, troubles=corrected.troubles)
        return first

    def _fold_from(self, first: int) -> None:
        if first < self._folded:
            kept = first // EVERY
            del self._states[kept + 1 :]
            self._folded, state = kept * EVERY, self._states[kept]
        else:
            state = self._last
        for event in self._events[self._folded :]:
            state = step(state, event)
            self._folded += 1
            if self._folded % EVERY == 0:
                self._states.append(state)
        self._last = state
