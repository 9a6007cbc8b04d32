"""Strand that stood too long in steam or dryer, and the balls it is wound into."""

from __future__ import annotations

from clew.line.simulate.loop.jit import aside
from clew.line.simulate.loop.states import LEAST_SPOILT_M, NEVER, RING_FULL
from clew.line.simulate.loop.strand import laid_before
from clew.line.simulate.records import LaneRecord, LaneTally, LineRecord, NowRecord


@aside
def spoil(line: LineRecord, lane: LaneRecord, now: NowRecord, stood_s: float) -> None:
    """A stop of the belt is over: which strand has now stood too long in steam or dryer?

    Strand that entered at clock e stood there through the stops between e and e + passage. The last
    stops whose sum is more than can be spared spoil what had entered before the first of them and
    had not left at the last.
    """
    ring = lane.stop_clock_s.size
    clock_s = lane.clock_s
    if lane.stop_next - min(lane.stop_first[0], lane.stop_first[1]) >= ring:
        now.fault = RING_FULL
        return
    lane.stop_clock_s[lane.stop_next % ring] = clock_s
    lane.stop_for_s[lane.stop_next % ring] = stood_s
    lane.stop_next += 1
    for place in range(2):
        if line.spare_s[place] == NEVER:
            lane.stop_first[place] = lane.stop_next
            continue
        first, total_s = lane.stop_first[place], lane.stop_sum_s[place] + stood_s
        while first < lane.stop_next - 1 and (
            lane.stop_clock_s[first % ring] < clock_s - line.window_s[place]
            or total_s - lane.stop_for_s[first % ring] > line.spare_s[place]
        ):
            total_s -= lane.stop_for_s[first % ring]
            first += 1
        lane.stop_first[place], lane.stop_sum_s[place] = first, total_s
        if total_s > line.spare_s[place]:
            from_s = clock_s - line.window_s[place] - line.window_from_s[place]
            to_s = lane.stop_clock_s[first % ring] - line.window_from_s[place]
            spoil_between(
                lane,
                now,
                laid_before(line, lane, from_s) + lane.initial_m,
                laid_before(line, lane, to_s) + lane.initial_m,
            )


@aside
def spoil_between(lane: LaneRecord, now: NowRecord, from_m: float, to_m: float) -> None:
    """Note that the strand between two places is spoilt."""
    ring = lane.spoilt_to_m.size
    if to_m <= from_m:
        return
    for at in range(lane.spoilt_first, lane.spoilt_next):
        # Steam and dryer spoil different strand; what overlaps is one stretch.
        if from_m <= lane.spoilt_to_m[at % ring] and to_m >= lane.spoilt_from_m[at % ring]:
            lane.spoilt_from_m[at % ring] = min(from_m, lane.spoilt_from_m[at % ring])
            lane.spoilt_to_m[at % ring] = max(to_m, lane.spoilt_to_m[at % ring])
            return
    if lane.spoilt_next - lane.spoilt_first >= ring:
        now.fault = RING_FULL
        return
    lane.spoilt_from_m[lane.spoilt_next % ring] = from_m
    lane.spoilt_to_m[lane.spoilt_next % ring] = to_m
    lane.spoilt_next += 1


@aside
def check_spoilt(lane: LaneRecord, tally: LaneTally) -> None:
    """See whether spoilt strand was wound since the last look; forget what has passed."""
    ring = lane.spoilt_to_m.size
    kept = lane.spoilt_first
    for at in range(lane.spoilt_first, lane.spoilt_next):
        start_m, end_m = lane.spoilt_from_m[at % ring], lane.spoilt_to_m[at % ring]
        overlap_m = min(end_m, lane.taken_m) - max(start_m, lane.checked_m)
        if overlap_m > LEAST_SPOILT_M:
            lane.spoilt = 1
            tally.spoilt_m += overlap_m
        if end_m <= lane.taken_m:
            # Stretches of steam and dryer may pass out of order: the first takes the place.
            lane.spoilt_from_m[at % ring] = lane.spoilt_from_m[kept % ring]
            lane.spoilt_to_m[at % ring] = lane.spoilt_to_m[kept % ring]
            kept += 1
    lane.spoilt_first = kept
    lane.checked_m = lane.taken_m
