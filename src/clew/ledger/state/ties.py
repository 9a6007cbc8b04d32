"""From records to where each tie is: the tie tracker's events, terms and answer."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from clew.ball.counter import Counter
from clew.faults import BadInput
from clew.languages import first_upper, say
from clew.ledger.events.moments import local_of, show_local
from clew.ledger.state.answer import Between, TieNow
from clew.ledger.state.creel_state import fed_s
from clew.ledger.state.effective import AHEAD
from clew.ledger.state.known import Effective, LaneState, Run
from clew.ledger.state.tracked import tracker_events
from clew.line.tracker.answer import LaneAnswer, TieAnswer, WhereAnswer, silence_words, where_answer
from clew.line.tracker.from_mill import FEED_CV, track_terms
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.line.tracker.where_words import recent, tie_words
from clew.mill.lines import Line
from clew.mill.model import Mill

WINDOW_S = 5400.0
"""Only so much of a run's past is looked at [s]: several times what the strand takes to pass."""
FULL_CONE_CV = 0.05
"""How far what a hand says of a loaded cone's mass is off: assumed."""


@dataclass(frozen=True, slots=True)
class Track:
    """What the tracker must know of a run.

    Attributes
    ----------
    terms : TrackTerms
        The line, its winders set as the run has them.
    doubt : TrackDoubt
        How unsure that is.
    counters : mapping of int to Counter
        Each lane's counter.
    count_tex : float
        Count of the strand as spun [tex].
    cone_mass_g, cone_cv : float
        Yarn on a full cone [g], and its spread [-].
    count_cv : float
        How far a cone's count stands from its lot's [-].
    """

    terms: TrackTerms
    doubt: TrackDoubt
    counters: Mapping[int, Counter]
    count_tex: float
    cone_mass_g: float
    cone_cv: float
    count_cv: float


@dataclass(frozen=True, slots=True)
class TiesNow:
    """Where all ties are.

    Attributes
    ----------
    ties : tuple of TieNow
        Those that still matter, by lane.
    joins : mapping of int to int
        Joins in the ball being wound, by lane; lanes of which nothing is known are left out.
    lanes : mapping of int to LaneAnswer
        What the tracker knows of each lane.
    notes : tuple of str
        What had to be assumed.
    """

    ties: tuple[TieNow, ...]
    joins: Mapping[int, int]
    lanes: Mapping[int, LaneAnswer]
    notes: tuple[str, ...]


def track_of(mill: Mill, line: Line, run: Run) -> Track:
    """Read off a mill what the tracker must know of a run.

    Parameters
    ----------
    mill : Mill
        The mill.
    line : Line
        The line.
    run : Run
        The run in progress.

    Raises
    ------
    BadInput
        When the mill file no longer has its ball or lot, or its turns wind another ball.
    """
    ball = mill.find_ball(run.ball_name)
    yarn = mill.find_yarn(ball.yarn)
    _, dye_lot = mill.find_dye_lot(run.lot)
    terms, doubt, counters = track_terms(mill, line.name, run.ball_name, run.lot, run.turns)
    full = {
        lane: counters[lane].turns_of_counts(run.counts[str(winder)])
        for lane, winder in terms.winder_of.items()
        if run.counts.get(str(winder), 0.0) > 0.0
    }
    terms = replace(
        terms, full_turns={**terms.full_turns, **full},
        feed_m_per_s=run.feed_m_per_s or terms.feed_m_per_s,
    )  # fmt: skip
    return Track(
        terms, doubt, counters, dye_lot.count_measured_tex or yarn.count_spun_tex,
        yarn.cone_mass_g, yarn.cone_mass_cv, yarn.count_cone_cv,
    )  # fmt: skip


def ties_now(
    events: Sequence[Effective], track: Track, run: Run, now_us: int, zone: str
) -> TiesNow:
    """Say where every tie of a run is now.

    Parameters
    ----------
    events : sequence of Effective
        What counts, in order of time.
    track : Track
        From `track_of`.
    run : Run
        The run.
    now_us : int
        The moment [us].
    zone : str
        The mill's time zone, for words.

    Returns
    -------
    TiesNow
        Nothing but a note where the tracker cannot say.
    """
    from_us = max(run.started_us, now_us - round(WINDOW_S * 1e6))
    base_us = _clock_base_us(from_us, now_us, zone)
    told = tracker_events(events, track.counters, from_us, now_us, base_us=base_us)
    if not told:
        return TiesNow(
            (), {}, {}, (say("Nothing was told of the strand yet: no tie is followed."),)
        )
    try:
        where = where_answer(
            told, track.terms, track.doubt, at_s=(max(now_us, from_us) - base_us) / 1e6
        )
    except BadInput as bad:
        first = bad.faults[0]
        return TiesNow((), {}, {}, (say("Ties are not followed: {why}.", why=first.what),))
    notes = tuple(one for one in (silence_words(where), *where.notes) if one)
    lanes = {one.lane: one for one in where.lanes}
    return TiesNow(
        tuple(_tie_now(one, where, base_us, zone) for one in recent(where)),
        {
            lane: _joins(where, one) + _reties(events, lane, now_us)
            for lane, one in lanes.items()
            if not where.stale
        },
        {} if where.stale else lanes,
        tuple(first_upper(note) for note in notes),
    )


