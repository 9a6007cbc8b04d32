"""Hands: who goes where, what it books, and when they rest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.calls import all_rest_s
from clew.line.simulate.loop.chance import service_s
from clew.line.simulate.loop.jit import aside, inlined, part
from clew.line.simulate.loop.places import end_of, way_s
from clew.line.simulate.loop.rows import note_at, note_hand
from clew.line.simulate.loop.states import (
    AT_WINDER,
    DOFF,
    IDLE,
    MEND,
    NEAREST,
    NEVER,
    PATROL,
    RESTING,
    ROW_RESTS,
    ROW_SERVED,
    ROW_SERVES,
    ROW_WALKS,
    SERVING,
    TAKEN,
)
from clew.line.simulate.records import (
    HandRecord,
    HandTally,
    LaneRecord,
    LaneTally,
    LineRecord,
    NowRecord,
)


@part
def send(
    line: LineRecord,
    lane: LaneRecord,
    tally: LaneTally,
    hand: HandRecord,
    hand_tally: HandTally,
    now: NowRecord,
    rows: NDArray[np.void],
    who: int,
    number: int,
    slot: int,
    at_s: float,
) -> None:
    """Send a hand to a call, and book the wait and the service up to the shift's end."""
    kind = lane.call_kind[slot]
    walk_s = way_s(line, hand, number, slot)
    # Rounding must not bring a hand before his call.
    begin_s = max(at_s + walk_s, lane.call_at_s[slot])
    end_s = begin_s + service_s(line, lane, kind)
    arrived_s, done_s = in_shift_s(line, begin_s), in_shift_s(line, end_s)
    if slot == AT_WINDER:
        book(line, lane, tally, now, kind, at_s, arrived_s, done_s)
    if kind == DOFF and begin_s < line.end_s:
        wait_s = begin_s - lane.call_at_s[slot]
        tally.doff_waits[min(wait_class(wait_s), tally.doff_waits.size - 1)] += 1.0
        tally.doff_wait_s += wait_s
        tally.longest_wait_s = max(tally.longest_wait_s, wait_s)
    hand_tally.walking_s += arrived_s - in_shift_s(line, at_s)
    hand_tally.serving_s += done_s - arrived_s
    note_hand(now, rows, who, ROW_WALKS, at_s, number, end_of(slot))
    if begin_s < line.end_s:
        hand_tally.served[kind] += 1.0
        note_hand(now, rows, who, ROW_SERVES + kind, begin_s, number, end_of(slot))
        if rows.size > 0:
            # The row stands before its time: rows are put in order when they are read.
            note_at(line, lane, now, rows, number, slot, ROW_SERVED + kind, begin_s)
    hand.lane, hand.end, hand.doing = number, end_of(slot), SERVING
    hand.for_lane, hand.for_slot, hand.until_s = number, slot, end_s
    lane.call_taken[slot] = TAKEN
    now.free_s[who] = end_s


@inlined
def in_shift_s(line: LineRecord, at_s: float) -> float:
    """Give a moment, or the shift's nearest where it lies before or after it [s]."""
    return float(min(max(at_s, line.from_s), line.end_s))


@inlined
def wait_class(wait_s: float) -> int:
    """Give the class of a wait: of 2 s up to 200 s, then of 20 s."""
    return int(0.5 * wait_s) if wait_s < 200.0 else 90 + int(0.05 * wait_s)


@part
def book(
    line: LineRecord,
    lane: LaneRecord,
    tally: LaneTally,
    now: NowRecord,
    kind: int,
    at_s: float,
    arrived_s: float,
    done_s: float,
) -> None:
    """Seconds of a winder that called: waiting, served, or waiting while everybody rests."""
    rest_s = all_rest_s(now, at_s) - lane.call_rest_s[AT_WINDER]
    wait_s = arrived_s - in_shift_s(line, lane.call_at_s[AT_WINDER]) - rest_s
    tally.resting_s += rest_s
    if kind == DOFF:
        tally.waiting_s += wait_s
        tally.doffing_s += done_s - arrived_s
    elif kind == MEND:
        tally.broken_s += wait_s + done_s - arrived_s
    else:
        tally.changing_s += wait_s + done_s - arrived_s


