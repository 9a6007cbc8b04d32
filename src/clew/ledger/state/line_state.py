"""Folding events, in order of time, into what is known of a line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from clew.ledger.events.message import Record
from clew.ledger.events.moments import read_moment
from clew.ledger.state.creel_state import cone_loaded, cone_off, feed_goes, tied
from clew.ledger.state.effective import AHEAD, Corrected, effective_events
from clew.ledger.state.fed_wrong import MOST, FedWrong
from clew.ledger.state.known import (
    LAST_BALLS,
    LAST_NOTES,
    MOST_IN_CASE,
    Banded,
    Effective,
    Handover,
    LaneState,
    LineState,
    LookedOver,
    Run,
    Weighed,
)

Step = Callable[[LineState, Effective], LineState]
LaneStep = Callable[[LaneState, Effective], LaneState]


def line_state(records: Iterable[Record], line: str, *, zone: str = "") -> LineState:
    """Fold a line's records into what is known of it.

    Parameters
    ----------
    records : iterable of Record
        Of that line, in any order, repeats allowed.
    line : str
        Its name.
    zone : str
        The mill's time zone, for moments in corrections that have no offset.

    Returns
    -------
    LineState
        The same for any order of arrival. A record whose clock ran far ahead of ours is left out
        until its moment is corrected: its time says nothing.
    """
    corrected = effective_events(records, zone=zone)
    return folded(corrected, line)


def folded(corrected: Corrected, line: str) -> LineState:
    """Fold events that have their corrections in."""
    state = LineState(line, troubles=corrected.troubles)
    for event in corrected.events:
        state = step(state, event)
    return state


def step(state: LineState, event: Effective) -> LineState:
    """Let one event happen after all before it.

    Parameters
    ----------
    state : LineState
        What is known before.
    event : Effective
        What happens.

    Returns
    -------
    LineState
        What is known after; the same where the event's clock ran ahead.
    """
    if AHEAD in event.flags:
        return state
    on_line, on_lane = _ON_LINE.get(event.kind), _ON_LANE.get(event.kind)
    lanes = None
    if on_line is not None:
        state = on_line(state, event)
    elif on_lane is not None and event.lane > 0:
        before = _lane_of(state, event.at_us, event.lane)
        lanes = _lanes_with(state, _with_wrong(state, before, on_lane(before, event), event))
    return replace(
        state, last_us=event.at_us, events=state.events + 1,
        lanes=state.lanes if lanes is None else lanes,
    )  # fmt: skip


def _with_wrong(
    state: LineState, before: LaneState, after: LaneState, event: Effective
) -> LaneState:
    """Keep a cone of a wrong lot in sight that fed and feeds no more: its yarn is in balls."""
    cone, since_us = before.feeding, before.last_tie_us
    still = after.feeding is not None and cone is not None and after.feeding.cone == cone.cone
    if state.run is None or cone is None or since_us is None or still:
        return after
    right, begun_us = before.lot or state.run.lot, state.run.started_us
    if not cone.lot or cone.lot.casefold() == right.casefold():
        return after
    if event.kind == "colour" and since_us < begun_us:
        return after  # the last run's cone, and here is the change of colour that ends it
    fed = FedWrong(cone.cone, cone.lot, right, max(since_us, begun_us), event.at_us)
    return replace(after, fed_wrong=(*after.fed_wrong, fed)[-MOST:])


def _lanes_with(state: LineState, lane: LaneState) -> tuple[LaneState, ...]:
    lanes = state.lanes
    for place, one in enumerate(lanes):
        if one.lane == lane.lane:
            return (*lanes[:place], lane, *lanes[place + 1 :])
    return tuple(sorted((*lanes, lane), key=lambda one: one.lane))


def _with_lane(state: LineState, lane: LaneState) -> LineState:
    return replace(state, lanes=_lanes_with(state, lane))


def _lane_of(state: LineState, at_us: int, number: int) -> LaneState:
    for one in state.lanes:
        if one.lane == number:
            return one
    return LaneState(number, fed_from_us=at_us if _goes(state) else None)


def _goes(state: LineState) -> bool:
    """Whether strand is fed on the line as a whole: what stands on a creel between runs waits."""
    return state.run is not None and state.belt_on and state.stopped_us is None


def _feeds(state: LineState, at_us: int) -> LineState:
    """Let each lane's feed go on or stand, after something on the line changed."""
    goes = _goes(state)
    lanes = tuple(
        feed_goes(lane, at_us, goes=goes and lane.feed_on and lane.stopped_us is None)
        for lane in state.lanes
    )
    return replace(state, lanes=lanes)


