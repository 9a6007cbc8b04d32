"""What a hand leaves behind when a call is served."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.calls import raise_call
from clew.line.simulate.loop.chance import to_break
from clew.line.simulate.loop.dwell import check_spoilt
from clew.line.simulate.loop.jit import inlined, part
from clew.line.simulate.loop.lane import cone_end
from clew.line.simulate.loop.rows import note
from clew.line.simulate.loop.states import (
    AT_CREEL,
    AT_WINDER,
    COLOUR,
    DOFF,
    FEED,
    FEED_BREAK,
    LOAD,
    MEND,
    PART_FEED,
    PART_WINDER,
    ROW_WINDING,
    STARVED,
    WHOLE,
    WIND_BREAK,
    WINDING,
)
from clew.line.simulate.loop.strand import (
    feed_target,
    mark_tie,
    next_cone,
    pass_marks,
    turn_feed,
    winder_target,
)
from clew.line.simulate.records import LaneRecord, LaneTally, LineRecord, NowRecord


@inlined
def new_ball(line: LineRecord, lane: LaneRecord) -> None:
    """Begin a ball."""
    lane.ball_from_m = lane.checked_m = lane.taken_m
    lane.spoilt = 0
    lane.ball_to_m = lane.taken_m + line.ball_m
    lane.before_m = 0.0
    lane.joins = 0


@part
def leave_served(
    line: LineRecord,
    lane: LaneRecord,
    tally: LaneTally,
    now: NowRecord,
    rows: NDArray[np.void],
    number: int,
    slot: int,
) -> None:
    """The hand is done: what he leaves behind."""
    kind = lane.call_kind[slot]
    lane.call_kind[slot] = -1
    if slot == AT_WINDER:
        if kind == DOFF:
            now.full_balls -= 1
            new_ball(line, lane)
        elif kind == MEND:
            check_spoilt(lane, tally)
            waste_m = min(line.mend_waste_m, lane.buffer_m)
            lane.buffer_m -= waste_m
            lane.taken_m += waste_m
            lane.checked_m = lane.taken_m
            lane.ball_to_m += waste_m
            tally.waste_m += waste_m
            lane.joins += 1
            lane.break_at_m = lane.taken_m + to_break(lane, WIND_BREAK, line.wind_break_m)
        else:
            part_m = line.ball_m - (lane.ball_to_m - lane.taken_m)
            if part_m > 1e-9 * line.ball_m:
                tally.part_balls += 1.0
            # What was wound before the shift stands in none of its books.
            tally.waste_m += part_m - lane.before_m
            check_spoilt(lane, tally)
            pass_marks(lane, False)
            new_ball(line, lane)
        lane.winder = WINDING
        winder_target(lane)
        note(line, lane, now, rows, number, PART_WINDER, ROW_WINDING)
        return
    if kind == FEED:
        mark_tie(lane, now, tally, False)
        lane.feed_break_at_m = lane.laid_m + to_break(lane, FEED_BREAK, line.feed_break_m)
        turn_feed(lane, now, WHOLE)
        if lane.cone_end_m <= lane.laid_m:
            cone_end(line, lane, tally, now)
    elif kind == COLOUR:
        lane.reserve = 0  # the others of the new colour are loaded as any cone is
        next_cone(line, lane, tally)
        mark_tie(lane, now, tally, True)
        turn_feed(lane, now, WHOLE)
    elif lane.feed == STARVED:
        next_cone(line, lane, tally)
        mark_tie(lane, now, tally, False)
        turn_feed(lane, now, WHOLE)
    else:
        lane.reserve = min(lane.reserve + 1, line.reserve)
    short = lane.reserve < line.reserve and lane.call_kind[AT_CREEL] < 0
    if short and (slot == AT_CREEL or kind == COLOUR):
        raise_call(lane, now, AT_CREEL, LOAD)
    feed_target(lane)
    note(line, lane, now, rows, number, PART_FEED, lane.feed)
