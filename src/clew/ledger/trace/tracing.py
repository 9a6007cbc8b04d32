"""What all traces share: the mill, its records, and one lane's balls and cones around a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.answer import ConeStint
from clew.ledger.trace.records import Kept, KeptInLedger
from clew.ledger.trace.stints import KINDS, stints_of, told_once
from clew.ledger.trace.transit import Transit, Wound, WoundLane, wound_of
from clew.mill.lines import Line
from clew.mill.model import Mill

DAY_US = 86_400_000_000
REACH_US = 60 * DAY_US
"""How far beside the time in question records are looked for [us]: assumed."""
CREEL_BEFORE, CREEL_AFTER = 10, 6
"""Loads and ties read before and after the time in question: more than a creel holds."""


class Tracing:
    """A mill and its ledger, ready for questions.

    Parameters
    ----------
    mill : Mill
        The mill.
    ledger : Ledger or Kept
        Its ledger, or records in memory.

    Notes
    -----
    What is worked out of the mill file is kept, so that one `Tracing` serves many questions.
    """

    def __init__(self, mill: Mill, ledger: Ledger | Kept) -> None:
        self.mill, self._ledger = mill, ledger
        self._transits: dict[tuple[str, str], tuple[Transit, str]] = {}

    @property
    def zone(self) -> str:
        """The mill's time zone."""
        return self.mill.mill.time_zone

    @contextmanager
    def kept(self) -> Iterator[Kept]:
        """Begin a question: one reading of the ledger, with the corrections that stand now."""
        if isinstance(self._ledger, Ledger):
            with self._ledger.reading() as connection:
                yield KeptInLedger(connection, self.zone)
        else:
            yield self._ledger

    def line(self, name: str) -> Line:
        """Find a line; raises `BadInput`."""
        return self.mill.find_line(name)

    def lane_of(self, line: Line, winder: int) -> int:
        """Say which lane a winder serves.

        Raises
        ------
        BadInput
            When the line has no such winder.
        """
        for one in line.winder:
            if one.number == winder:
                return int(one.lane)
        numbers = joined(", ", (str(one.number) for one in line.winder))
        raise BadInput(
            Fault(say("no such winder on {name}", name=line.name), numbers, value=str(winder))
        )

    def winder_of(self, line: Line, lane: int) -> int:
        """Say which winder serves a lane; a lane the mill file lacks has its own number."""
        return next((int(one.number) for one in line.winder if one.lane == lane), lane)

    def transit(self, line: Line, ball_name: str) -> tuple[Transit, str]:
        """Work out the way of a line's strand while it makes a ball.

        Returns
        -------
        (Transit, str)
            The way, and what is missing for it, in words.
        """
        key = (line.name, ball_name)
        if key not in self._transits:
            self._transits[key] = transit_of(self.mill, line, ball_name)
        return self._transits[key]


def transit_of(mill: Mill, line: Line, ball_name: str) -> tuple[Transit, str]:
    """Read the way of a line's strand off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    line : Line
        The line.
    ball_name : str
        What it makes; where the mill file has no such ball, that with the shortest strand on the
        longest way stands for it.

    Returns
    -------
    (Transit, str)
        The way, and what is missing for it, in words.
    """
    known = [one.name for one in mill.ball]
    if ball_name in known:
        return _transit(mill, line, ball_name), ""
    tried = []
    for name in known:
        try:
            tried.append(_transit(mill, line, name))
        except BadInput:
            continue
    if not tried:
        raise BadInput(Fault(say("no ball that this line can make"), say("one in the mill file")))
    widest = max(tried, key=lambda one: one.balls)
    said = (
        say("the mill file has no ball {ball_name}", ball_name=repr(ball_name))
        if ball_name
        else say("no run start is told")
    )
    return widest, say("{said}: the ball with the widest answer stands for it", said=said)