# ---------------------------------------------------------------- the whole line


def _run_start(state: LineState, event: Effective) -> LineState:
    body = event.body
    before = state.run
    if before is not None:  # a run that nobody ended ends where the next one begins
        before = replace(before, ended_us=event.at_us, end_why="the next run was started")
    run = Run(
        run=event.run, ball_name=body["ball_name"], lot=event.lot, started_us=event.at_us,
        started_by=event.author, turns=body.get("turns"), counts=dict(body.get("counts") or {}),
        target_g=body.get("target_g"), call_low_g=body.get("call_low_g"),
        call_high_g=body.get("call_high_g"), card=body.get("card", ""),
        trial=bool(body.get("trial", False)), order=body.get("order", ""),
    )  # fmt: skip
    lanes = tuple(
        replace(lane, lot="", ties=0, doffed=0, pulled=0, last_balls=(), fed_wrong=())
        for lane in state.lanes
    )
    state = replace(state, run=run, last_run=before or state.last_run, lanes=lanes)
    return _feeds(state, event.at_us)


_SETTINGS = (
    "turns", "target_g", "call_low_g", "call_high_g", "feed_m_per_s", "belt_m_per_s", "steam_c",
    "dryer_c",
)  # fmt: skip


def _run_set(state: LineState, event: Effective) -> LineState:
    run = state.run
    if run is None or run.run != event.run:
        return state
    new: dict[str, Any] = {name: event.body[name] for name in _SETTINGS if name in event.body}
    counts: Mapping[str, float] = {**run.counts, **event.body.get("counts", {})}
    run = replace(run, counts=counts, changes=run.changes + 1, changed_us=event.at_us, **new)
    return replace(state, run=run)


def _run_end(state: LineState, event: Effective) -> LineState:
    run = state.run
    if run is None or run.run != event.run:
        return state
    ended = replace(run, ended_us=event.at_us, end_why=event.body.get("why", ""))
    return _feeds(replace(state, run=None, last_run=ended), event.at_us)


def _stop(state: LineState, event: Effective) -> LineState:
    if event.lane == 0:
        stopped = state.stopped_us if state.stopped_us is not None else event.at_us
        state = replace(state, stopped_us=stopped, stop_why=event.body["why"])
    else:
        lane = _lane_of(state, event.at_us, event.lane)
        since = lane.stopped_us if lane.stopped_us is not None else event.at_us
        lane = replace(lane, stopped_us=since, stop_why=event.body["why"])
        state = _with_lane(state, lane)
    return _feeds(state, event.at_us)


def _go_on(state: LineState, event: Effective) -> LineState:
    if event.lane == 0:
        state = replace(state, stopped_us=None, stop_why="")
    else:
        lane = _lane_of(state, event.at_us, event.lane)
        state = _with_lane(state, replace(lane, stopped_us=None, stop_why=""))
    return _feeds(state, event.at_us)


def _belt(state: LineState, event: Effective) -> LineState:
    on = event.kind == "belt on"
    return _feeds(replace(state, belt_on=on, belt_changed_us=event.at_us), event.at_us)


def _feed_switch(state: LineState, event: Effective) -> LineState:
    lane = _lane_of(state, event.at_us, event.lane)
    lane = replace(lane, feed_on=event.kind == "feed on", feed_changed_us=event.at_us)
    return _feeds(_with_lane(state, lane), event.at_us)


def _check(state: LineState, event: Effective) -> LineState:
    body = event.body
    look = LookedOver(
        event.at_us, body["what"], event.author, tuple(body.get("done", ())),
        tuple(body.get("not_done", ())),
    )  # fmt: skip
    return replace(state, checks=(*state.checks, look)[-LAST_NOTES:])


def _handover(state: LineState, event: Effective) -> LineState:
    note = Handover(event.at_us, event.author, event.body.get("to", ""), event.body["note"])
    return replace(state, handovers=(*state.handovers, note)[-LAST_NOTES:])


def _at_the_tablet(state: LineState, event: Effective) -> LineState:
    return replace(state, hand=event.body["hand"], hand_us=event.at_us)


