"""One shift, change by change, for a drawing of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clew.line.layout import Layout, checked_layout
from clew.line.simulate.packing import (
    HAND_TALLY,
    KIND_ORDER,
    LANE_TALLY,
    RINGS,
    ROW,
    Records,
    packed,
    room_for,
)
from clew.line.simulate.shifts import LineLostError, checked_chance, too_much_under_way

WINDER_STATES = {0: "winding", 1: "starved"} | {
    base + kind: f"{word} {name}"
    for base, word in ((10, "waits for"), (20, "served:"))
    for kind, name in enumerate(KIND_ORDER)
}
"""What a winder does: it winds, it ran dry, it waits for a hand, a hand is at it."""
FEED_STATES = {0: "feeding", 2: "starved", 3: "broken", 4: "changing"} | {
    20 + kind: f"served: {name}" for kind, name in enumerate(KIND_ORDER)
}
"""What a feed does; whether it lays down strand is the belt's matter too."""
BELT_STATES = {0: "stopped", 1: "running", 2: "a gap arrives", 3: "strand arrives"}
"""The belt of a lane: it stops and goes on; gaps and strand reach its end."""
HAND_STATES = {0: "idle", 1: "walking", 2: "resting"} | {
    10 + kind: f"serves: {name}" for kind, name in enumerate(KIND_ORDER)
}
"""What a hand does."""
_PARTS = (WINDER_STATES, FEED_STATES, BELT_STATES, HAND_STATES)
_WINDER, _FEED, _BELT, _HAND = range(4)
_FIRST_ROWS = 1 << 15
_GAP_ARRIVES = 2
_MOMENT_S = 1e-6
NOT_TOLD_M = -0.5
"""Below this a row tells nothing of the buffer; an empty one may be a rounding below 0."""


@dataclass(frozen=True, slots=True)
class LaneChange:
    """A change in a lane.

    Attributes
    ----------
    at_s : float
        When in the shift [s].
    lane : int
        Which lane, from 0.
    part : {"winder", "feed", "belt"}
        What changed.
    state : str
        What it does from then on.
    buffer_m, on_ball_m : float or None
        Strand in the buffer and on the mandrel, before steam; between two changes of a lane that
        tell it both run straight [m].
    """

    at_s: float
    lane: int
    part: str
    state: str
    buffer_m: float | None
    on_ball_m: float | None


@dataclass(frozen=True, slots=True)
class HandChange:
    """A change in what a hand does.

    Attributes
    ----------
    at_s : float
        When in the shift [s].
    hand : int
        Which hand, from 0.
    state : str
        What he does from then on.
    lane : int
        The lane he is at, or on his way to.
    end : {"winder", "creel"}
        And which end of it.
    """

    at_s: float
    hand: int
    state: str
    lane: int
    end: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """Everything that changes in one shift.

    Attributes
    ----------
    layout : Layout
        The line.
    seed, replication : int
        Which of its shifts.
    lanes : tuple of LaneChange
        In the order of time; the first of every lane at the shift's first moment.
    hands : tuple of HandChange
        Likewise.
    balls : tuple of int
        Full balls of each lane at the shift's end.
    """

    layout: Layout
    seed: int
    replication: int
    lanes: tuple[LaneChange, ...]
    hands: tuple[HandChange, ...]
    balls: tuple[int, ...]


def timeline(layout: Layout, *, seed: int, replication: int = 0) -> Timeline:
    """Run one shift and keep its changes.

    Parameters
    ----------
    layout : Layout
        The line.
    seed, replication : int
        Which of its shifts; the same that `shifts` counts.

    Returns
    -------
    Timeline
        Its changes.

    Raises
    ------
    BadInput
        When the layout or the seed cannot be.
    LineLostError
        When the loop fails a check of its own.
    """
    from clew.line.simulate.loop.compiled import run_shifts
    from clew.line.simulate.loop.states import RING_FULL, SOUND

    checked_chance(seed, replication + 1)
    checked_layout(layout)
    line, size, fault = packed(layout), _FIRST_ROWS, RING_FULL
    rings = iter(RINGS)
    ring = next(rings)
    while True:
        room = room_for(layout, ring)
        rows = np.zeros(size, ROW)
        tallies = np.zeros((1, layout.lanes), LANE_TALLY)
        hands = np.zeros((1, layout.hands), HAND_TALLY)
        fault = run_shifts(
            line, room.lanes, room.hands, room.now[0], tallies, hands, rows, seed, replication
        )
        used = int(room.now["rows"][0])
        if fault == RING_FULL and ring != RINGS[-1]:
            ring = next(rings)
        elif fault == RING_FULL:
            raise too_much_under_way()
        elif fault != SOUND:
            raise LineLostError(f"fault {fault} in shift {replication}, seed {seed}: {layout}")
        elif used > size:
            size = used
        else:
            break
    rows = _of_shift(rows[:used], layout.warm_up_s)
    return Timeline(
        layout,
        seed,
        replication,
        lanes=tuple(_lane_change(row) for row in rows if row["part"] != _HAND),
        hands=tuple(_hand_change(row) for row in rows if row["part"] == _HAND),
        balls=tuple(int(one) for one in tallies["balls"][0]),
    )


def _of_shift(rows: Records, warm_up_s: float) -> Records:
    """Order rows by time; what held when the shift began stands at its first moment."""
    rows = rows[np.argsort(rows["at_s"], kind="stable")]
    rows["at_s"] -= warm_up_s
    if warm_up_s == 0.0:
        return rows
    before = rows[rows["at_s"] < 0.0]
    # The loop notes the end of the belt at the shift's first moment, with buffer and ball.
    first = rows[(rows["at_s"] >= -_MOMENT_S) & (rows["part"] == _BELT)]
    level = {int(row["lane"]): row for row in first[::-1]}
    held: dict[tuple[int, int, bool], np.void] = {}
    for row in before:
        stands_or_runs = bool(row["part"] == _BELT and row["state"] < _GAP_ARRIVES)
        held[int(row["part"]), int(row["who"]), stands_or_runs] = row
    opening = np.array(sorted(held.values(), key=lambda row: (row["part"], row["who"])), ROW)
    opening["at_s"] = 0.0
    for row in opening:
        if row["part"] != _HAND and int(row["lane"]) in level:
            row["buffer_m"] = level[int(row["lane"])]["buffer_m"]
            row["on_ball_m"] = level[int(row["lane"])]["on_ball_m"]
    return np.concatenate((opening, rows[rows["at_s"] >= 0.0]))


def _lane_change(row: np.void) -> LaneChange:
    part = int(row["part"])
    known = row["buffer_m"] > NOT_TOLD_M
    return LaneChange(
        at_s=float(row["at_s"]),
        lane=int(row["lane"]),
        part=("winder", "feed", "belt")[part],
        state=_PARTS[part][int(row["state"])],
        buffer_m=max(float(row["buffer_m"]), 0.0) if known else None,
        on_ball_m=float(row["on_ball_m"]) if known else None,
    )


def _hand_change(row: np.void) -> HandChange:
    return HandChange(
        at_s=float(row["at_s"]),
        hand=int(row["who"]),
        state=HAND_STATES[int(row["state"])],
        lane=int(row["lane"]),
        end="creel" if row["end"] else "winder",
    )
