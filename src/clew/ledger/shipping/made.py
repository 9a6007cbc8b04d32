"""How many balls of a dye lot a line has made that lie in no case yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from clew.ledger.shipping.packed import cases_of_lot
from clew.ledger.state.known import Effective
from clew.ledger.trace.records import Kept
from clew.mill.lines import Line


@dataclass(frozen=True, slots=True)
class LotMade:
    """Balls of a dye lot on a line, trial runs left out.

    Attributes
    ----------
    runs : tuple of str
        Its runs, in order of time.
    trials : tuple of str
        Runs of it whose balls are not for sale.
    doffed, banded, pulled, cased : int
        Balls taken off, banded, pulled out of first quality, and in cases that were closed with no
        other lot in them.
    shared : int
        Balls that cases with other lots in them must have taken of these, whatever they took of
        the others.
    """

    runs: tuple[str, ...]
    trials: tuple[str, ...]
    doffed: int
    banded: int
    pulled: int
    cased: int
    shared: int = 0

    @property
    def left(self) -> int:
        """Balls that may still go into a case.

        The larger of doffs and bands counts: where messages were lost, a case that can be filled is
        not refused. Source: DERIVED.
        """
        return max(self.doffed, self.banded) - self.pulled - self.cased - self.shared


def lot_made(kept: Kept, line: Line, lot: str, at_us: int, *, run: str = "") -> LotMade:
    """Count the balls of a dye lot on a line, as `lots_made` does of several."""
    return lots_made(kept, line, (lot,), at_us, run=run)


def lots_made(kept: Kept, line: Line, lots: Sequence[str], at_us: int, *, run: str = "") -> LotMade:
    """Count the balls of dye lots together on a line.

    Parameters
    ----------
    kept : Kept
        The records.
    line : Line
        The line.
    lots : sequence of str
        The dye lots, each once.
    at_us : int
        Up to when [us].
    run : str
        One run only; all of them where empty.

    Returns
    -------
    LotMade
        Balls doffed and banded from a run's start to its end, or to the start of the next run; a
        ball pulled after the end counts until the next run starts.

    Notes
    -----
    How many balls of each lot lie in a case with several is not told. What is left of some lots is
    at most what they made less the cases with no other lot in them, and at most what is left of
    all lots that they share cases with. Source: DERIVED.
    """
    found = _of_lots(kept, line, lots, at_us, run)
    wider = () if run else _sharing(kept, line, lots)
    if len(wider) <= len(lots):
        return found
    together = _of_lots(kept, line, wider, at_us, "")
    return replace(found, shared=max(0, found.left - together.left))


def _sharing(kept: Kept, line: Line, lots: Sequence[str]) -> tuple[str, ...]:
    """Name some lots, and all that share a case with one of them, or with one that does."""
    found, left = dict.fromkeys(lots), list(lots)
    while left:
        for case in cases_of_lot(kept, left.pop()):
            for other in case.all_lots if case.line == line.name else ():
                if other not in found:
                    found[other] = None
                    left.append(other)
    return tuple(found)


def _of_lots(kept: Kept, line: Line, lots: Sequence[str], at_us: int, run: str) -> LotMade:
    """Count what lots made, and the cases with no other lot in them."""
    starts = [
        one
        for lot in lots
        for one in kept.naming("lot", lot, ("run start",))
        if one.line == line.name and one.at_us <= at_us and run in ("", one.run)
    ]
    trials = [one for one in starts if one.body.get("trial") is True]
    sold = [one for one in starts if one not in trials]
    doffed = banded = pulled = 0
    for start in sold:
        ended_us, next_us = _end_of(kept, start, at_us)
        for lane in range(1, line.lanes + 1):
            doffed += kept.count(line.name, "doff", lane, start.at_us, ended_us)
            banded += kept.count(line.name, "banded", lane, start.at_us, next_us)
            pulled += kept.count(line.name, "pulled", lane, start.at_us, next_us)
    cased = {
        one.package: one.balls
        for lot in lots
        for one in cases_of_lot(kept, lot)
        if one.line == line.name and run in ("", one.run) and set(one.all_lots) <= set(lots)
    }
    return LotMade(
        tuple(one.run for one in sold), tuple(one.run for one in trials), doffed, banded, pulled,
        sum(cased.values()),
    )  # fmt: skip


def _end_of(kept: Kept, start: Effective, at_us: int) -> tuple[int, int]:
    """Say when a run ended, and until when what follows it belongs to it [us]."""
    after = kept.of_kind(start.line, "run start", from_us=start.at_us + 1, most=1)
    next_us = min([at_us, *(one.at_us - 1 for one in after)])
    ends = kept.of_kind(start.line, "run end", from_us=start.at_us, upto_us=next_us)
    ended = [one.at_us for one in ends if one.run == start.run]
    return min([next_us, *ended]), next_us
