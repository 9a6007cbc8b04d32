"""What a lane calls for, and when at the earliest."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.jit import aside, inlined, part
from clew.line.simulate.loop.rows import note
from clew.line.simulate.loop.states import (
    AT_FEED,
    BROKEN,
    CALLED,
    COLOUR,
    COLOURING,
    DRY,
    LISTED,
    NEAR_M,
    NEVER,
    NEW,
    PART_FEED,
    WHOLE,
)
from clew.line.simulate.loop.strand import turn_feed
from clew.line.simulate.records import LaneRecord, LineRecord, NowRecord


@inlined
def all_rest_s(now: NowRecord, at_s: float) -> float:
    """Seconds of the shift so far in which every hand rested."""
    open_s = at_s - now.all_rest_since_s if now.all_rest_since_s < NEVER else 0.0
    return float(now.all_rest_s + open_s)


@part
def raise_call(lane: LaneRecord, now: NowRecord, slot: int, kind: int) -> None:
    """Raise a call, now."""
    lane.call_kind[slot] = kind
    lane.call_at_s[slot] = lane.at_s
    lane.call_rest_s[slot] = all_rest_s(now, lane.at_s)
    lane.call_taken[slot] = NEW


@part
def put_on_list(lane: LaneRecord, now: NowRecord, number: int) -> None:
    """Put a lane's new calls on the list of those that wait."""
    for slot in range(3):
        if lane.call_kind[slot] >= 0 and lane.call_taken[slot] == NEW:
            now.wait_lane[now.waiting], now.wait_slot[now.waiting] = number, slot
            now.waiting += 1
            lane.call_taken[slot] = LISTED


@inlined
def strike(now: NowRecord, one: int) -> None:
    """Take a call off the list."""
    now.waiting -= 1
    now.wait_lane[one] = now.wait_lane[now.waiting]
    now.wait_slot[one] = now.wait_slot[now.waiting]


@aside
def colour_due(
    line: LineRecord, lane: LaneRecord, now: NowRecord, rows: NDArray[np.void], number: int
) -> int:
    """Begin a change of colour that is due, unless the feed is broken or changing already."""
    if (
        lane.due >= line.colours
        or line.colour_at_s[lane.due] > lane.at_s
        or lane.feed in (BROKEN, COLOURING)
    ):
        return 0
    lane.due += 1
    turn_feed(lane, now, COLOURING)
    raise_call(lane, now, AT_FEED, COLOUR)
    note(line, lane, now, rows, number, PART_FEED, COLOURING)
    return 1


@part
def wind_s(line: LineRecord, need_m: float, level_m: float, steady: bool) -> float:
    """Give the least time to wind some strand from a level of the buffer [s].

    Exact while strand arrives without a gap; else as if all that lies and arrives could be taken,
    since a winder out of step with the rounds of a dry buffer may be ahead of them.
    """
    short_m = need_m - line.wind * level_m / max(line.wind - line.feed, 1e-300)
    at_once_s = need_m / line.wind
    if line.wind <= line.feed or short_m <= 2.0 * NEAR_M:
        return float(at_once_s)
    if not steady:
        return float(max(at_once_s, (need_m - level_m) / line.feed))
    round_m = line.wind * line.go_m / (line.wind - line.feed)
    rounds = float(math.floor(short_m / round_m))
    if short_m - rounds * round_m > 2.0 * NEAR_M:
        rounds += 1.0
    return float(at_once_s + rounds * line.go_m / line.feed)


@part
def wake(line: LineRecord, lane: LaneRecord) -> float:
    """Time before which the lane raises no call and loses no cone, if no hand comes: never late."""
    at_s = NEVER
    if lane.winder != CALLED:
        need_m = max(lane.target_m - lane.taken_m, 0.0)
        level_m, wait_s = lane.buffer_m, 0.0
        if lane.winder == DRY:
            level_m, wait_s = line.go_m, (line.go_m - lane.buffer_m) / line.feed
            if lane.arrives == 0 and lane.toggle_first == lane.toggle_next:
                wait_s = NEVER  # the belt is bare: nothing comes before a hand has been here
            elif lane.arrives == 0:
                toggle_s = lane.toggle_s[lane.toggle_first % lane.toggle_s.size]
                wait_s += toggle_s + line.passage_s - lane.clock_s
        steady = lane.belt == 1 and lane.arrives == 1 and lane.toggle_first == lane.toggle_next
        at_s = lane.at_s + wait_s + wind_s(line, need_m, level_m, steady)
    if lane.feed == WHOLE:
        lay_s = (lane.feed_target_m - lane.laid_m) / line.feed
        if lane.belt == 0:
            # A full belt goes on when the winder has made room, and not before it is served.
            if lane.winder == CALLED:
                lay_s = NEVER
            else:
                lay_s += max(lane.buffer_m - line.restart_m, 0.0) / line.wind
        at_s = min(at_s, lane.at_s + lay_s)
    if lane.due < line.colours and lane.feed not in (BROKEN, COLOURING):
        at_s = min(at_s, max(lane.at_s, line.colour_at_s[lane.due]))
    return at_s
