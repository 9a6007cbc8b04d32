"""A window of a drawn shift as plain values, for the script that plays it and for programs."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import Any

from clew.web.shift.replay import HandFrame, LaneFrame, Replay
from clew.web.shift.states import FEED_ORDER, HAND_ORDER, WINDER_ORDER, words_by_state

LANE_KEYS = (
    "at_s", "winder", "feed", "feed_whole", "feed_dry", "belt_runs", "strand_arrives", "buffer_m",
    "on_ball_m", "balls", "tied_cones", "belt_clock_s",
)  # fmt: skip
HAND_KEYS = ("at_s", "until_s", "state", "lane", "creel", "from_lane", "from_creel")
GAP_KEYS = ("lane", "from_clock_s", "to_clock_s")
SPOILT_KEYS = ("lane", "from_clock_s", "to_clock_s", "since_s")


def plain_window(
    replay: Replay, from_s: float, to_s: float, numbers: Sequence[int]
) -> dict[str, Any]:
    """Give what changes in a window of a shift.

    Parameters
    ----------
    replay : Replay
        The shift.
    from_s, to_s : float
        The window [s].
    numbers : sequence of int
        Number of each lane's winder.

    Returns
    -------
    dict
        ``lanes`` and ``hands`` hold a list of rows for each of them, in the order of time: the
        first says what holds as the window begins, each other what holds from then on. Their
        columns are named by ``lane_keys`` and ``hand_keys``; states are places in the lists under
        ``states``. ``gaps`` are stretches of belt without strand, by the belt's running time, and
        ``spoilt`` those whose strand has stood too long since a moment of the shift;
        ``spoilt_balls`` says from when until when the ball of a lane holds such strand.
    """
    layout = replay.layout
    return {
        "seed": replay.seed,
        "drawn": replay.replication + 1,
        "from_s": from_s,
        "to_s": to_s,
        "line": {
            "lane_count": layout.lanes,
            "hands": layout.hands,
            "shift_s": layout.shift_s,
            "feed_m_per_s": layout.feed_m_per_s,
            "wind_m_per_s": layout.wind_m_per_s,
            "passage_s": layout.passage_s,
            "buffer_m": layout.buffer_m,
            "ball_m": layout.ball_m,
            "spacing_m": layout.spacing_m,
            "across_m": layout.across_m,
            "winder_numbers": list(numbers),
        },
        "states": {
            "winder": list(WINDER_ORDER),
            "feed": list(FEED_ORDER),
            "hand": list(HAND_ORDER),
        },
        "words": words_by_state(),
        "lane_keys": list(LANE_KEYS),
        "lanes": [
            [_lane_row(one) for one in _lane_frames(replay, lane, from_s, to_s)]
            for lane in range(layout.lanes)
        ],
        "hand_keys": list(HAND_KEYS),
        "hands": [
            [_hand_row(one) for one in _hand_frames(frames, from_s, to_s)]
            for frames in replay.hands
        ],
        "gap_keys": list(GAP_KEYS),
        "gaps": [
            [gap.lane, round(gap.from_s, 2), round(gap.to_s, 2) if gap.to_s < math.inf else None]
            for gap in replay.gaps
            if _may_be_seen(replay, gap.lane, gap.from_s, gap.to_s, from_s, to_s)
        ],
        "spoilt_balls": [
            [lane, round(begins, 2), round(ends, 2)]
            for lane, spells in enumerate(replay.spoilt_balls)
            for begins, ends in spells
            if begins < to_s and ends > from_s
        ],
        "spoilt_keys": list(SPOILT_KEYS),
        "spoilt": [
            [one.lane, round(one.from_s, 2), round(one.to_s, 2), round(one.since_s, 2)]
            for one in replay.spoilt
            if one.since_s < to_s
            and _may_be_seen(replay, one.lane, one.from_s, one.to_s, from_s, to_s)
        ],
    }


def _may_be_seen(
    replay: Replay, lane: int, laid_from: float, laid_to: float, from_s: float, to_s: float
) -> bool:
    first = replay.lane_at(lane, from_s).clock_s - replay.layout.passage_s
    return laid_to > first and laid_from < replay.lane_at(lane, to_s).clock_s


def _lane_frames(replay: Replay, lane: int, from_s: float, to_s: float) -> list[LaneFrame]:
    frames = replay.lanes[lane]
    first = bisect_right(frames, from_s, key=lambda one: one.at_s)
    last = bisect_left(frames, to_s, key=lambda one: one.at_s)
    return [replay.lane_at(lane, from_s), *frames[first:last]]


def _hand_frames(frames: tuple[HandFrame, ...], from_s: float, to_s: float) -> list[HandFrame]:
    first = bisect_right(frames, from_s, key=lambda one: one.at_s)
    last = bisect_left(frames, to_s, key=lambda one: one.at_s)
    return [frames[max(first - 1, 0)], *frames[max(first, 1) : last]]


def _lane_row(frame: LaneFrame) -> list[float]:
    return [
        round(frame.at_s, 2),
        WINDER_ORDER.index(frame.winder),
        FEED_ORDER.index(frame.feed),
        int(frame.whole),
        int(frame.dry),
        int(frame.runs),
        int(frame.arrives),
        round(frame.buffer_m, 1),
        round(frame.on_ball_m, 1),
        frame.balls,
        frame.reserve,
        round(frame.clock_s, 2),
    ]


def _hand_row(frame: HandFrame) -> list[float]:
    return [
        round(frame.at_s, 2),
        round(frame.until_s, 2),
        HAND_ORDER.index(frame.state),
        frame.lane,
        int(frame.creel),
        frame.from_lane,
        int(frame.from_creel),
    ]
