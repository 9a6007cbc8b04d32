"""The strand of a lane: what was laid when, and where its ties are."""

from __future__ import annotations

from clew.line.simulate.loop.chance import cone_length, draw
from clew.line.simulate.loop.jit import aside, inlined
from clew.line.simulate.loop.states import CLOSE_M, CONE, NEVER, RING_FULL, WHOLE
from clew.line.simulate.records import LaneRecord, LaneTally, LineRecord, NowRecord


@aside
def next_cone(line: LineRecord, lane: LaneRecord, tally: LaneTally) -> None:
    """Draw the cone that runs from here on."""
    length_m = cone_length(draw(lane, CONE), line.cone_m, line.cone_cv)
    lane.cone_end_m = lane.laid_m + length_m
    tally.cones += 1.0


@inlined
def feed_target(lane: LaneRecord) -> None:
    """Note up to where the feed lays without an event."""
    lane.feed_target_m = min(lane.cone_end_m, lane.feed_break_at_m)


@inlined
def winder_target(lane: LaneRecord) -> None:
    """Note up to where the winder takes strand without an event."""
    lane.target_m = min(lane.ball_to_m, lane.break_at_m, lane.colour_at_m)


@aside
def turn_feed(lane: LaneRecord, now: NowRecord, state: int) -> None:
    """Whole or not, the feed's change rides on the belt to its end."""
    if (lane.feed == WHOLE) != (state == WHOLE):
        ring = lane.toggle_s.size
        last = (lane.toggle_next - 1) % ring
        if lane.toggle_next > lane.toggle_first and lane.toggle_s[last] == lane.clock_s:
            lane.toggle_next -= 1
        elif lane.toggle_next - lane.toggle_first >= ring:
            now.fault = RING_FULL
        else:
            lane.toggle_s[lane.toggle_next % ring] = lane.clock_s
            lane.toggle_next += 1
    lane.feed = state


@aside
def laid_before(line: LineRecord, lane: LaneRecord, clock_s: float) -> float:
    """Metres laid up to a belt clock not longer ago than the belt's passage."""
    ring = lane.toggle_s.size
    whole = lane.feed == WHOLE
    end_s, since_s = lane.clock_s, 0.0
    at = lane.toggle_next - 1
    while at >= lane.toggle_first and lane.toggle_s[at % ring] > clock_s:
        if whole:
            since_s += end_s - lane.toggle_s[at % ring]
        end_s = lane.toggle_s[at % ring]
        whole = not whole
        at -= 1
    if whole:
        since_s += end_s - clock_s
    return float(lane.laid_m - line.feed * since_s)


@aside
def mark_tie(lane: LaneRecord, now: NowRecord, tally: LaneTally, colour: bool) -> None:
    """Note where a tie was laid, in the metres that the winder will have taken when it comes."""
    ring = lane.mark_m.size
    if lane.mark_next - lane.mark_first >= ring:
        now.fault = RING_FULL
        return
    lane.mark_m[lane.mark_next % ring] = lane.laid_m + lane.initial_m
    lane.mark_colour[lane.mark_next % ring] = 1 if colour else 0
    lane.mark_next += 1
    tally.ties += 1.0
    if colour and lane.colour_at_m == NEVER:
        lane.colour_at_m = lane.laid_m + lane.initial_m
        winder_target(lane)


@aside
def pass_marks(lane: LaneRecord, before_colour: bool) -> None:
    """Count the ties that the winder has taken, up to the next change of colour or through it."""
    ring = lane.mark_m.size
    here_m = lane.taken_m + CLOSE_M
    while lane.mark_first < lane.mark_next and lane.mark_m[lane.mark_first % ring] <= here_m:
        colour = lane.mark_colour[lane.mark_first % ring] == 1
        if before_colour and colour:
            break
        lane.joins += 1
        lane.mark_first += 1
        if colour:
            break
    if not before_colour:
        lane.colour_at_m = NEVER
        for at in range(lane.mark_first, lane.mark_next):
            if lane.mark_colour[at % ring] == 1:
                lane.colour_at_m = lane.mark_m[at % ring]
                break
