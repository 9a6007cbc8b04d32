"""A lane between visits of hands: fluids, moved in closed form to where a rate changes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.calls import raise_call
from clew.line.simulate.loop.dwell import check_spoilt, spoil
from clew.line.simulate.loop.jit import aside, part
from clew.line.simulate.loop.rows import note
from clew.line.simulate.loop.states import (
    AT_CREEL,
    AT_FEED,
    AT_WINDER,
    BROKEN,
    CALLED,
    CHANGE,
    CLOSE_M,
    CLOSE_S,
    DOFF,
    DRY,
    FEED,
    FULL,
    LOAD,
    MEND,
    MOST_EVENTS,
    NEAR_M,
    NEVER,
    PART_BELT,
    PART_FEED,
    PART_WINDER,
    ROW_DRY,
    ROW_WAITS,
    ROW_WINDING,
    STARVED,
    WHOLE,
    WHOLE_ROUNDS,
    WINDING,
    WITHOUT_END,
)
from clew.line.simulate.loop.strand import feed_target, mark_tie, next_cone, pass_marks, turn_feed
from clew.line.simulate.records import LaneRecord, LaneTally, LineRecord, NowRecord


@aside
def keep_level(
    lane: LaneRecord, tally: LaneTally, line: LineRecord, dt_s: float, rise: float
) -> None:
    """Keep the level of the buffer at the moments of the shift that the step passes."""
    while lane.sample < tally.level_m.size and lane.sample_at_s <= lane.at_s + dt_s:
        tally.level_m[lane.sample] = lane.buffer_m + rise * (lane.sample_at_s - lane.at_s)
        lane.sample += 1
        lane.sample_at_s = line.from_s + line.shift_s * lane.sample / (tally.level_m.size - 1)


@aside
def dry_rounds(
    line: LineRecord, lane: LaneRecord, tally: LaneTally, now: NowRecord, until_s: float
) -> None:
    """Just run dry, with strand arriving: take whole rounds of filling and winding in one step."""
    fill_s = line.go_m / line.feed
    wind_s = line.go_m / (line.wind - line.feed)
    round_s = fill_s + wind_s
    limit = (until_s - lane.at_s) / round_s
    limit = min(limit, (lane.target_m - lane.taken_m) / (line.wind * wind_s))
    if lane.feed == WHOLE:
        limit = min(limit, (lane.feed_target_m - lane.laid_m) / (line.feed * round_s))
    if lane.toggle_first < lane.toggle_next:
        to_s = lane.toggle_s[lane.toggle_first % lane.toggle_s.size] + line.passage_s - lane.clock_s
        limit = min(limit, to_s / round_s)
    if limit < WHOLE_ROUNDS:
        return
    rounds = math.floor(limit - 1e-6)
    took_s = rounds * round_s
    while lane.sample < tally.level_m.size and lane.sample_at_s <= lane.at_s + took_s:
        phase_s = (lane.sample_at_s - lane.at_s) % round_s
        level_m = line.feed * phase_s
        if phase_s > fill_s:
            level_m = line.go_m - (line.wind - line.feed) * (phase_s - fill_s)
        tally.level_m[lane.sample] = level_m
        lane.sample += 1
        lane.sample_at_s = line.from_s + line.shift_s * lane.sample / (tally.level_m.size - 1)
    lane.at_s += took_s
    lane.clock_s += took_s
    lane.taken_m += rounds * line.wind * wind_s
    if lane.feed == WHOLE:
        lane.laid_m += took_s * line.feed
    tally.winder_s[WINDING] += rounds * wind_s
    tally.winder_s[DRY] += rounds * fill_s
    tally.feed_s[lane.feed] += took_s
    tally.dries += rounds
    now.events += 1


@part
def advance(  # noqa: PLR0912, PLR0915 -- one step of a lane, whole
    line: LineRecord,
    lane: LaneRecord,
    tally: LaneTally,
    now: NowRecord,
    rows: NDArray[np.void],
    number: int,
    until_s: float,
) -> int:
    """Move a lane to a time, or to the first call it raises; give the number of calls raised."""
    while True:
        if lane.belt == 0 and lane.buffer_m <= line.restart_m:
            start_belt(line, lane, tally, now)
            note(line, lane, now, rows, number, PART_BELT, 1)
        belt, winding = lane.belt, lane.winder == WINDING
        laying = belt == 1 and lane.feed == WHOLE
        rise = line.feed if belt == 1 and lane.arrives == 1 else 0.0
        if winding:
            rise -= line.wind
        dt_s = until_s - lane.at_s
        what = 0
        if belt == 1:
            if lane.toggle_first < lane.toggle_next:
                toggle_s = lane.toggle_s[lane.toggle_first % lane.toggle_s.size]
                one_s = toggle_s + line.passage_s - lane.clock_s
                if one_s <= dt_s + CLOSE_S:
                    dt_s, what = one_s, 1
            if rise > 0.0:
                one_s = (line.buffer_m - lane.buffer_m) / rise
                if one_s <= dt_s + CLOSE_S:
                    dt_s, what = one_s, 2
                if lane.winder == DRY:
                    one_s = (line.go_m - lane.buffer_m) / rise
                    if one_s <= dt_s + CLOSE_S:
                        dt_s, what = one_s, 3
        elif winding:
            one_s = (lane.buffer_m - line.restart_m) / line.wind
            if one_s <= dt_s + CLOSE_S:
                dt_s, what = one_s, 4
        if winding:
            if rise < 0.0:
                one_s = -lane.buffer_m / rise
                if one_s <= dt_s + CLOSE_S:
                    dt_s, what = one_s, 5
            one_s = (lane.target_m - lane.taken_m) / line.wind
            # Old strand before a gap ends just where the tie is that came after it: the winder is
            # called there and does not run dry, whatever rounding says.
            if one_s <= dt_s + (NEAR_M / line.wind if what == 5 else CLOSE_S):
                dt_s, what = one_s, 6
        if laying:
            one_s = (lane.feed_target_m - lane.laid_m) / line.feed
            if one_s <= dt_s + CLOSE_S:
                dt_s, what = one_s, 7
        dt_s = max(dt_s, 0.0)

        if lane.sample_at_s <= lane.at_s + dt_s:
            keep_level(lane, tally, line, dt_s, rise)
        lane.at_s += dt_s
        lane.buffer_m += rise * dt_s
        tally.winder_s[lane.winder] += dt_s
        if winding:
            lane.taken_m += line.wind * dt_s
        if belt == 1:
            lane.clock_s += dt_s
            tally.feed_s[lane.feed] += dt_s
            if laying:
                lane.laid_m += line.feed * dt_s
        else:
            tally.feed_s[FULL] += dt_s
        now.events += 1

        if what == 0:
            lane.at_s = until_s  # calls of one moment are of one age, to the last digit
            return 0
        if now.events > MOST_EVENTS:
            now.fault = WITHOUT_END
            return 0
        if what == 1:
            lane.arrives = 1 - lane.arrives
            lane.toggle_first += 1
            note(line, lane, now, rows, number, PART_BELT, 2 + lane.arrives)
        elif what == 2:
            lane.buffer_m = line.buffer_m
            lane.belt = 0
            lane.stopped_at_s = lane.at_s
            tally.belt_stops += 1.0
            note(line, lane, now, rows, number, PART_BELT, 0)
        elif what == 3:
            lane.buffer_m = line.go_m
            lane.winder = WINDING
            note(line, lane, now, rows, number, PART_WINDER, ROW_WINDING)
        elif what == 4:
            lane.buffer_m = line.restart_m
        elif what == 5:
            lane.buffer_m = 0.0
            lane.winder = DRY
            tally.dries += 1.0
            note(line, lane, now, rows, number, PART_WINDER, ROW_DRY)
            if belt == 1 and lane.arrives == 1 and rows.size == 0:
                dry_rounds(line, lane, tally, now, until_s)
        elif what == 6:
            # A re-tie's waste may have reached beyond the change of colour.
            lane.taken_m = max(lane.taken_m, lane.target_m)
            lane.winder = CALLED
            if lane.ball_to_m <= lane.taken_m + CLOSE_M:
                ball_full(lane, tally, now)
                raise_call(lane, now, AT_WINDER, DOFF)
            elif lane.colour_at_m <= lane.taken_m + CLOSE_M:
                raise_call(lane, now, AT_WINDER, CHANGE)
            else:
                tally.wind_breaks += 1.0
                raise_call(lane, now, AT_WINDER, MEND)
            note(line, lane, now, rows, number, PART_WINDER, ROW_WAITS + lane.call_kind[AT_WINDER])
            return 1
        else:
            lane.laid_m = lane.feed_target_m
            raised = 0
            if lane.feed_break_at_m <= lane.laid_m:
                tally.feed_breaks += 1.0
                lane.feed_break_at_m = NEVER
                turn_feed(lane, now, BROKEN)
                raise_call(lane, now, AT_FEED, FEED)
                raised = 1
            if lane.cone_end_m <= lane.laid_m and lane.feed == WHOLE:
                raised += cone_end(line, lane, tally, now)
            feed_target(lane)
            note(line, lane, now, rows, number, PART_FEED, lane.feed)
            if raised > 0:
                return raised


@aside
def start_belt(line: LineRecord, lane: LaneRecord, tally: LaneTally, now: NowRecord) -> None:
    """The buffer has room: the belt goes on, and with it lay-down."""
    lane.belt = 1
    stood_s = lane.at_s - lane.stopped_at_s
    tally.longest_stop_s = max(tally.longest_stop_s, stood_s)
    spoil(line, lane, now, stood_s)


@aside
def cone_end(line: LineRecord, lane: LaneRecord, tally: LaneTally, now: NowRecord) -> int:
    """The cone is empty: its tail draws in the next one, or nothing."""
    if lane.reserve > 0:
        lane.reserve -= 1
        next_cone(line, lane, tally)
        mark_tie(lane, now, tally, False)
    else:
        lane.cone_end_m = NEVER
        turn_feed(lane, now, STARVED)
    if lane.call_kind[AT_CREEL] >= 0:
        return 0
    raise_call(lane, now, AT_CREEL, LOAD)
    return 1


@aside
def ball_full(lane: LaneRecord, tally: LaneTally, now: NowRecord) -> None:
    """Count a ball, the joins in it, and whether it is second-quality."""
    pass_marks(lane, True)
    tally.balls += 1.0
    if now.full_balls > 0:
        tally.balls_together += 1.0
    now.full_balls += 1
    tally.joins += lane.joins
    tally.ball_joins[min(lane.joins, tally.ball_joins.size - 1)] += 1.0
    check_spoilt(lane, tally)
    tally.second_balls += lane.spoilt
