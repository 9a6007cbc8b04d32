"""A layout as the compiled loop reads it, and room for the loop to work in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clew.line.layout import RULES, Layout
from clew.line.simulate import records
from clew.line.simulate.records import memory_of

KIND_ORDER = ("doff", "mend", "feed", "load", "change", "colour")
"""Kinds of call as the loop numbers them."""
RINGS = (64, 16_384)
"""Lengths of the rings that are tried, each compiled for; they hold what is under way in a lane."""

LINE = memory_of(records.LineRecord)
HAND = memory_of(records.HandRecord)
NOW = memory_of(records.NowRecord)
LANE_TALLY = memory_of(records.LaneTally)
HAND_TALLY = memory_of(records.HandTally)
ROW = memory_of(records.RowRecord)

Records = NDArray[np.void]


def packed(layout: Layout) -> Any:
    """Work out what the loop reads of a layout.

    Parameters
    ----------
    layout : Layout
        A layout that was checked.

    Returns
    -------
    record
        One `LineRecord`.
    """
    line = np.zeros(1, LINE)[0]
    line["lanes"], line["hands"], line["shift_s"] = layout.lanes, layout.hands, layout.shift_s
    line["from_s"], line["end_s"] = layout.warm_up_s, layout.warm_up_s + layout.shift_s
    line["feed"], line["wind"] = layout.feed_m_per_s, layout.wind_m_per_s
    line["passage_s"] = layout.passage_s
    line["window_from_s"] = layout.steam_from_s, layout.dry_from_s
    line["window_s"] = layout.steam_s, layout.dry_s
    line["spare_s"] = layout.steam_longest_s - layout.steam_s, layout.dry_longest_s - layout.dry_s
    line["buffer_m"], line["go_m"] = layout.buffer_m, layout.go_m
    line["restart_m"] = layout.buffer_m - layout.loose_m
    line["start_m"] = layout.start_buffer_frac * layout.buffer_m
    line["ball_m"], line["cone_m"], line["cone_cv"] = layout.ball_m, layout.cone_m, layout.cone_cv
    line["reserve"] = layout.cones_per_lane - 1
    for name, per_km in (
        ("feed_break_m", layout.feed_breaks_per_km),
        ("wind_break_m", layout.wind_breaks_per_km),
    ):
        line[name] = 1000.0 / per_km if per_km > 0.0 else math.inf
    variance = math.log1p(layout.service_cv**2)
    line["service_sigma"] = math.sqrt(variance)
    means_s = (
        layout.doff_s,
        layout.mend_s,
        layout.feed_mend_s,
        layout.load_s,
        layout.change_s,
        layout.colour_tie_s,
    )
    line["service_mean_s"] = means_s
    line["service_mu"] = [math.log(mean_s) - 0.5 * variance for mean_s in means_s]
    line["mend_waste_m"] = layout.mend_waste_m
    line["spacing_s"] = layout.spacing_m / layout.walk_m_per_s
    line["across_s"] = layout.across_m / layout.walk_m_per_s
    line["walk_m_per_s"] = layout.walk_m_per_s
    line["rule"] = RULES.index(layout.rule)
    for urgency, kinds in enumerate(layout.first):
        for kind in kinds:
            line["urgency"][KIND_ORDER.index(kind)] = urgency
    line["break_s"], line["breaks"] = layout.break_s, layout.breaks
    line["colours"] = len(layout.colour_at_s)
    line["colour_at_s"][: len(layout.colour_at_s)] = [
        layout.warm_up_s + at_s for at_s in layout.colour_at_s
    ]
    return line


@dataclass(frozen=True, slots=True)
class Room:
    """Arrays the loop works in; one for each thread.

    Attributes
    ----------
    lanes, hands, now : arrays of records
        As `records` names them.
    """

    lanes: Records
    hands: Records
    now: Records


def room_for(layout: Layout, ring: int) -> Room:
    """Make room for one thread's shifts, with rings of a length."""
    return Room(
        lanes=np.zeros(layout.lanes, memory_of(records.LaneRecord, ring=ring)),
        hands=np.zeros(layout.hands, HAND),
        now=np.zeros(1, NOW),
    )
