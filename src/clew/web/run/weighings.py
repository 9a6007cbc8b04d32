"""Weighings of a run as the ledger holds them, read as a file of weighings is: a row a ball."""

from __future__ import annotations

import hashlib
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from sqlalchemy import Connection, func, select

from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.moments import local_of
from clew.ledger.shipping.made import lot_made
from clew.ledger.shipping.turn import reading_once
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import EVENT
from clew.ledger.store.trouble import CannotKeep
from clew.ledger.trace.records import KeptInLedger
from clew.ledger.trace.stints import ALSO, KINDS, stints_of
from clew.ledger.trace.tracing import transit_of
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.web.files_beside import Stamp

PREFIX = "run:"
"""What an address says before the name of a run, in place of a file."""
MOST_RUNS = 6
"""Runs of a line that can be chosen, the latest first."""
ENOUGH = 24
"""So many weighed balls say more of the winders than a file of another day."""
_US = 1_000_000


@dataclass(frozen=True, slots=True)
class WeighedRun:
    """One run with the balls that were weighed of it.

    Attributes
    ----------
    name, line, lot, ball_name, order : str
        Its name, where, of what, into what, for which order; empty where not told.
    weighed : int
        Balls that were weighed of it.
    from_us, upto_us : int
        From its start to its end, or to now [us].
    running : bool
        Whether it is in progress.
    stamp : tuple of int
        Tells one state of its weighings from any other.
    set_us : mapping of int to int
        When the counter of a winder was set last during the run, by winder [us].
    counts : mapping of str to float
        What each winder's counter is set to now, by winder.
    """

    name: str
    line: str
    lot: str
    ball_name: str
    order: str
    weighed: int
    from_us: int
    upto_us: int
    running: bool
    stamp: Stamp
    set_us: Mapping[int, int] = field(default_factory=dict)
    counts: Mapping[str, float] = field(default_factory=dict)


class RunWeighings:
    """The weighed runs of a mill's ledger.

    Parameters
    ----------
    mill : Mill
        The mill.
    ledger : callable
        Gives its ledger; raises `BadInput` where there is none yet.

    Attributes
    ----------
    mill : Mill
        The mill.
    """

    def __init__(self, mill: Mill, ledger: Callable[[], Ledger]) -> None:
        self.mill, self._ledger = mill, ledger
        self._runs: tuple[WeighedRun, ...] | None = None

    def runs(self) -> tuple[WeighedRun, ...]:
        """List the runs of which balls were weighed, the latest first; none without a ledger."""
        if self._runs is None:
            try:
                ledger = self._ledger()
                now_us = ledger.clock()
                with reading_once(ledger) as connection:
                    kept = KeptInLedger(connection, self.mill.mill.time_zone)
                    found = [
                        one
                        for line in self.mill.line
                        for one in _runs_of(kept, connection, line, now_us)
                    ]
            except (BadInput, CannotKeep):
                found = []
            self._runs = tuple(sorted(found, key=lambda one: -one.from_us))
        return self._runs

    def names(self) -> tuple[str, ...]:
        """Name them as an address does."""
        return tuple(PREFIX + one.name for one in self.runs())

    def run(self, name: str) -> WeighedRun:
        """Find one by what an address says; raises `BadInput`."""
        for one in self.runs():
            if PREFIX + one.name == name:
                return one
        raise BadInput(
            Fault(say("no such run with weighings in the ledger"), say("one of the list"),
                  key="file", value=repr(name)[:80])
        )  # fmt: skip

    def read(self, name: str, *, as_set: bool = False) -> Weighings:
        """Read the balls of a run.

        Parameters
        ----------
        name : str
            As in `names`.
        as_set : bool
            Only balls that were wound as each winder's counter is set now: what was weighed before
            it was changed says nothing of it any more.

        Raises
        ------
        BadInput
            When there is no such run.
        CannotKeep
            When the ledger does not answer.
        """
        one = self.run(name)
        with reading_once(self._ledger()) as connection:
            kept = KeptInLedger(connection, self.mill.mill.time_zone)
            return _weighings(kept, self.mill, one, as_set)

    def made(self, name: str) -> int:
        """Count the balls of a run's dye lot that its line made, less those that were pulled."""
        one = self.run(name)
        ledger = self._ledger()
        with reading_once(ledger) as connection:
            kept = KeptInLedger(connection, self.mill.mill.time_zone)
            found = lot_made(kept, self.mill.find_line(one.line), one.lot, ledger.clock())
        # a doff that nobody told leaves a ball that was weighed all the same
        return max(max(found.doffed, found.banded) - found.pulled, one.weighed)

    def sha256(self, name: str) -> str:
        """Hash what the ledger says of a run's balls, corrections put in, as a file is hashed."""
        one = self.run(name)
        with reading_once(self._ledger()) as connection:
            events = _measured(KeptInLedger(connection, self.mill.mill.time_zone), one)
        said = "".join(
            f"{each.seq} {each.at_us} {each.kind} {each.lane} {each.body.get('mass_g', '')} "
            f"{each.body.get('length_m', '')}\n"
            for each in events
        )
        return hashlib.sha256(said.encode()).hexdigest()