def _clock_base_us(from_us: int, now_us: int, zone: str) -> int:
    """Midnight before a time by the mill's clock [us]: the tracker's notes show times of day.

    On the night the clock is changed it is the clock as it is now.
    """
    ahead_us = (local_of(now_us, zone).utcoffset() or timedelta()) // timedelta(microseconds=1)
    return from_us - (from_us + ahead_us) % 86_400_000_000


def _tie_now(one: TieAnswer, where: WhereAnswer, base_us: int, zone: str) -> TieNow:
    def clock(at_s: float) -> str:
        return show_local(base_us + round(at_s * 1e6), zone)[11:]

    span = one.in_s
    past = one.seen_s is not None or one.passed_chance > 0.5
    best = one.landing.best
    return TieNow(
        lane=one.lane, winder=one.winder, kind=one.event.kind,
        at_us=base_us + round(one.event.at_s * 1e6), name=one.event.name, station=one.station,
        to_winder_s=None if span is None or past or where.stale
        else Between(span.middle, span.low, span.high),
        ball=best.ball, ball_frac=best.chance, pull=one.landing.pull,
        words=tie_words(one, clock, stale=where.stale),
    )  # fmt: skip


def _joins(where: WhereAnswer, lane: LaneAnswer) -> int:
    """Ties that are past the winder and likeliest lie in the ball on it."""
    return sum(
        one.lane == lane.lane and one.landing.best.ball == lane.ball and one.passed_chance > 0.5
        for one in where.ties
    )


def _reties(events: Sequence[Effective], lane: int, now_us: int) -> int:
    """Re-ties at the winder since the last ball was taken off."""
    count = 0
    for one in reversed(events):
        if one.lane == lane and one.at_us <= now_us and AHEAD not in one.flags:
            if one.kind == "doff":
                break
            count += one.kind == "retie" and one.body.get("parted_at") == "winder"
    return count


def to_next_tie(lane: LaneState, track: Track, now_us: int) -> Between | None:
    """Time until the cone that feeds is empty [min].

    Parameters
    ----------
    lane : LaneState
        The lane.
    track : Track
        From `track_of`.
    now_us : int
        The moment [us].

    Returns
    -------
    Between or None
        With its 95 % interval, not below 0 [min]; None where no cone was told to feed.

    Notes
    -----
    A cone holds L = 1000 m/T metres before steam, m its mass in g, T the count in tex; what has
    been fed is read off the feed's counter where it was read at the tie and since, and is feed
    speed times the time the feed ran otherwise. Variances of cone mass (or of a hand's word of
    it), count and feed add up as shares of L and of what was fed. Source: DERIVED.
    """
    if lane.feeding is None or lane.last_tie_us is None:
        return None
    speed = track.terms.feed_m_per_s
    told_g = lane.feeding.mass_g
    mass_g = told_g or track.cone_mass_g
    length_m = 1000.0 * mass_g / track.count_tex
    ran_s = fed_s(lane, now_us)
    fed_m = speed * ran_s
    if lane.metres is not None and lane.tie_metres is not None and lane.metres_at_us is not None:
        read_m = lane.metres - lane.tie_metres
        since_s = min(max((now_us - lane.metres_at_us) / 1e6, 0.0), ran_s)
        if read_m >= 0.0 and lane.fed_from_us is not None:
            fed_m = read_m + speed * since_s
    cone_cv = FULL_CONE_CV if told_g else track.cone_cv
    sd_m = math.hypot(length_m * math.hypot(cone_cv, track.count_cv), fed_m * FEED_CV)
    left = [length_m - fed_m + z * sd_m for z in (0.0, -1.96, 1.96)]
    middle, low, high = (max(one, 0.0) / speed / 60.0 for one in left)
    return Between(middle, low, high)
