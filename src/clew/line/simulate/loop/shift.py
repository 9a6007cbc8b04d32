"""One shift from its first moment to its last, and many of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.calls import colour_due, put_on_list, strike, wake
from clew.line.simulate.loop.chance import draw, stream, to_break
from clew.line.simulate.loop.hands import (
    book,
    choose,
    go_to_rest,
    next_due,
    send,
    send_idle,
    stand_idle,
)
from clew.line.simulate.loop.jit import aside, part
from clew.line.simulate.loop.lane import advance
from clew.line.simulate.loop.rows import note, note_hand
from clew.line.simulate.loop.served import leave_served
from clew.line.simulate.loop.states import (
    AT_WINDER,
    FEED_BREAK,
    IDLE,
    LATE,
    LATE_S,
    NEVER,
    NEW,
    PART_BELT,
    PART_WINDER,
    RESTING,
    ROW_IDLE,
    ROW_WINDING,
    SOUND,
    START,
    TAKEN,
    WHOLE,
    WIND_BREAK,
    WINDER_END,
    WINDING,
)
from clew.line.simulate.loop.strand import feed_target, laid_before, next_cone, winder_target
from clew.line.simulate.records import HandRecord, LaneRecord, LaneTally, LineRecord, NowRecord


@aside
def begin(
    line: LineRecord,
    lanes: NDArray[np.void],
    hands: NDArray[np.void],
    now: NowRecord,
    tallies: NDArray[np.void],
    rows: NDArray[np.void],
    seed: int,
    replication: int,
) -> None:
    """Stand at the very beginning: belt laden, winders somewhere in a ball."""
    now.waiting = now.full_balls = now.resting = now.fault = now.events = now.rows = now.idle = 0
    now.all_rest_since_s, now.all_rest_s = NEVER, 0.0
    for number in range(line.lanes):
        lane, tally = lanes[number], tallies[number]
        for purpose in range(lane.key.size):
            lane.key[purpose] = stream(seed, replication, number, purpose)
            lane.drawn[purpose] = 0
        lane.at_s = lane.clock_s = lane.laid_m = lane.taken_m = 0.0
        lane.buffer_m = line.start_m
        lane.initial_m = line.passage_s * line.feed + line.start_m
        lane.feed, lane.belt, lane.arrives, lane.winder = WHOLE, 1, 1, WINDING
        lane.reserve = line.reserve
        lane.ball_from_m = -line.ball_m * draw(lane, START)
        lane.ball_to_m = lane.ball_from_m + line.ball_m
        lane.checked_m = 0.0
        lane.spoilt = 0
        lane.break_at_m = to_break(lane, WIND_BREAK, line.wind_break_m)
        lane.colour_at_m = NEVER
        winder_target(lane)
        next_cone(line, lane, tally)
        lane.cone_end_m *= draw(lane, START)
        lane.feed_break_at_m = to_break(lane, FEED_BREAK, line.feed_break_m)
        feed_target(lane)
        lane.joins = lane.due = lane.sample = 0
        lane.stopped_at_s, lane.sample_at_s = 0.0, line.from_s
        lane.toggle_first = lane.toggle_next = lane.mark_first = lane.mark_next = 0
        lane.stop_next = lane.spoilt_first = lane.spoilt_next = 0
        lane.stop_first[:] = 0
        lane.stop_sum_s[:] = 0.0
        lane.call_kind[:] = -1
        lane.call_taken[:] = NEW
        open_books(line, lane, tally)
        now.wake_s[number] = wake(line, lane)
        note(line, lane, now, rows, number, PART_WINDER, ROW_WINDING)
    for who in range(line.hands):
        hand = hands[who]
        hand.lane, hand.end = who * line.lanes // line.hands, WINDER_END
        hand.next_break = 0
        next_due(line, hand, who)
        stand_idle(hand, now, who)
        note_hand(now, rows, who, ROW_IDLE, 0.0, hand.lane, hand.end)


@aside
def open_books(line: LineRecord, lane: LaneRecord, tally: LaneTally) -> None:
    """Begin to count: what a winder waits, and what hands do, is booked from here on only."""
    steamed_s = lane.clock_s - line.window_from_s[0] - line.window_s[0]
    belt_m = lane.laid_m - laid_before(line, lane, lane.clock_s - line.passage_s)
    tally.initial_raw_m = lane.laid_m - laid_before(line, lane, steamed_s)
    tally.initial_m = belt_m + lane.buffer_m
    lane.laid_from_m, lane.taken_from_m = lane.laid_m, lane.taken_m
    lane.before_m = line.ball_m - (lane.ball_to_m - lane.taken_m)
    tally.balls = tally.second_balls = tally.balls_together = tally.part_balls = 0.0
    tally.waste_m = tally.spoilt_m = 0.0
    tally.winder_s[:] = 0.0
    tally.feed_s[:] = 0.0
    tally.belt_stops = tally.longest_stop_s = tally.dries = tally.cones = tally.ties = 0.0
    tally.feed_breaks = tally.wind_breaks = tally.joins = 0.0
    tally.ball_joins[:] = 0.0
    tally.doff_waits[:] = 0.0
    tally.doff_wait_s = tally.longest_wait_s = 0.0


@aside
def finish(line: LineRecord, lane: LaneRecord, tally: LaneTally, now: NowRecord) -> None:
    """Close the books of a lane at the shift's end."""
    if lane.call_kind[AT_WINDER] >= 0 and lane.call_taken[AT_WINDER] != TAKEN:
        end_s = line.end_s
        book(line, lane, tally, now, lane.call_kind[AT_WINDER], end_s, end_s, end_s)
    if lane.belt == 0:
        stood_s = line.end_s - lane.stopped_at_s
        tally.longest_stop_s = max(tally.longest_stop_s, stood_s)
    tally.laid_m = lane.laid_m - lane.laid_from_m
    tally.taken_m = lane.taken_m - lane.taken_from_m
    tally.buffer_m = lane.buffer_m
    steamed_s = lane.clock_s - line.window_from_s[0] - line.window_s[0]
    tally.raw_m = lane.laid_m - laid_before(line, lane, steamed_s)
    out_s = lane.clock_s - line.passage_s
    tally.belt_m = lane.laid_m - laid_before(line, lane, out_s)
    while lane.sample < tally.level_m.size:
        tally.level_m[lane.sample] = lane.buffer_m
        lane.sample += 1


