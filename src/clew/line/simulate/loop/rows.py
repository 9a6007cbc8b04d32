"""Changes of state, noted for a drawing of the shift."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.line.simulate.loop.jit import aside, inlined
from clew.line.simulate.loop.places import end_of
from clew.line.simulate.loop.states import AT_WINDER, PART_FEED, PART_HAND, PART_WINDER
from clew.line.simulate.records import LaneRecord, LineRecord, NowRecord, RowRecord


@aside
def note_at(
    line: LineRecord,
    lane: LaneRecord,
    now: NowRecord,
    rows: NDArray[np.void],
    number: int,
    slot: int,
    state: int,
    at_s: float,
) -> None:
    """Note a change that comes later, when a hand arrives."""
    if now.rows < rows.size:
        row = rows[now.rows]
        row.at_s = at_s
        row.who, row.lane = number, number
        row.part = PART_WINDER if slot == AT_WINDER else PART_FEED
        row.state, row.end = state, end_of(slot)
        row.buffer_m = -1.0
        row.on_ball_m = line.ball_m - (lane.ball_to_m - lane.taken_m)
    now.rows += 1


@inlined
def note(
    line: LineRecord,
    lane: LaneRecord,
    now: NowRecord,
    rows: NDArray[np.void],
    number: int,
    part: int,
    state: int,
) -> None:
    """Note a change of a lane."""
    if rows.size > 0:
        if now.rows < rows.size:
            row: RowRecord = rows[now.rows]
            row.at_s = lane.at_s
            row.who, row.lane = number, number
            row.part, row.state, row.end = part, state, 0
            row.buffer_m = lane.buffer_m
            row.on_ball_m = line.ball_m - (lane.ball_to_m - lane.taken_m)
        now.rows += 1


@aside
def note_hand(
    now: NowRecord,
    rows: NDArray[np.void],
    who: int,
    state: int,
    at_s: float,
    lane: int,
    end: int,
) -> None:
    """Note a change of a hand."""
    if rows.size > 0:
        if now.rows < rows.size:
            row = rows[now.rows]
            row.at_s = at_s
            row.who, row.lane, row.end = who, lane, end
            row.part, row.state = PART_HAND, state
            row.buffer_m, row.on_ball_m = -1.0, -1.0
        now.rows += 1
