"""The records a trace reads, corrections put in: few queries, each answered from an index."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Protocol

from sqlalchemy import Connection, func, select

from clew.languages import say
from clew.ledger.events.message import Record
from clew.ledger.state.effective import AHEAD, CORRECTION, effective_events
from clew.ledger.state.known import Effective
from clew.ledger.store.chain import body_text
from clew.ledger.store.reading import record_of
from clew.ledger.store.schema import CHAIN, EVENT, NAMED
from clew.ledger.trace.answer import Rest

AT_ONCE = 500
"""Records looked up by their places at once."""


class Kept(Protocol):
    """Where a trace reads its records, from a ledger or from a list."""

    def of_kind(
        self,
        line: str,
        kind: str,
        *,
        lane: int | None = None,
        from_us: int | None = None,
        upto_us: int | None = None,
        latest_first: bool = False,
        most: int | None = None,
        holding: str = "",
    ) -> list[Effective]:
        """Read a line's events of one kind in order of time, corrections put in."""
        ...

    def count(self, line: str, kind: str, lane: int, from_us: int, upto_us: int) -> int:
        """Count a lane's events of one kind in a span of time."""
        ...

    def naming(self, what: str, name: str, kinds: Sequence[str] = ()) -> list[Effective]:
        """Read the events that name a cone, lot, package, run or token, in order of time."""
        ...

    def lines(self) -> tuple[str, ...]:
        """Name the lines that have a chain; the mill's own is the empty name."""
        ...

    def troubles(self) -> tuple[str, ...]:
        """Corrections that could not be put in, and clocks that were ahead, in words."""
        ...


def rest_of(event: Effective) -> Rest:
    """Name a record that an answer rests on."""
    return Rest(event.line, event.seq, event.kind, event.at_us)


