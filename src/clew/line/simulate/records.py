"""What the compiled loop keeps in memory: plain records of floats and whole numbers.

Each class names the fields of one record and their meaning; the record's layout is read off its
annotations, so that a field is named once. Metres are metres before steam.
"""

from __future__ import annotations

import functools
from typing import Annotated, Any, Protocol, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

from clew.line.layout_checks import MOST_COLOURS

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]
Words = NDArray[np.uint64]

MOST_LANES = 64
MOST_HANDS = 16
KINDS = 6
PURPOSES = 10
JOINS = 8
"""Balls are counted with 0, 1, ... and this many less one or more joins."""
WAITS = 180
"""Waits for a doff are counted in so many classes, the last one open."""
SAMPLES = 97
"""Buffer levels are kept at so many moments of the shift, its ends included."""
RING = -1
"""Stands for the length of a ring, which the caller chooses."""


class LineRecord(Protocol):
    """One line, as the loop reads it: `Layout` with what follows from it worked out."""

    lanes: int
    hands: int
    from_s: float
    end_s: float
    shift_s: float
    feed: float
    wind: float
    passage_s: float
    window_from_s: Annotated[Floats, 2]
    window_s: Annotated[Floats, 2]
    spare_s: Annotated[Floats, 2]
    buffer_m: float
    restart_m: float
    go_m: float
    start_m: float
    ball_m: float
    cone_m: float
    cone_cv: float
    reserve: int
    feed_break_m: float
    wind_break_m: float
    service_mean_s: Annotated[Floats, KINDS]
    service_mu: Annotated[Floats, KINDS]
    service_sigma: float
    mend_waste_m: float
    spacing_s: float
    across_s: float
    walk_m_per_s: float
    rule: int
    urgency: Annotated[Wholes, KINDS]
    break_s: float
    breaks: int
    colours: int
    colour_at_s: Annotated[Floats, MOST_COLOURS]


class LaneRecord(Protocol):
    """One lane now. `clock_s` runs only while the belt runs; `at_s` is the time of the shift."""

    at_s: float
    clock_s: float
    laid_m: float
    buffer_m: float
    taken_m: float
    initial_m: float
    feed: int
    belt: int
    arrives: int
    winder: int
    reserve: int
    ball_from_m: float
    checked_m: float
    spoilt: int
    ball_to_m: float
    before_m: float
    laid_from_m: float
    taken_from_m: float
    break_at_m: float
    colour_at_m: float
    target_m: float
    cone_end_m: float
    feed_break_at_m: float
    feed_target_m: float
    joins: int
    stopped_at_s: float
    due: int
    toggle_first: int
    toggle_next: int
    toggle_s: Annotated[Floats, RING]
    mark_first: int
    mark_next: int
    mark_m: Annotated[Floats, RING]
    mark_colour: Annotated[Wholes, RING]
    stop_first: Annotated[Wholes, 2]
    stop_next: int
    stop_sum_s: Annotated[Floats, 2]
    stop_clock_s: Annotated[Floats, RING]
    stop_for_s: Annotated[Floats, RING]
    spoilt_first: int
    spoilt_next: int
    spoilt_from_m: Annotated[Floats, RING]
    spoilt_to_m: Annotated[Floats, RING]
    call_kind: Annotated[Wholes, 3]
    call_at_s: Annotated[Floats, 3]
    call_rest_s: Annotated[Floats, 3]
    call_taken: Annotated[Wholes, 3]
    key: Annotated[Words, PURPOSES]
    drawn: Annotated[Wholes, PURPOSES]
    sample_at_s: float
    sample: int


class HandRecord(Protocol):
    """One hand now: where he stands, what he does, which break of his comes next."""

    lane: int
    end: int
    doing: int
    for_lane: int
    for_slot: int
    next_break: int
    due_s: float
    until_s: float


class NowRecord(Protocol):
    """What the loop knows of all lanes and hands at once."""

    wake_s: Annotated[Floats, MOST_LANES]
    free_s: Annotated[Floats, MOST_HANDS]
    idle: int
    waiting: int
    full_balls: int
    wait_lane: Annotated[Wholes, 3 * MOST_LANES]
    wait_slot: Annotated[Wholes, 3 * MOST_LANES]
    resting: int
    all_rest_since_s: float
    all_rest_s: float
    fault: int
    events: int
    rows: int


class LaneTally(Protocol):
    """What one lane did in one shift."""

    balls: float
    second_balls: float
    balls_together: float
    part_balls: float
    initial_m: float
    initial_raw_m: float
    laid_m: float
    taken_m: float
    waste_m: float
    raw_m: float
    belt_m: float
    buffer_m: float
    spoilt_m: float
    winder_s: Annotated[Floats, 3]
    waiting_s: float
    doffing_s: float
    broken_s: float
    changing_s: float
    resting_s: float
    feed_s: Annotated[Floats, 5]
    belt_stops: float
    longest_stop_s: float
    dries: float
    cones: float
    ties: float
    feed_breaks: float
    wind_breaks: float
    joins: float
    ball_joins: Annotated[Floats, JOINS]
    doff_waits: Annotated[Floats, WAITS]
    doff_wait_s: float
    longest_wait_s: float
    level_m: Annotated[Floats, SAMPLES]


class HandTally(Protocol):
    """What one hand did in one shift."""

    serving_s: float
    walking_s: float
    resting_s: float
    served: Annotated[Floats, KINDS]


class RowRecord(Protocol):
    """One change of state, kept for a drawing of the shift."""

    at_s: float
    who: int
    part: int
    state: int
    lane: int
    end: int
    buffer_m: float
    on_ball_m: float


@functools.cache
def memory_of(record: type[Any], *, ring: int = 1) -> np.dtype[Any]:
    """Lay a record out in memory, aligned, in the order of its annotations.

    Parameters
    ----------
    record : type
        One of the classes above.
    ring : int
        Length of its rings.

    Returns
    -------
    dtype
        Floats and whole numbers of 8 bytes.
    """
    fields: list[tuple[str, Any] | tuple[str, Any, tuple[int]]] = []
    for name, hint in get_type_hints(record, include_extras=True).items():
        if get_origin(hint) is Annotated:
            kind, length = get_args(hint)[:2]
            scalar = get_args(get_args(kind)[1])[0]
            fields.append((name, scalar, (ring if length == RING else length,)))
        else:
            fields.append((name, np.float64 if hint is float else np.int64))
    return np.dtype(fields, align=True)
