"""Where calls are served, and the way there."""

from __future__ import annotations

from clew.line.simulate.loop.jit import inlined
from clew.line.simulate.loop.states import AT_WINDER, CREEL_END, WINDER_END
from clew.line.simulate.records import HandRecord, LineRecord


@inlined
def end_of(slot: int) -> int:
    """Give the end of the lane at which a call is served."""
    return WINDER_END if slot == AT_WINDER else CREEL_END


@inlined
def way_s(line: LineRecord, hand: HandRecord, lane: int, slot: int) -> float:
    """Give a hand's way to a call [s]."""
    walk_s = line.spacing_s * abs(hand.lane - lane)
    return float(walk_s + (line.across_s if hand.end != end_of(slot) else 0.0))
