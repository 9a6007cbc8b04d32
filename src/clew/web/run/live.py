"""Lines followed for the pages: one follower a line, whoever looks."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

from clew.ledger.state.answer import LiveAnswer
from clew.ledger.state.known import LineState
from clew.ledger.state.live import LiveLine
from clew.ledger.store.ledger import Ledger
from clew.web.workbench import Workbench

FRESH_US = 250_000
"""Readers who ask within so long of each other are given one answer [us]."""
TIES_EVERY_S = 1.0
"""Ties are followed anew after so long at the earliest while only machines tell [s]."""


@dataclass(slots=True)
class _Kept:
    """A line that is followed, and what it was made from."""

    live: LiveLine
    ledger: Ledger
    reading: int
    answer: LiveAnswer | None = None
    head: int = -1


class LiveLines:
    """The lines of a workbench, each followed once.

    Parameters
    ----------
    bench : Workbench
        The workbench.
    """

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench
        self._lock = Lock()
        self._lines: dict[str, _Kept] = {}

    def answer(self, line: str) -> LiveAnswer:
        """Say what a line does now.

        Parameters
        ----------
        line : str
            Its name.

        Raises
        ------
        BadInput
            When the mill has no such line.
        CannotKeep
            When the ledger cannot be read.
        """
        with self._lock:
            kept = self._followed(line)
            now_us = kept.ledger.clock()
            last = kept.answer
            following = kept.live.catch_up()
            same = following.newest_seq == kept.head
            if last is None or not same or abs(now_us - last.now_us) > FRESH_US:
                last = kept.live.answer(now_us)
                kept.answer, kept.head = last, following.newest_seq
            return last

    def state(self, line: str) -> LineState:
        """Say which run is in progress on a line; raises as `answer`."""
        with self._lock:
            return self._followed(line).live.catch_up().state

    def _followed(self, line: str) -> _Kept:
        ledger, reading = self._bench.ledger.ledger(), self._bench.mill.read()
        kept = self._lines.get(line)
        if kept is None or kept.ledger is not ledger or kept.reading != reading.number:
            live = LiveLine(ledger, reading.mill, line, ties_every_s=TIES_EVERY_S)
            kept = _Kept(live, ledger, reading.number)
            self._lines[line] = kept
        return kept