@part
def wake_hand(line: LineRecord, hand: HandRecord, now: NowRecord, at_s: float) -> int:
    """End what a hand did; give the lane he served, or -1 when he stood idle or rested."""
    if hand.doing == IDLE:
        now.idle -= 1
        return -1
    if hand.doing == RESTING:
        if now.resting == line.hands:
            now.all_rest_s += at_s - now.all_rest_since_s
            now.all_rest_since_s = NEVER
        now.resting -= 1
        return -1
    return int(hand.for_lane)


@part
def free_hand(
    line: LineRecord,
    lanes: NDArray[np.void],
    hands: NDArray[np.void],
    now: NowRecord,
    tallies: NDArray[np.void],
    hand_tallies: NDArray[np.void],
    rows: NDArray[np.void],
    who: int,
    at_s: float,
) -> None:
    """Find the next thing for a hand who is free: his rest, a call, or nothing."""
    hand = hands[who]
    if hand.due_s <= at_s:
        go_to_rest(line, hand, hand_tallies[who], now, rows, who, at_s)
    elif now.waiting == 0:
        stand_idle(hand, now, who)
        note_hand(now, rows, who, ROW_IDLE, at_s, hand.lane, hand.end)
    else:
        one = choose(line, lanes, hand, now)
        number, slot = now.wait_lane[one], now.wait_slot[one]
        strike(now, one)
        send(
            line, lanes[number], tallies[number], hand, hand_tallies[who],
            now, rows, who, number, slot, at_s,
        )  # fmt: skip


