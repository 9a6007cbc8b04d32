"""Gathering what is known of a line into the live view, words first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from clew.ball.counter import Counter
from clew.faults import BadInput
from clew.languages import say
from clew.ledger.state.alarms import AlarmTerms, net_g, open_alarms
from clew.ledger.state.answer import Between, LaneNow, LiveAnswer, TieNow
from clew.ledger.state.effective import AHEAD
from clew.ledger.state.known import Effective, LineState, Run, Weighed
from clew.ledger.state.live_words import fewer_notes, lane_words, state_of, words_of
from clew.ledger.state.shifts import shift_of
from clew.ledger.state.ties import TiesNow, Track, ties_now, to_next_tie
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Mill

BALLS_SHOWN = 24
"""Balls of all lanes weighed last that are shown."""


def live_view(
    state: LineState,
    events: Sequence[Effective],
    mill: Mill,
    line: Line,
    track: Track | None,
    now_us: int,
    *,
    ties: TiesNow | None = None,
    head_seq: int = 0,
    head_hash: str = "",
    trouble: str = "",
) -> LiveAnswer:
    """Gather the live view.

    Parameters
    ----------
    state : LineState
        What is known of the line.
    events : sequence of Effective
        What counts, in order of time.
    mill : Mill
        The mill.
    line : Line
        The line.
    track : Track or None
        The tracker's terms of the run in progress; None where there is none.
    now_us : int
        The moment [us].
    ties : TiesNow, optional
        Where all ties are, a moment ago at most; followed from `events` where left out.
    head_seq : int
        The chain's last place.
    head_hash : str
        Its hash.
    trouble : str
        Why the ledger cannot write; empty where it can.

    Returns
    -------
    LiveAnswer
        All of it.
    """
    zone, run = mill.mill.time_zone, state.run
    shift = shift_of(now_us, mill.mill.shift_starts, zone)
    ball = _ball_of(mill, run)
    notes: list[str] = []
    found_ties = TiesNow((), {}, {}, ())
    to_tie: dict[int, Between | None] = {}
    if run is not None and track is not None:
        found_ties = ties or ties_now(events, track, run, now_us, zone)
        to_tie = {one.lane: to_next_tie(one, track, now_us) for one in state.lanes}
        notes += fewer_notes(found_ties.notes)
    elif run is not None:
        notes.append(
            say(
                "The mill file no longer has {ball} of {lot} as it was: no tie is followed.",
                ball=run.ball_name,
                lot=run.lot,
            )
        )
    tare_g = 0.0 if ball is None else ball.tare_mass_g or 0.0
    joins = _joins(state, found_ties)
    yarn_of = {lot.lot.casefold(): lot.yarn for one in mill.colour for lot in one.dye_lot}
    terms = AlarmTerms(
        zone, shift, None if ball is None else ball.knot_limit, tare_g,
        "" if ball is None else ball.yarn, yarn_of, to_tie, joins,
        {lane: one.ball for lane, one in found_ties.lanes.items()}, trouble,
    )  # fmt: skip
    alarms = open_alarms(state, events, terms, now_us)
    see = _Rows(state, run, ball, track, found_ties, to_tie, joins, tare_g, now_us)
    lanes = tuple(
        see.row(one.lane, one.number) for one in sorted(line.winder, key=lambda one: one.lane)
    )
    balls = sorted((ball for lane in state.lanes for ball in lane.last_balls), key=_by_time)
    mean_g = _mean_g(balls, tare_g)
    target_g = None if run is None else run.target_g
    packing = None if ball is None else ball.packing
    counting = (one for one in reversed(events) if AHEAD not in one.flags)
    last_us = next((one.at_us for one in counting if one.at_us <= now_us), None)
    found = LiveAnswer(
        mill=mill.mill.name, line=line.name, now_us=now_us, zone=zone, words=(), alarms=alarms,
        run=run, colour=_colour_of(mill, run), lanes=lanes, ties=found_ties.ties,
        last_balls=tuple(balls[-BALLS_SHOWN:]), mean_g=mean_g,
        off_target_g=None if mean_g is None or target_g is None else mean_g - target_g,
        doffed=sum(one.doffed for one in state.lanes),
        pulled=sum(one.pulled for one in state.lanes), open_case=len(state.open_case),
        case_balls=0 if packing is None else packing.balls_per_bag * packing.bags_per_case,
        shift=shift,
        hand=state.hand if state.hand_us is not None and state.hand_us >= shift.from_us else "",
        head_seq=head_seq, head_hash=head_hash, last_us=last_us,
        last_age_s=None if last_us is None else (now_us - last_us) / 1e6, notes=tuple(notes),
        state=state,
    )  # fmt: skip
    return replace(found, words=words_of(found))


def _by_time(ball: Weighed) -> tuple[int, int]:
    return (ball.at_us, ball.lane)


def _mean_g(balls: Sequence[Weighed], tare_g: float) -> float | None:
    good = [net_g(one, tare_g) for one in balls if one.plausible]
    return sum(good) / len(good) if good else None


def _ball_of(mill: Mill, run: Run | None) -> Ball | None:
    if run is None:
        return None
    try:
        return mill.find_ball(run.ball_name)
    except BadInput:
        return None


def _colour_of(mill: Mill, run: Run | None) -> str:
    if run is None:
        return ""
    try:
        return mill.find_dye_lot(run.lot)[0].name
    except BadInput:
        return ""


def _joins(state: LineState, ties: TiesNow) -> Mapping[int, int]:
    """Joins in the balls being wound: from the tracker, or those that hands told."""
    told = {one.lane: one.joins_told for one in state.lanes if one.ball is not None}
    return told | dict(ties.joins)


class _Rows:
    """The lanes' rows while they are made."""

    def __init__(
        self,
        state: LineState,
        run: Run | None,
        ball: Ball | None,
        track: Track | None,
        ties: TiesNow,
        to_tie: Mapping[int, Between | None],
        joins: Mapping[int, int],
        tare_g: float,
        now_us: int,
    ) -> None:
        self.state, self.run, self.ball, self.track, self.ties = state, run, ball, track, ties
        self.to_tie, self.joins, self.tare_g, self.now_us = to_tie, joins, tare_g, now_us

    def row(self, lane: int, winder: int) -> LaneNow:
        one = self.state.lane(lane)
        run, counter = self.run, self.counter(lane)
        counts_set = None if run is None else run.counts.get(str(winder))
        mean_g = _mean_g(one.last_balls, self.tare_g)
        target_g = None if run is None else run.target_g
        off_g = None if mean_g is None or target_g is None else mean_g - target_g
        kind, words = state_of(one, self.state, self.now_us)
        tracked = self.ties.lanes.get(lane)
        feeding = one.feeding
        fresh = kind in ("runs", "no feed")
        row = LaneNow(
            lane=lane, winder=winder, state=kind, state_words=words,
            cone="" if feeding is None else feeding.cone,
            cone_lot="" if feeding is None else feeding.lot, cones_left=len(one.reserve),
            next_cone=one.reserve[0].cone if one.reserve else "",
            to_tie_min=self.to_tie.get(lane) if one.fed_from_us is not None else None,
            ball=one.ball if tracked is None else tracked.ball,
            counts=one.counts, counts_set=counts_set, turns=_turns(counter, one.counts),
            turns_set=_turns(counter, counts_set),
            full_in_s=tracked.doff_s if tracked is not None and fresh else None,
            joins=self.joins.get(lane),
            joins_limit=0 if self.ball is None else self.ball.knot_limit,
            last_balls=one.last_balls, mean_g=mean_g, off_target_g=off_g, words="",
        )  # fmt: skip
        return replace(row, words=lane_words(row, one, _of_lane(self.ties.ties, lane)))

    def counter(self, lane: int) -> Counter | None:
        return None if self.track is None else self.track.counters.get(lane)


def _of_lane(ties: Sequence[TieNow], lane: int) -> tuple[TieNow, ...]:
    return tuple(one for one in ties if one.lane == lane)


def _turns(counter: Counter | None, counts: float | None) -> float | None:
    if counter is None or counts is None or counts < 0.0:
        return None
    return counter.turns_of_counts(counts)