def run_words(one: WeighedRun) -> str:
    """Say in a list which run it is."""
    of = {"run": one.name, "balls": one.weighed, "lot": one.lot}
    if one.running:
        return say("run {run}, in progress: {balls} balls weighed, {lot}", **of)
    return say("run {run}: {balls} balls weighed, {lot}", **of)


def _runs_of(
    kept: KeptInLedger, connection: Connection, line: Line, now_us: int
) -> list[WeighedRun]:
    starts = kept.of_kind(line.name, "run start", latest_first=True, most=MOST_RUNS)
    if not starts:
        return []
    ends = kept.of_kind(line.name, "run end", from_us=starts[-1].at_us)
    sets = kept.of_kind(line.name, "run set", from_us=starts[-1].at_us)
    found, upto_us = [], now_us
    for place, start in enumerate(starts):
        ended = [one.at_us for one in ends if one.run == start.run]
        last_us = min([*ended, upto_us])
        newest, many = _newest(connection, line.name, start.at_us, last_us)
        upto_us = start.at_us
        if not many:
            continue
        set_us: dict[int, int] = {}
        counts = dict(start.body.get("counts") or {})
        for one in sets:
            if one.run == start.run:
                anew = one.body.get("counts") or {}
                counts |= anew
                set_us |= {int(winder): one.at_us for winder in anew}
        found.append(
            WeighedRun(
                start.run, line.name, start.lot, str(start.body.get("ball_name") or ""),
                str(start.body.get("order") or ""), many, start.at_us, last_us,
                place == 0 and not ended, (newest, many, max([0, *set_us.values()])), set_us,
                {winder: float(each) for winder, each in counts.items()},
            )
        )  # fmt: skip
    return found


def _newest(connection: Connection, line: str, from_us: int, upto_us: int) -> tuple[int, int]:
    """Give the newest record that may change what is read of a run, and how many were weighed."""
    here = (EVENT.c.line == line, EVENT.c.at_us >= from_us, EVENT.c.at_us <= upto_us)
    many = connection.execute(
        select(func.count(), func.max(EVENT.c.seq)).where(*here, EVENT.c.kind == "weighing")
    ).one()
    newest = connection.execute(
        select(func.max(EVENT.c.seq)).where(
            EVENT.c.line == line, EVENT.c.kind.in_(("length check", "correction"))
        )
    ).scalar()
    return max(int(many[1] or 0), int(newest or 0)), int(many[0])


def _measured(kept: KeptInLedger, run: WeighedRun) -> list[Effective]:
    """Give weighings and length checks of a run in order of time, without implausible ones."""
    found = [
        one
        for kind in ("weighing", "length check")
        for one in kept.of_kind(run.line, kind, from_us=run.from_us, upto_us=run.upto_us)
        if not any("out of range" in flag for flag in one.flags)
    ]
    return sorted(found, key=lambda one: (one.at_us, one.seq))


