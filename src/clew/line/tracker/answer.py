"""Where every tie is now, where it will land, and which balls to pull."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.tracker.colours import ColourChange, colour_changes
from clew.line.tracker.events import TIES, Event, in_order
from clew.line.tracker.follow import Followed, follow
from clew.line.tracker.landing import Landing, landing_of, normal_below, normal_quantile
from clew.line.tracker.lane import FedTie, Lane
from clew.line.tracker.place import station_at
from clew.line.tracker.terms import TrackDoubt, TrackTerms

STALE_BALLS = 2.0
"""Silent for the time in which so many balls are wound, a line is not known any longer: assumed."""
_BELT_SDS = 3.0
"""So many standard deviations before its belt time is up a tie is surely still on the belt."""


@dataclass(frozen=True, slots=True)
class Span:
    """A value with its interval.

    Attributes
    ----------
    middle, low, high : float
        The likeliest value and the ends of the interval [the value's own unit].
    """

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TieAnswer:
    """What is known of one tie.

    Attributes
    ----------
    lane, winder : int
        Lane, and the winder's number.
    event : Event
        The message about it.
    seen_s : float or None
        When a hand saw it at the winder [s].
    passed_chance : float
        How likely it is at the winder already, or past it [-].
    to_winder_m : Span
        Strand before it, in metres as the winder will wind them [m]; below 0 once past.
    to_winder_raw_m : Span
        The same as it was fed [m, raw].
    in_s : Span or None
        Time until it is at the winder, at the present pace [s], not sooner than a running belt
        brings it; None while the winder stands.
    station : str
        Where on the line it lies.
    landing : Landing
        Ball and turn; of a colour tie as sure as its change was asked for, all lanes together.
    off_s : float or None
        Time until the last ball to pull is full, at the present pace [s]; 0 or below where it is
        off already; None while the winder stands.
    """

    lane: int
    winder: int
    event: Event
    seen_s: float | None
    passed_chance: float
    to_winder_m: Span
    to_winder_raw_m: Span
    in_s: Span | None
    station: str
    landing: Landing
    off_s: float | None


@dataclass(frozen=True, slots=True)
class LaneAnswer:
    """A lane now.

    Attributes
    ----------
    lane, winder : int
        Lane, and the winder's number.
    ball : int
        Number of the ball on the winder.
    turns : float
        Turns it has now [-], as far as is known.
    content_m, content_sd_m : float
        Strand between creel and winder [m, raw].
    pace_m_per_s : float
        Present pace of the winder, its stops within [m/s].
    slip_frac, slip_sd_frac : float
        What was learned of feed slip less winding error [-].
    doff_s : float or None
        Time until the ball on the winder is full, at that pace [s].
    """

    lane: int
    winder: int
    ball: int
    turns: float
    content_m: float
    content_sd_m: float
    pace_m_per_s: float
    slip_frac: float
    slip_sd_frac: float
    doff_s: float | None


@dataclass(frozen=True, slots=True)
class WhereAnswer:
    """Where everything is.

    Attributes
    ----------
    now_s : float
        The moment [s].
    sure : float
        Of the intervals, and of the balls to pull [-].
    ties : tuple of TieAnswer
        By lane, then in the order in which they were fed.
    lanes : tuple of LaneAnswer
        By lane.
    changes : tuple of ColourChange
        Changes of colour in order of time.
    notes : tuple of str
        What had to be assumed, what was not used.
    told : int
        Ties that were told by then, those of lanes that could not be followed among them.
    last_s : float
        When the last message came [s].
    stale : bool
        Whether that is too long ago to say where anything is now, or to be sure of any ball.
    """

    now_s: float
    sure: float
    ties: tuple[TieAnswer, ...]
    lanes: tuple[LaneAnswer, ...]
    changes: tuple[ColourChange, ...]
    notes: tuple[str, ...]
    told: int
    last_s: float
    stale: bool


def where_answer(
    events: Iterable[Event],
    terms: TrackTerms,
    doubt: TrackDoubt,
    *,
    at_s: float | None = None,
    sure: float = 0.95,
) -> WhereAnswer:
    """Say where every tie is and will land.

    Parameters
    ----------
    events : iterable of Event
        What was reported, in any order, repeats and all.
    terms : TrackTerms
        The line.
    doubt : TrackDoubt
        How unsure the inputs are.
    at_s : float, optional
        The moment asked about [s]; the last event's where left out. Later events are not used.
    sure : float
        Of intervals, and least chance of the balls to pull [-], 0.5 to 0.9999.

    Returns
    -------
    WhereAnswer
        Ties, lanes, changes of colour.

    Raises
    ------
    BadInput
        Every fault of the events at once; no event; a sureness out of reach; a moment further
        after the last event than the belt takes.

    Notes
    -----
    After the last event the line may have wound, stood or wasted strand. Up to the time in which
    `STALE_BALLS` balls are wound, that is within the intervals. Later the answer is stale: the
    balls are those of the last event, and none is sure. Once all that lay on the belt can have
    come off it, nothing is said.
    """
    if not 0.5 <= sure <= 0.9999:
        raise BadInput(
            Fault(
                say("out of reach"), say("50 % to 99.99 %"), key="sure", value=f"{100.0 * sure:g} %"
            )
        )
    listed = tuple(events)
    ordered = in_order(listed) if at_s is None else in_order(listed, at_s)
    if not ordered:
        raise BadInput(
            Fault(say("nothing had happened by then"), say("an event before it"), key="events")
        )
    last_s = ordered[-1].at_s
    now_s = last_s if at_s is None else at_s
    if now_s - last_s > terms.passage_s:
        raise BadInput(
            Fault(
                _silence_words(now_s - last_s),
                say(
                    "at most {span:.1f} min after it, what the belt takes",
                    span=terms.passage_s / 60.0,
                ),
                key="at",
            )
        )
    found = follow(ordered, terms, doubt, now_s)
    changes = colour_changes(found, terms, sure)
    mixed = {(one.lane, one.event): one for change in changes for one in change.lanes}
    ties = []
    for _, lane in sorted(found.lanes.items()):
        for tie in lane.ties:
            answer = _tie(tie, lane, found, terms, sure)
            also = mixed.get((lane.number, tie.event))
            if also is not None:
                # one tie, one list of balls
                answer = replace(answer, landing=also.landing, off_s=also.off_s)
            ties.append(answer)
    slowest_s = max(terms.full_m(lane) for lane in terms.full_turns) / terms.wind_m_per_s
    return WhereAnswer(
        now_s=now_s,
        sure=sure,
        ties=tuple(ties),
        lanes=tuple(_lane(lane, found, terms) for _, lane in sorted(found.lanes.items())),
        changes=changes,
        notes=found.notes + _missing_ties(found, terms),
        told=sum(one.kind in TIES for one in ordered),
        last_s=last_s,
        stale=now_s - last_s > STALE_BALLS * slowest_s,
    )


def _silence_words(silent_s: float) -> str:
    return say(
        "the last message is {age:.0f} min old: what the line did since is not known",
        age=silent_s / 60.0,
    )


def silence_words(found: WhereAnswer) -> str:
    """Say that nothing was heard of a line for too long; empty where it is not so."""
    return f"{_silence_words(found.now_s - found.last_s)}." if found.stale else ""


def _tie(tie: FedTie, lane: Lane, found: Followed, terms: TrackTerms, sure: float) -> TieAnswer:
    now, now_sd = lane.winding.wound(found.now_s, terms)
    landing = landing_of(tie, lane, found.joint, terms, sure=sure)
    raw_sd = terms.raw_per_laid * now_sd
    mean, sd = found.joint.between(lane.number, tie.fed_m, now, (tie.sd_m**2 + raw_sd**2) ** 0.5)
    gone_s = lane.belt.reading_s(found.now_s) - lane.belt.reading_s(tie.event.at_s)
    left_s = terms.passage_s - gone_s
    # where the winder ran dry all before a tie is wound, and the tie is still on the belt
    on_belt = left_s > _BELT_SDS * found.joint.doubt.sensor_sd_m / terms.feed_m_per_s
    if tie.seen_s is not None:
        passed = 1.0
    elif on_belt:
        passed = 0.0
    elif sd == 0.0:
        passed = 1.0 if mean <= 0.0 else 0.0
    else:
        passed = normal_below(-mean / sd)
    pace = lane.winding.pace_m_per_s(terms)
    z = normal_quantile(0.5 + 0.5 * sure)
    raw = Span(mean, mean - z * sd, mean + z * sd)
    metres = Span(*(one / terms.raw_per_laid for one in (raw.middle, raw.low, raw.high)))
    last = next(one for one in landing.balls if one.ball == max(landing.pull))
    return TieAnswer(
        lane=lane.number,
        winder=terms.winder_of.get(lane.number, lane.number),
        event=tie.event,
        seen_s=tie.seen_s,
        passed_chance=passed,
        to_winder_m=metres,
        to_winder_raw_m=raw,
        in_s=None
        if pace <= 0.0
        else Span(
            *(
                max(one / pace, left_s) if left_s > 0.0 else one / pace
                for one in (metres.middle, metres.low, metres.high)
            )
        ),
        station="winder"
        if passed > 0.5
        else station_at(tie.event.at_s, found.now_s, lane.belt, terms),
        landing=landing,
        off_s=None if pace <= 0.0 else (last.to_m - now) / pace,
    )


def _lane(lane: Lane, found: Followed, terms: TrackTerms) -> LaneAnswer:
    now, now_sd = lane.winding.wound(found.now_s, terms)
    fed, fed_sd = lane.fed(found.now_s)
    raw_sd = terms.raw_per_laid * now_sd
    content, sd = found.joint.between(lane.number, fed, now, (fed_sd**2 + raw_sd**2) ** 0.5)
    slip, slip_sd = found.joint.slip(lane.number)
    pace = lane.winding.pace_m_per_s(terms)
    in_ball = lane.winding.in_ball_m + now - lane.winding.wound_m[-1]
    return LaneAnswer(
        lane=lane.number,
        winder=terms.winder_of.get(lane.number, lane.number),
        ball=lane.winding.ball,
        turns=terms.turns_of(in_ball),
        content_m=content,
        content_sd_m=sd,
        pace_m_per_s=pace,
        slip_frac=slip,
        slip_sd_frac=slip_sd,
        doff_s=None if pace <= 0.0 else (terms.full_m(lane.number) - in_ball) / pace,
    )


def _missing_ties(found: Followed, terms: TrackTerms) -> tuple[str, ...]:
    """Say where more was fed without a tie than a cone holds, and what cannot be in a lane."""
    notes = []
    most_m = terms.feed_m_per_s * terms.passage_s + terms.buffer_m
    for _, lane in sorted(found.lanes.items()):
        fed, _ = lane.fed(found.now_s)
        since = [tie.fed_m for tie in lane.ties if tie.event.kind != "retie"] or [0.0]
        if terms.cone_m > 0.0 and fed - since[-1] > 1.1 * terms.cone_m:
            notes.append(
                say(
                    "Lane {lane}: {fed:.0f} m fed since the last cone's end, more than the "
                    "{cone:.0f} m of a cone: a message may be missing.",
                    lane=lane.number,
                    fed=fed - since[-1],
                    cone=terms.cone_m,
                )
            )
        now, _ = lane.winding.wound(found.now_s, terms)
        content, sd = found.joint.between(lane.number, fed, now)
        if content + 3.0 * sd < 0.0 or content - 3.0 * sd > most_m > 0.0:
            notes.append(
                say(
                    "Lane {lane}: by the log it would hold {content:.0f} m, and can hold 0 "
                    "to {most:.0f} m: a message is missing, or a meter is wrong.",
                    lane=lane.number,
                    content=content,
                    most=most_m,
                )
            )
    return tuple(notes)
