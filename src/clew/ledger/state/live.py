"""The live view of a line: the ledger followed, and all that is known of it gathered."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS
from clew.ledger.events.message import Record
from clew.ledger.state.answer import LiveAnswer
from clew.ledger.state.effective import CORRECTION
from clew.ledger.state.following import Following
from clew.ledger.state.known import Run
from clew.ledger.state.live_view import live_view
from clew.ledger.state.ties import TiesNow, Track, ties_now, track_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records, head_of, records_in_time
from clew.mill.model import Mill

HOUR_US = 3_600_000_000
LOOK_BACK_US = 14 * 24 * HOUR_US
"""What stands on a creel was loaded within so long [us]: assumed."""
STREAM_BACK_US = 12 * HOUR_US
"""Readings of machines are looked at so far back at most [us]."""
LONGEST_RUN_US = 7 * 24 * HOUR_US
"""Balls are counted so far back at most [us]."""
MOST_RECORDS = 120_000
"""Above so many records in hand, a line is read anew from the ledger."""
MOST_STREAM = 60_000
"""Readings of machines are looked at so many back at most: the latest count."""
TIES_SHARE = 10.0
"""Ties are followed anew after so many times what following them took."""

STREAM = ("turns", "feed", "content", "dry", "full")
"""What machines send without end."""
BALLS = (
    "doff", "pulled", "weighing", "length check", "banded", "case closed", "retie", "seen",
    "waste", "feed on", "feed off", "belt on", "belt off",
)  # fmt: skip
"""What happens with each ball."""
SELDOM = tuple(
    kind
    for kind, of in KINDS.items()
    if of.where != "mill" and kind not in (*STREAM, *BALLS, CORRECTION)
)


class LiveLine:
    """A line of a mill, followed in its ledger; for a page that asks again and again.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    line_name : str
        The line; empty for the only one.
    upto_us : int, optional
        What happened after this moment is left out, and nothing new is taken in [us].
    ties_every_s : float
        Ties are followed anew after so long at the earliest, and at once when something else than
        machines' readings was kept; 0 for every time [s].

    Raises
    ------
    BadInput
        When the mill has no such line.

    Notes
    -----
    Not for several threads at once. A machine may tell hundreds of readings a second; what they
    say of a winder shows at once, and where the ties are is reckoned in a tenth of the time.
    """

    def __init__(
        self, ledger: Ledger, mill: Mill, line_name: str = "", *, upto_us: int | None = None,
        ties_every_s: float = 0.0,
    ) -> None:  # fmt: skip
        self.ledger, self.mill, self.upto_us = ledger, mill, upto_us
        self.ties_every_s = ties_every_s
        self.line = mill.find_line(line_name)
        self.following: Following | None = None
        self._read_seq = 0
        self._records, self._most = 0, MOST_RECORDS
        self._track: tuple[object, Track | None] = (None, None)
        self._ties: TiesNow | None = None
        self._ties_us = 0
        """Moment of those ties [us]."""
        self._ties_until_s = 0.0
        """They stand until then, by this process's clock [s]."""

    def catch_up(self) -> Following:
        """Take in what was kept since the last time.

        Raises
        ------
        CannotKeep
            When the database does not answer.
        """
        name = self.line.name
        head_seq, _ = head_of(self.ledger, name)
        shrunk = head_seq < self._read_seq  # a backup was put in the ledger's place
        if self.following is None or shrunk or self._records > self._most:
            self.following = Following(name, zone=self.mill.mill.time_zone)
            self._read_seq = head_seq
            new = list(_whole(self.ledger, name, self.upto_us))
            self._records, self._most = len(new), max(MOST_RECORDS, 2 * len(new))
            self._ties = None
        elif self.upto_us is not None:
            return self.following
        else:
            new = list(chain_records(self.ledger, name, after_seq=self._read_seq))
            self._records += len(new)
            if any(one.kind not in STREAM for one in new):
                self._ties = None
        self.following.take(new)
        self._read_seq = max([self._read_seq, *(one.seq for one in new)])
        return self.following

    def answer(self, now_us: int | None = None) -> LiveAnswer:
        """Say what the line does now.

        Parameters
        ----------
        now_us : int, optional
            The moment [us]; the ledger's own clock where left out.

        Raises
        ------
        CannotKeep
            When the database does not answer.
        """
        now_us = self.ledger.clock() if now_us is None else now_us
        following = self.catch_up()
        head_seq, head = head_of(self.ledger, self.line.name)
        run = following.state.run
        trouble = self.ledger.trouble
        track = None if run is None else self.track(run)
        return live_view(
            following.state, following.events, self.mill, self.line, track, now_us,
            ties=None if run is None or track is None else self.ties(run, track, now_us),
            head_seq=head_seq, head_hash=head.hex(),
            trouble="" if trouble is None else trouble.reason,
        )  # fmt: skip

    def ties(self, run: Run, track: Track, now_us: int) -> TiesNow:
        """Say where every tie of a run is: now, or a moment ago where that is near enough.

        Parameters
        ----------
        run : Run
            The run.
        track : Track
            From `track`.
        now_us : int
            The moment [us].
        """
        assert self.following is not None
        began_s = time.monotonic()
        near = 0 <= now_us - self._ties_us < 60_000_000
        if self._ties is None or not near or began_s >= self._ties_until_s:
            zone = self.mill.mill.time_zone
            self._ties = ties_now(self.following.events, track, run, now_us, zone)
            self._ties_us, ended_s = now_us, time.monotonic()
            wait_s = max(self.ties_every_s, TIES_SHARE * (ended_s - began_s))
            self._ties_until_s = ended_s + (wait_s if self.ties_every_s else 0.0)
        return self._ties

    def track(self, run: Run) -> Track | None:
        """Give the tracker's terms of a run; None where the mill file no longer has it."""
        asked = (run.run, run.ball_name, run.lot, run.turns, dict(run.counts), run.feed_m_per_s)
        if self._track[0] != asked:
            try:
                found: Track | None = track_of(self.mill, self.line, run)
            except BadInput:
                found = None
            self._track = (asked, found)
        return self._track[1]