def _weighings(kept: KeptInLedger, mill: Mill, run: WeighedRun, as_set: bool) -> Weighings:
    line = mill.find_line(run.line)
    winder_of = {one.lane: one.number for one in line.winder}
    events = _measured(kept, run)
    if as_set:
        events = _since_set(events, run, winder_of)
    reeled: dict[tuple[int, int | None], float] = {
        (one.lane, one.ball): float(one.body["length_m"])
        for one in events
        if one.kind == "length check" and one.ball is not None
    }
    weighed = {(one.lane, one.ball) for one in events if one.kind == "weighing"}
    # a ball that was weighed and reeled is one row
    events = [
        one for one in events if one.kind == "weighing" or (one.lane, one.ball) not in weighed
    ]
    zone = mill.mill.time_zone
    midnight = local_of(run.from_us, zone).replace(hour=0, minute=0, second=0, microsecond=0)
    start_us = int(midnight.timestamp()) * _US
    nothing = float("nan")
    columns: dict[str, list[float]] = {"mass_g": [], "time_s": []}
    if any(one.body.get("gross") == "yes" or one.body.get("gross") is True for one in events):
        columns["gross_g"] = []
    if reeled or any("length_m" in one.body for one in events):
        columns["length_m"] = []
    for one in events:
        mass = float(one.body.get("mass_g", nothing))
        gross = one.body.get("gross") in ("yes", True)
        columns["mass_g"].append(nothing if gross else mass)
        if "gross_g" in columns:
            columns["gross_g"].append(mass if gross else nothing)
        if "length_m" in columns:
            length_m = reeled.get((one.lane, one.ball), float(one.body.get("length_m", nothing)))
            columns["length_m"].append(length_m)
        columns["time_s"].append((one.at_us - start_us) / _US)
    factors = {
        "winder": _factor([str(winder_of.get(one.lane, one.lane)) for one in events]),
        "lane": _factor([str(one.lane) for one in events]),
        "lot": _factor([one.lot or run.lot for one in events]),
    }
    cones = _cones(kept, mill, run, line, events)
    if any(cones):
        factors["cone"] = _factor(cones)
    return Weighings(
        len(events), {key: np.array(column, dtype=np.float64) for key, column in columns.items()},
        factors,
    )  # fmt: skip


def _since_set(
    events: Sequence[Effective], run: WeighedRun, winder_of: Mapping[int, int]
) -> list[Effective]:
    """Leave out what a winder wound before its counter was set, and the ball that was on it."""
    kept: list[Effective] = []
    on_it = set(run.set_us)
    for one in events:
        winder = winder_of.get(one.lane, one.lane)
        if one.at_us <= run.set_us.get(winder, -1):
            continue
        if winder in on_it:
            on_it.discard(winder)
            continue
        kept.append(one)
    return kept


def _factor(names: Sequence[str]) -> Factor:
    there = tuple(dict.fromkeys(one for one in names if one))
    place = {name: code for code, name in enumerate(there)}
    return Factor(np.array([place.get(one, -1) for one in names], dtype=np.int32), there)


def _cones(
    kept: KeptInLedger, mill: Mill, run: WeighedRun, line: Line, events: Sequence[Effective]
) -> list[str]:
    """Name the cone that most of each ball comes from, by the time its strand takes to the winder.

    Notes
    -----
    The way is taken as half full: its least time, and half the time that a full belt and buffer
    last. A ball near a tie may be put to the neighbour's cone. Source: DERIVED.
    """
    try:
        transit, _ = transit_of(mill, line, run.ball_name)
    except BadInput:  # a line that winds none of the mill file's balls: cones are not told apart
        return ["" for _ in events]
    way_us = int(0.5 * (transit.least_s + transit.most_laid_m / transit.wind_m_per_s) * _US)
    early_us = run.from_us - int(2.0 * transit.cone_s * _US) - 4 * 3600 * _US
    fed: dict[int, tuple[list[int], list[str]]] = {}
    starts = [one for kind in ALSO for one in kept.of_kind(run.line, kind, from_us=early_us,
              upto_us=run.upto_us)]  # fmt: skip
    told: dict[int, list[Effective]] = {}
    for kind in KINDS:
        for one in kept.of_kind(run.line, kind, from_us=early_us, upto_us=run.upto_us):
            told.setdefault(one.lane, []).append(one)
    for lane, of_lane in told.items():
        begun = [
            (one.from_latest_us or one.from_earliest_us or run.from_us, one.cone)
            for one in stints_of([*of_lane, *starts])
            if one.cone
        ]
        begun.sort()
        fed[lane] = [at for at, _ in begun], [cone for _, cone in begun]
    named = []
    for one in events:
        moments, cones = fed.get(one.lane, ([], []))
        place = bisect_right(moments, one.at_us - way_us)
        named.append(cones[max(place - 1, 0)] if cones else "")
    return named