@part
def turn_lane(
    line: LineRecord,
    lane: LaneRecord,
    hands: NDArray[np.void],
    now: NowRecord,
    tally: LaneTally,
    rows: NDArray[np.void],
    number: int,
    who: int,
    at_s: float,
) -> None:
    """Move a lane to now, take what the hand there leaves, and list what it calls for."""
    raised, left = 0, who < 0
    while True:
        raised += advance(line, lane, tally, now, rows, number, at_s)
        if raised > 0 and lane.at_s < at_s - LATE_S:
            now.fault = LATE
        if left:
            break
        leave_served(line, lane, tally, now, rows, number, hands[who].for_slot)
        raised, left = raised + 1, True
        # At a change of colour already: the hand who is here hears of it first.
        if lane.winder != WINDING or lane.target_m > lane.taken_m:
            break
    if lane.due < line.colours:
        raised += colour_due(line, lane, now, rows, number)
    now.wake_s[number] = wake(line, lane)
    if raised > 0:
        put_on_list(lane, now, number)


@part
def run_shift(  # noqa: PLR0912 -- the loop over events, whole
    line: LineRecord,
    lanes: NDArray[np.void],
    hands: NDArray[np.void],
    now: NowRecord,
    tallies: NDArray[np.void],
    hand_tallies: NDArray[np.void],
    rows: NDArray[np.void],
    seed: int,
    replication: int,
) -> int:
    """Run one shift and leave what was done in the tallies; gives what is wrong, or `SOUND`.

    Parameters
    ----------
    line : LineRecord
        The line.
    lanes, hands, now : records
        Room to work in, of no meaning before or after.
    tallies, hand_tallies : arrays of records, shape (lanes,) and (hands,)
        Zeros at first.
    rows : array of records
        Where changes of state are noted; of length 0 for none.
    seed, replication : int
        What chance depends on, and nothing else.

    Returns
    -------
    int
        `SOUND`, or `RING_FULL`, `LATE`, `WITHOUT_END`.
    """
    begin(line, lanes, hands, now, tallies, rows, seed, replication)
    opening, closing = 0 if line.from_s > 0.0 else line.lanes, 0
    while now.fault == SOUND:
        at_s, number, who = line.end_s, -1, -1
        for one in range(line.lanes):
            if now.wake_s[one] < at_s:
                at_s, number = now.wake_s[one], one
        for one in range(line.hands):
            # A rest that is due goes before a call of the same moment.
            if now.free_s[one] < at_s or (now.free_s[one] == at_s and who < 0 and number >= 0):
                at_s, who = now.free_s[one], one
        opens = opening < line.lanes and at_s >= line.from_s
        if opens:
            at_s, number, who = line.from_s, opening, -1
            opening += 1
        elif who >= 0:
            number = wake_hand(line, hands[who], now, at_s)
        elif number < 0:
            while closing < line.lanes and lanes[closing].at_s >= line.end_s:
                closing += 1
            if closing == line.lanes:
                break
            number = closing
        if number >= 0:
            turn_lane(
                line, lanes[number], hands, now, tallies[number], rows, number, who, at_s
            )  # fmt: skip
        if opens:
            open_books(line, lanes[number], tallies[number])
            note(line, lanes[number], now, rows, number, PART_BELT, 2 + lanes[number].arrives)
            if opening == line.lanes:
                for one in range(line.hands):
                    hand_tallies[one].served[:] = 0.0
        if who >= 0:
            free_hand(line, lanes, hands, now, tallies, hand_tallies, rows, who, at_s)
        if now.waiting > 0 and now.idle > 0:
            send_idle(line, lanes, tallies, hands, hand_tallies, now, rows, at_s)
    for number in range(line.lanes):
        finish(line, lanes[number], tallies[number], now)
    return int(now.fault)