def live_answer(
    ledger: Ledger, mill: Mill, line_name: str = "", now_us: int | None = None
) -> LiveAnswer:
    """Say once what a line does now.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    line_name : str
        The line; empty for the only one.
    now_us : int, optional
        The moment [us]; the ledger's own clock where left out. What happened after it is left
        out, though it be kept already.

    Raises
    ------
    BadInput
        When the mill has no such line.
    CannotKeep
        When the database does not answer.
    """
    return LiveLine(ledger, mill, line_name, upto_us=now_us).answer(now_us)


def _whole(ledger: Ledger, line: str, upto_us: int | None) -> Iterator[Record]:
    """Read what the present rests on: seldom kinds far back, the machines' own not so far."""
    # read to the end: an answer left half read would keep its cursor on the server
    newest = list(records_in_time(ledger, line, upto_us=upto_us, latest_first=True, most=1))
    if not newest:
        return
    now_us = min(newest[0].at_us, ledger.clock())

    def read(kinds: Sequence[str], from_us: int) -> Iterator[Record]:
        return records_in_time(ledger, line, kinds=kinds, from_us=from_us, upto_us=upto_us)

    # a correction is made after what it mends: it counts for a moment that is past as well
    yield from records_in_time(ledger, line, kinds=[CORRECTION], from_us=now_us - LOOK_BACK_US)
    seldom = list(read(SELDOM, now_us - LOOK_BACK_US))
    started = [one.at_us for one in seldom if one.kind == "run start"]
    run_us = max(started[-1], now_us - LONGEST_RUN_US) if started else now_us - STREAM_BACK_US
    stream_us = max(run_us, now_us - STREAM_BACK_US)
    yield from seldom
    yield from read(BALLS, min(run_us, stream_us))
    yield from records_in_time(
        ledger, line, kinds=STREAM, from_us=stream_us, upto_us=upto_us,
        latest_first=True, most=MOST_STREAM,
    )  # fmt: skip