def _cone_loaded(state: LineState, event: Effective) -> LineState:
    for other in state.lanes:  # a cone stands in one lane only: where it was told last
        if other.lane != event.lane and any(
            one.cone == event.cone
            for one in (*other.reserve, *((other.feeding,) if other.feeding else ()))
        ):
            state = _with_lane(state, cone_off(other, event))
    return _with_lane(state, cone_loaded(_lane_of(state, event.at_us, event.lane), event))


def _banded(state: LineState, event: Effective) -> LineState:
    trial = state.run is not None and state.run.trial
    ball = Banded(
        event.at_us, event.lane, event.ball, event.lot, event.token, event.body.get("code", ""),
        trial,
    )  # fmt: skip
    return replace(state, open_case=(*state.open_case, ball)[-MOST_IN_CASE:])


def _case_closed(state: LineState, event: Effective) -> LineState:
    upto = event.body.get("upto")
    upto_us = event.at_us
    if isinstance(upto, str):
        from clew.faults import BadInput

        try:
            upto_us = read_moment(upto).at_us
        except BadInput:  # a text that is no moment with its offset: the message's own stands
            upto_us = event.at_us
    left = tuple(ball for ball in state.open_case if ball.at_us > upto_us)
    return replace(state, open_case=left, last_case=event.package)


# ---------------------------------------------------------------- one lane


def _turns(lane: LaneState, event: Effective) -> LaneState:
    ball = lane.ball if event.ball is None else event.ball
    joins = lane.joins_told if ball == lane.ball else 0
    return replace(
        lane, counts=event.body["counts"], heard_us=event.at_us,
        ball=ball, joins_told=joins,
    )  # fmt: skip


def _doff(lane: LaneState, event: Effective) -> LaneState:
    off = lane.ball if event.ball is None else event.ball
    return replace(
        lane, ball=None if off is None else off + 1, counts=0.0,
        heard_us=event.at_us, last_doff_us=event.at_us, doffed=lane.doffed + 1, joins_told=0,
    )  # fmt: skip


def _heard(lane: LaneState, event: Effective) -> LaneState:
    ball = lane.ball if event.ball is None else event.ball
    return replace(lane, heard_us=event.at_us, ball=ball)


def _seen(lane: LaneState, event: Effective) -> LaneState:
    # a tie seen in a ball that is off already is not in the one on the winder
    here = event.ball is None or lane.ball is None or event.ball == lane.ball
    return replace(lane, joins_told=lane.joins_told + 1) if here else lane


def _retie(lane: LaneState, event: Effective) -> LaneState:
    return _seen(lane, event) if event.body.get("parted_at") == "winder" else lane


def _feed(lane: LaneState, event: Effective) -> LaneState:
    return replace(lane, metres=event.body["metres"], metres_at_us=event.at_us)


def _colour(lane: LaneState, event: Effective) -> LaneState:
    return replace(tied(lane, event), lot=event.lot)


def _pulled(lane: LaneState, _event: Effective) -> LaneState:
    return replace(lane, pulled=lane.pulled + 1, fed_wrong=())


def _waste(lane: LaneState, _event: Effective) -> LaneState:
    return replace(lane, fed_wrong=())  # what came of a wrong cone was let go past the balls


def _weighing(lane: LaneState, event: Effective) -> LaneState:
    body = event.body
    ball = Weighed(
        event.at_us, event.lane, event.ball, body["mass_g"], bool(body.get("gross", False)),
        event.token, event.author, not any("out of range" in flag for flag in event.flags),
    )  # fmt: skip
    return replace(lane, last_balls=(*lane.last_balls, ball)[-LAST_BALLS:])


_ON_LINE: Mapping[str, Step] = {
    "run start": _run_start, "run set": _run_set, "run end": _run_end, "stop": _stop,
    "go on": _go_on, "belt on": _belt, "belt off": _belt, "feed on": _feed_switch,
    "feed off": _feed_switch, "check": _check, "handover": _handover,
    "at the tablet": _at_the_tablet, "cone loaded": _cone_loaded, "banded": _banded,
    "case closed": _case_closed,
}  # fmt: skip
_ON_LANE: Mapping[str, LaneStep] = {
    "turns": _turns, "doff": _doff, "dry": _heard, "full": _heard, "seen": _seen,
    "retie": _retie, "feed": _feed, "tie": tied, "colour": _colour, "cone off": cone_off,
    "pulled": _pulled, "waste": _waste, "weighing": _weighing,
}  # fmt: skip
"""Kinds that change nothing here (a length check, rework, a note) are in neither."""
