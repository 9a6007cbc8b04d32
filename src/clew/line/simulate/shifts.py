"""Many shifts of one line, a handful at a time, on all cores."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from clew.faults import BadInput, Fault
from clew.line.layout import Layout, checked_layout
from clew.line.simulate.packing import (
    HAND_TALLY,
    LANE_TALLY,
    RINGS,
    ROW,
    Records,
    packed,
    room_for,
)

MOST_SEED = 2**62
MOST_REPLICATIONS = 10_000_000
AT_ONCE = 8
"""Shifts that one thread takes at once; fixed, so that sums do not depend on the cores."""
AHEAD = 4
"""Handfuls under way for each core, so that memory stays flat in the replications."""

Made = TypeVar("Made")


class LineLostError(RuntimeError):
    """The loop broke a promise of its own; nothing a mill file says should bring it about."""


@dataclass(frozen=True, slots=True)
class Handful:
    """Some shifts in the order of their replications.

    Attributes
    ----------
    first : int
        Replication of the first.
    lanes : array of records, shape (shifts, lanes)
        What each lane did; fields as `records.LaneTally`.
    hands : array of records, shape (shifts, hands)
        What each hand did; fields as `records.HandTally`.
    """

    first: int
    lanes: Records
    hands: Records


def checked_chance(seed: int, replications: int) -> None:
    """Refuse a seed or a number of shifts that cannot be drawn; raises `BadInput`."""
    faults = []
    if not 0 <= seed <= MOST_SEED:
        faults.append(Fault(f"a seed of {seed}", f"0 to {MOST_SEED}", key="seed"))
    if not 1 <= replications <= MOST_REPLICATIONS:
        faults.append(
            Fault(
                f"{replications} replications",
                f"1 to {MOST_REPLICATIONS}",
                key="replications",
            )
        )
    if faults:
        raise BadInput(faults)


def cores_here() -> int:
    """Count the cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def shifts(
    layout: Layout, *, replications: int, seed: int, cores: int | None = None
) -> Iterator[Handful]:
    """Run shifts of a line.

    Every shift is drawn from the seed and its own number, so that it is the same on any number of
    cores, and two lines with the same seed meet the same cones, breaks and paces of hands.

    Parameters
    ----------
    layout : Layout
        The line.
    replications : int
        How many shifts.
    seed : int
        What chance depends on.
    cores : int or None
        Threads to run on; None for all cores.

    Yields
    ------
    Handful
        Some shifts, in order; not more than a few are held at once.

    Raises
    ------
    BadInput
        When the layout, the seed or the number cannot be.
    LineLostError
        When the loop fails a check of its own.
    """
    checked_chance(seed, replications)
    checked_layout(layout)
    yield from in_order(lambda first, size: handful(layout, seed, first, size), replications, cores)


def in_order(
    made: Callable[[int, int], Made], replications: int, cores: int | None
) -> Iterator[Made]:
    """Make shifts a handful at a time on several threads, and give them in order.

    Parameters
    ----------
    made : callable
        Makes shifts: number of the first, and how many.
    replications : int
        How many in all.
    cores : int or None
        Threads to run on; None for all cores.

    Yields
    ------
    object
        What `made` gave, in order; not more than a few are held at once.
    """
    starts = range(0, replications, AT_ONCE)

    def from_first(first: int) -> Made:
        return made(first, min(AT_ONCE, replications - first))

    threads = min(cores or cores_here(), len(starts))
    if threads == 1:
        yield from map(from_first, starts)
        return
    under_way: deque[Future[Made]] = deque()
    with ThreadPoolExecutor(threads) as pool:
        try:
            for first in starts:
                under_way.append(pool.submit(from_first, first))
                if len(under_way) >= AHEAD * threads:
                    yield under_way.popleft().result()
            while under_way:
                yield under_way.popleft().result()
        finally:
            for one in under_way:
                one.cancel()


def too_much_under_way() -> BadInput:
    """Say that a lane has more on its way than is followed."""
    return BadInput(
        Fault(
            "more ties, gaps or stops under way in a lane than can be followed",
            f"at most {RINGS[-1]}: longer cones, fewer breaks, or a buffer that loosens more",
            key="cone_m",
        )
    )


def handful(layout: Layout, seed: int, first: int, size: int) -> Handful:
    """Run some shifts in this thread.

    Parameters
    ----------
    layout : Layout
        A layout that was checked.
    seed, first, size : int
        The seed, the first replication and how many.

    Returns
    -------
    Handful
        The shifts.

    Raises
    ------
    LineLostError
        When the loop fails a check of its own.
    """
    from clew.line.simulate.loop.compiled import run_shifts
    from clew.line.simulate.loop.states import RING_FULL, SOUND

    line = packed(layout)
    fault = RING_FULL
    for ring in RINGS:
        room = room_for(layout, ring)
        found = Handful(
            first,
            np.zeros((size, layout.lanes), LANE_TALLY),
            np.zeros((size, layout.hands), HAND_TALLY),
        )
        fault = run_shifts(
            line,
            room.lanes,
            room.hands,
            room.now[0],
            found.lanes,
            found.hands,
            np.zeros(0, ROW),
            seed,
            first,
        )
        if fault != RING_FULL:
            break
    if fault == RING_FULL:
        raise too_much_under_way()
    if fault != SOUND:
        raise LineLostError(
            f"fault {fault} in shifts {first} to {first + size - 1}, seed {seed}: {layout}"
        )
    return found