def _transit(mill: Mill, line: Line, ball_name: str) -> Transit:
    from clew.line.tracker.from_mill import track_terms

    terms, _, counters = track_terms(mill, line.name, ball_name)
    full_counts = {
        lane: terms.full_turns[lane] / counter.turns_per_count
        for lane, counter in counters.items()
        if counter.counter_on == "flyer"
    }
    held_m = terms.passage_s * terms.feed_m_per_s + terms.buffer_m
    full_m = min(terms.full_m(lane) for lane in terms.full_turns)
    return Transit(
        least_s=terms.passage_s, most_laid_m=held_m / terms.raw_per_laid, full_m=full_m,
        wind_m_per_s=terms.wind_m_per_s, cone_s=terms.cone_m / terms.feed_m_per_s,
        full_counts=full_counts, winder_of=dict(terms.winder_of),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class LaneSeen:
    """One lane around a time.

    Attributes
    ----------
    wound : WoundLane
        Its balls.
    stints : tuple of ConeStint
        Cones at its feed.
    joins : tuple of Effective
        Ties and re-ties.
    """

    wound: WoundLane
    stints: tuple[ConeStint, ...]
    joins: tuple[Effective, ...]

    @property
    def numbers(self) -> frozenset[int | None]:
        """Numbers of its balls."""
        return frozenset(one.number for one in self.wound.balls)

    @property
    def upto_us(self) -> int:
        """Up to when its doffs are seen [us]."""
        return self.wound.balls[-1].ended_us if self.wound.balls else 0

    def balls_in(self, from_us: int, upto_us: int) -> tuple[Wound, ...]:
        """Balls whose doff may lie in a span of time, missing doffs too."""
        return tuple(
            one
            for one in self.wound.balls
            if from_us <= one.ended_us
            and (one.ended_us <= upto_us or (one.record is None and _begun(one) <= upto_us))
        )


def _begun(ball: Wound) -> int:
    return ball.ended_us if ball.begun_us is None else ball.begun_us


def see_lane(
    kept: Kept, line: str, lane: int, from_us: int, upto_us: int, transit: Transit
) -> LaneSeen:
    """Read one lane around the time in which balls were doffed.

    Parameters
    ----------
    kept : Kept
        The records.
    line : str
        The line.
    lane : int
        The lane.
    from_us, upto_us : int
        The span of time [us].
    transit : Transit
        The way of its strand.

    Returns
    -------
    LaneSeen
        Balls as far back and on as the strand on the way reaches, and the cones of that time.
    """
    beside = 2 * transit.balls + 5
    before, within, after = _around(
        kept, line, "doff", lane, from_us, upto_us, before=beside, after=beside
    )
    doffs = [*before, *within, *after]
    first_us = doffs[0].at_us if doffs else from_us
    last_us = max(upto_us, within[-1].at_us if within else upto_us)
    creel: list[Effective] = []
    for kind in KINDS:
        for part in _around(
            kept, line, kind, lane, first_us, last_us, before=CREEL_BEFORE, after=CREEL_AFTER
        ):
            creel += part
    starts = kept.of_kind(
        line, "run start", from_us=first_us - REACH_US, upto_us=first_us - 1, latest_first=True,
        most=CREEL_BEFORE,
    )  # fmt: skip
    starts += kept.of_kind(line, "run start", from_us=first_us, upto_us=last_us + DAY_US)
    reties = kept.of_kind(line, "retie", lane=lane, from_us=first_us, upto_us=last_us)
    ties = sorted(
        (one for one in creel if one.kind in ("tie", "colour")),
        key=lambda one: (one.at_us, one.seq),
    )
    joins = [one for one in told_once(ties) if one.at_us >= first_us]
    return LaneSeen(
        WoundLane(wound_of(doffs, transit), transit),
        stints_of([*creel, *starts]),
        tuple(sorted([*joins, *reties], key=lambda one: (one.at_us, one.seq))),
    )


def _around(
    kept: Kept,
    line: str,
    kind: str,
    lane: int,
    from_us: int,
    upto_us: int,
    *,
    before: int,
    after: int,
) -> tuple[list[Effective], list[Effective], list[Effective]]:
    earlier = kept.of_kind(
        line, kind, lane=lane, from_us=from_us - REACH_US, upto_us=from_us - 1,
        latest_first=True, most=before,
    )  # fmt: skip
    within = kept.of_kind(line, kind, lane=lane, from_us=from_us, upto_us=upto_us)
    later = kept.of_kind(
        line, kind, lane=lane, from_us=upto_us + 1, upto_us=upto_us + REACH_US, most=after
    )
    return earlier[::-1], within, later


def in_words(names: Sequence[str], *, most: int = 6) -> str:
    """List names, a long list cut short."""
    shown = joined(", ", names[:most])
    return (
        say("{shown} and {more} more", shown=shown, more=len(names) - most)
        if len(names) > most
        else shown
    )