@part
def stand_idle(hand: HandRecord, now: NowRecord, who: int) -> None:
    """Let a hand stand where he is until a call or his rest."""
    hand.doing = IDLE
    now.idle += 1
    now.free_s[who] = hand.due_s


@part
def next_due(line: LineRecord, hand: HandRecord, who: int) -> None:
    """Note when a hand's next rest is due; hands rest one after another, all within the shift."""
    hand.due_s = NEVER
    if hand.next_break < line.breaks:
        due_s = line.shift_s * (hand.next_break + 1) / (line.breaks + 1)
        due_s += (who - 0.5 * (line.hands - 1)) * line.break_s
        hand.due_s = line.from_s + min(max(due_s, 0.0), line.shift_s - line.break_s)
    hand.next_break += 1


@aside
def go_to_rest(
    line: LineRecord,
    hand: HandRecord,
    tally: HandTally,
    now: NowRecord,
    rows: NDArray[np.void],
    who: int,
    at_s: float,
) -> None:
    """Send a hand to rest."""
    hand.doing = RESTING
    now.free_s[who] = at_s + line.break_s
    tally.resting_s += min(at_s + line.break_s, line.end_s) - at_s
    next_due(line, hand, who)
    now.resting += 1
    if now.resting == line.hands:
        now.all_rest_since_s = at_s
    note_hand(now, rows, who, ROW_RESTS, at_s, hand.lane, hand.end)


@part
def choose(line: LineRecord, lanes: NDArray[np.void], hand: HandRecord, now: NowRecord) -> int:
    """Choose among the waiting calls: the most urgent class, then the rule, then the oldest."""
    best, best_class, best_key, best_at_s, best_place = -1, 0, 0.0, 0.0, 0
    for one in range(now.waiting):
        number, slot = now.wait_lane[one], now.wait_slot[one]
        lane = lanes[number]
        urgency = line.urgency[lane.call_kind[slot]]
        call_s = lane.call_at_s[slot]
        if line.rule == NEAREST:
            key = way_s(line, hand, number, slot)
        elif line.rule == PATROL:
            key = float((number - hand.lane) % line.lanes)
        else:
            key = 0.0
        place = 3 * number + slot
        if (
            best < 0
            or urgency < best_class
            or (
                urgency == best_class
                and (
                    key < best_key
                    or (
                        key == best_key
                        and (call_s < best_at_s or (call_s == best_at_s and place < best_place))
                    )
                )
            )
        ):
            best, best_class, best_key = one, urgency, key
            best_at_s, best_place = call_s, place
    return best


@part
def nearest_idle(line: LineRecord, hands: NDArray[np.void], number: int, slot: int) -> int:
    """Find the idle hand with the least way to a call; the lowest number of equals."""
    best, best_s = -1, NEVER
    for who in range(line.hands):
        if hands[who].doing == IDLE:
            walk_s = way_s(line, hands[who], number, slot)
            if walk_s < best_s:
                best, best_s = who, walk_s
    return best


@part
def send_idle(
    line: LineRecord,
    lanes: NDArray[np.void],
    tallies: NDArray[np.void],
    hands: NDArray[np.void],
    hand_tallies: NDArray[np.void],
    now: NowRecord,
    rows: NDArray[np.void],
    at_s: float,
) -> None:
    """Send idle hands to what waits: the first call on the list, the nearest hand."""
    while now.waiting > 0 and now.idle > 0:
        number, slot = now.wait_lane[0], now.wait_slot[0]
        for one in range(1, now.waiting):
            now.wait_lane[one - 1], now.wait_slot[one - 1] = now.wait_lane[one], now.wait_slot[one]
        now.waiting -= 1
        who = nearest_idle(line, hands, number, slot)
        now.idle -= 1
        send(
            line, lanes[number], tallies[number], hands[who], hand_tallies[who],
            now, rows, who, number, slot, at_s,
        )  # fmt: skip