class KeptInLedger:
    """The records of an open ledger.

    Parameters
    ----------
    connection : Connection
        Of an open ledger, for reading.
    zone : str
        The mill's time zone, for moments in corrections that have no offset.

    Notes
    -----
    One is made for one question: it reads a line's corrections once and keeps them.
    """

    def __init__(self, connection: Connection, zone: str) -> None:
        self._connection, self._zone = connection, zone
        self._amends: dict[str, dict[int, list[Record]]] = {}
        self._moved: dict[str, list[Effective]] = {}
        self._mended: dict[str, set[str]] = {}
        self._chains: tuple[str, ...] | None = None
        self._troubles: set[str] = set()

    def of_kind(
        self,
        line: str,
        kind: str,
        *,
        lane: int | None = None,
        from_us: int | None = None,
        upto_us: int | None = None,
        latest_first: bool = False,
        most: int | None = None,
        holding: str = "",
    ) -> list[Effective]:
        """As in `Kept`; ``holding`` is a text that the body as it counts must hold, as JSON."""
        query = select(EVENT).where(EVENT.c.line == line, EVENT.c.kind == kind)
        if lane is not None:
            query = query.where(EVENT.c.lane == lane)
        if from_us is not None:
            query = query.where(EVENT.c.at_us >= from_us)
        if upto_us is not None:
            query = query.where(EVENT.c.at_us <= upto_us)
        if holding:
            query = query.where(EVENT.c.body.contains(holding, autoescape=True))
        order = (
            (EVENT.c.at_us.desc(), EVENT.c.seq.desc())
            if latest_first
            else (EVENT.c.at_us, EVENT.c.seq)
        )
        query, limit = query.order_by(*order), most
        while True:
            rows = self._run(query if limit is None else query.limit(limit))
            found = self._counting(line, rows)
            seqs = {one.seq for one in found}
            found += [one for one in self._moved[line] if one.seq not in seqs and one.kind == kind]
            found = [
                one
                for one in found
                if (lane is None or one.lane == lane)
                and (from_us is None or one.at_us >= from_us)
                and (upto_us is None or one.at_us <= upto_us)
                and (not holding or holding in body_text(one.body))
            ]
            if most is None or limit is None or len(found) >= most or len(rows) < limit:
                break
            limit *= 4  # some of them do not count: others behind them do
        found.sort(key=lambda one: (one.at_us, one.seq), reverse=latest_first)
        return found if most is None else found[:most]

    def count(self, line: str, kind: str, lane: int, from_us: int, upto_us: int) -> int:
        """As in `Kept`: in the database, where no correction may change the answer."""
        self._amends_of(line)
        if kind in self._mended[line]:
            return len(self.of_kind(line, kind, lane=lane, from_us=from_us, upto_us=upto_us))
        query = select(func.count()).where(
            EVENT.c.line == line, EVENT.c.kind == kind, EVENT.c.lane == lane,
            EVENT.c.at_us >= from_us, EVENT.c.at_us <= upto_us,
            EVENT.c.flags.not_like(f"%{AHEAD}%"),
        )  # fmt: skip
        return int(self._connection.scalar(query) or 0)

    def naming(self, what: str, name: str, kinds: Sequence[str] = ()) -> list[Effective]:
        """As in `Kept`."""
        if what not in NAMED or not name:
            raise ValueError(f"{what} {name!r} is nothing that is traced")
        column = EVENT.c[what]
        # the second condition is what the index over filled rows asks for
        query = select(EVENT).where(column == name, column != "")
        if kinds:
            query = query.where(EVENT.c.kind.in_(tuple(kinds)))
        rows = self._run(query.order_by(EVENT.c.at_us, EVENT.c.line, EVENT.c.seq))
        found: list[Effective] = []
        for line in sorted({one.line for one in rows}):
            found += self._counting(line, [one for one in rows if one.line == line])
        there = {(one.line, one.seq) for one in found}
        for line in self.lines():  # a correction may have put the name in
            self._amends_of(line)
        for moved in self._moved.values():
            found += [one for one in moved if (one.line, one.seq) not in there]
        found = [
            one for one in found if getattr(one, what) == name and (not kinds or one.kind in kinds)
        ]
        return sorted(found, key=lambda one: (one.at_us, one.line, one.seq))

    def troubles(self) -> tuple[str, ...]:
        """As in `Kept`, of the records that were read."""
        return tuple(sorted(self._troubles))

    def lines(self) -> tuple[str, ...]:
        """As in `Kept`."""
        if self._chains is None:
            self._chains = tuple(self._connection.scalars(select(CHAIN.c.line)))
        return self._chains

    def _run(self, query: Any) -> list[Record]:
        return [record_of(row) for row in self._connection.execute(query)]

    def _counting(self, line: str, rows: Sequence[Record]) -> list[Effective]:
        """Put in the corrections of some records."""
        amends = self._amends_of(line)
        return self._put(rows, amends)

    def _put(self, rows: Sequence[Record], amends: dict[int, list[Record]]) -> list[Effective]:
        mends = _of_these((one.seq for one in rows), amends)
        corrected = effective_events([*rows, *mends], zone=self._zone)
        self._troubles.update(corrected.troubles)
        ahead = {one.source for one in corrected.events if AHEAD in one.flags}
        self._troubles.update(
            say(
                "the clock of {source} was ahead: what it told then counts for nothing "
                "until its moment is corrected",
                source=source,
            )
            for source in ahead
        )
        return [one for one in corrected.events if AHEAD not in one.flags]

    def _amends_of(self, line: str) -> dict[int, list[Record]]:
        """Read a line's corrections, and the records that they move, once."""
        if line in self._amends:
            return self._amends[line]
        query = select(EVENT).where(EVENT.c.line == line, EVENT.c.kind == CORRECTION)
        amends: dict[int, list[Record]] = {}
        for one in self._run(query):
            amends.setdefault(int(one.fields()["of_seq"]), []).append(one)
        self._amends[line] = amends
        self._moved[line], self._mended[line] = [], set()
        wanted = sorted(amends)
        for first in range(0, len(wanted), AT_ONCE):
            part = wanted[first : first + AT_ONCE]
            rows = self._run(select(EVENT).where(EVENT.c.line == line, EVENT.c.seq.in_(part)))
            self._mended[line].update(one.kind for one in rows)
            self._moved[line] += self._put([one for one in rows if one.kind != CORRECTION], amends)
        return amends


def _of_these(seqs: Iterable[int], amends: dict[int, list[Record]]) -> list[Record]:
    """Corrections of some records, and corrections of those."""
    if not amends:
        return []
    found: list[Record] = []
    left = list(seqs)
    while left:
        of = [one for seq in left for one in amends.get(seq, ())]
        found += of
        left = [one.seq for one in of]
    return found
