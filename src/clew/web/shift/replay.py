"""One drawn shift as frames: what every lane and hand does from each change to its next.

A frame tells all of a lane, so that a drawing needs only the last one before a moment. Between two
frames the buffer, the ball and the belt run straight, by the rates that the frame's states give.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import zip_longest

from clew.line.layout import Layout
from clew.line.simulate.timeline import HandChange, LaneChange, Timeline, timeline
from clew.web.shift.spoilt import Spoilt, spoilt_balls, spoilt_of

WINDING = "winding"
STARVED = "starved"
LOADED = "served: load"
_STANDS = (STARVED, "broken", "changing", "served: feed", "served: colour")
"""States of a feed that lays down no strand; while a cone is loaded it may go on."""
_MOMENT_S = 1e-6
_ARRIVES = {"strand arrives": True, "a gap arrives": False}


@dataclass(frozen=True, slots=True)
class LaneFrame:
    """What one lane does from a moment on.

    Attributes
    ----------
    at_s : float
        The moment [s].
    winder, feed : str
        Their states, in the words of `clew.line.simulate.timeline`.
    whole, dry, runs, arrives : bool
        Whether the strand at the feed is whole, the feed waits for a cone, the belt runs, and
        strand reaches its end.
    buffer_m, on_ball_m : float
        Strand in the buffer and on the mandrel, before steam [m].
    balls, reserve : int
        Full balls so far, and tied cones behind the one that runs.
    clock_s : float
        Running time of the belt so far [s].
    """

    at_s: float
    winder: str
    feed: str
    whole: bool
    dry: bool
    runs: bool
    arrives: bool
    buffer_m: float
    on_ball_m: float
    balls: int
    reserve: int
    clock_s: float

    @property
    def turns(self) -> bool:
        """Whether the winder turns."""
        return self.winder == WINDING

    def moved_to(self, at_s: float, layout: Layout) -> LaneFrame:
        """Let time pass, nothing changing [s]."""
        past_s = at_s - self.at_s
        wound_m = layout.wind_m_per_s * past_s if self.turns else 0.0
        came_m = layout.feed_m_per_s * past_s if self.runs and self.arrives else 0.0
        return replace(
            self,
            at_s=at_s,
            buffer_m=min(max(self.buffer_m + came_m - wound_m, 0.0), layout.buffer_m),
            on_ball_m=min(self.on_ball_m + wound_m, layout.ball_m),
            clock_s=self.clock_s + (past_s if self.runs else 0.0),
        )


@dataclass(frozen=True, slots=True)
class HandFrame:
    """What one hand does from a moment on.

    Attributes
    ----------
    at_s, until_s : float
        From when, and until what he does next [s].
    state : str
        What he does.
    lane, from_lane : int
        Where he is or goes to, and where he came from.
    creel, from_creel : bool
        Whether at the creels' end.
    """

    at_s: float
    until_s: float
    state: str
    lane: int
    creel: bool
    from_lane: int
    from_creel: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch of belt on which no strand was laid, by the belt's own running time [s]."""

    lane: int
    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Replay:
    """A shift as frames.

    Attributes
    ----------
    layout : Layout
        The line.
    seed, replication : int
        Which shift.
    lanes : tuple of tuple of LaneFrame
        Frames of each lane, in the order of time.
    hands : tuple of tuple of HandFrame
        Likewise of each hand.
    gaps : tuple of Gap
        Gaps on the belts.
    spoilt : tuple of Spoilt
        Strand that stood too long in steamer or dryer since the shift began.
    spoilt_balls : tuple of tuple of (float, float)
        For each lane: from when until when the ball on its winder holds such strand [s].
    """

    layout: Layout
    seed: int
    replication: int
    lanes: tuple[tuple[LaneFrame, ...], ...]
    hands: tuple[tuple[HandFrame, ...], ...]
    gaps: tuple[Gap, ...]
    spoilt: tuple[Spoilt, ...]
    spoilt_balls: tuple[tuple[tuple[float, float], ...], ...]

    def lane_at(self, lane: int, at_s: float) -> LaneFrame:
        """What a lane does at a moment [s]."""
        frames = self.lanes[lane]
        place = bisect_right(frames, at_s, key=lambda frame: frame.at_s) - 1
        return frames[max(place, 0)].moved_to(at_s, self.layout)

    def hand_at(self, hand: int, at_s: float) -> HandFrame:
        """What a hand does at a moment [s]."""
        frames = self.hands[hand]
        return frames[max(bisect_right(frames, at_s, key=lambda frame: frame.at_s) - 1, 0)]

    def ball_spoilt(self, lane: int, at_s: float) -> bool:
        """Whether the ball on a lane's winder holds strand that stood too long, at a moment [s]."""
        spells = self.spoilt_balls[lane]
        place = bisect_right(spells, at_s, key=lambda one: one[0]) - 1
        return place >= 0 and at_s < spells[place][1]

    def gaps_on(self, lane: int, clock_s: float) -> tuple[tuple[float, float], ...]:
        """Gaps on a lane's belt when it has run so long, as parts of its way [1]."""
        way_s = self.layout.passage_s
        found = (
            ((clock_s - gap.to_s) / way_s, (clock_s - gap.from_s) / way_s)
            for gap in self.gaps
            if gap.lane == lane
        )
        return tuple((max(a, 0.0), min(b, 1.0)) for a, b in found if b > 0.0 and a < 1.0)

    def spoilt_on(self, lane: int, at_s: float, clock_s: float) -> tuple[tuple[float, float], ...]:
        """Strand on a lane's belt that has stood too long by a moment, as parts of its way [1]."""
        way_s = self.layout.passage_s
        found = (
            ((clock_s - one.to_s) / way_s, (clock_s - one.from_s) / way_s)
            for one in self.spoilt
            if one.lane == lane and one.since_s <= at_s
        )
        return tuple((max(a, 0.0), min(b, 1.0)) for a, b in found if b > 0.0 and a < 1.0)


@lru_cache(maxsize=16)
def replay_for(layout: Layout, seed: int, replication: int = 0) -> Replay:
    """Run the shift that a page draws, once."""
    return replay_of(timeline(layout, seed=seed, replication=replication))


def replay_of(shift: Timeline) -> Replay:
    """Turn a timeline into frames.

    Parameters
    ----------
    shift : Timeline
        One shift.

    Returns
    -------
    Replay
        The same as frames.

    Notes
    -----
    Tied cones are counted from the changes of the feed: a change at the end of a loading brings
    one, any other that finds the feed going on or starved took one; a next colour begins with
    none. The line ran before the shift: how many were tied then shows when a lane starves or, where
    none does, by its creel being full at some time; what lay on the belt shows as it arrives.
    """
    layout = shift.layout
    served: dict[tuple[int, float], str] = {}
    by_hand: list[list[HandChange]] = [[] for _ in range(layout.hands)]
    for change in shift.hands:
        by_hand[change.hand].append(change)
    hands = tuple(tuple(_hand_frames(mine, layout.shift_s, served)) for mine in by_hand)
    by_lane: list[list[LaneChange]] = [[] for _ in range(layout.lanes)]
    for one in shift.lanes:
        by_lane[one.lane].append(one)
    lanes = tuple(tuple(_lane_frames(layout, mine, served)) for mine in by_lane)
    gaps = tuple(
        gap for lane, frames in enumerate(lanes) for gap in _gaps(lane, frames, layout.passage_s)
    )
    spoilt = tuple(
        one for lane, frames in enumerate(lanes) for one in spoilt_of(lane, frames, layout)
    )
    balls = tuple(
        tuple(
            spoilt_balls(
                frames,
                [(gap.from_s, gap.to_s) for gap in gaps if gap.lane == lane],
                [one for one in spoilt if one.lane == lane],
                layout,
            )
        )
        for lane, frames in enumerate(lanes)
    )
    return Replay(layout, shift.seed, shift.replication, lanes, hands, gaps, spoilt, balls)


def _hand_frames(
    changes: list[HandChange], shift_s: float, served: dict[tuple[int, float], str]
) -> Iterator[HandFrame]:
    """What a hand does, change by change; note which service at the creels ends when."""
    came_from = (changes[0].lane, False)
    for change, following in zip_longest(changes, changes[1:]):
        creel = change.end == "creel"
        until_s = shift_s if following is None else following.at_s
        if creel and change.state.startswith("serves: "):
            served[change.lane, until_s] = change.state.removeprefix("serves: ")
        yield HandFrame(change.at_s, until_s, change.state, change.lane, creel, *came_from)
        came_from = (change.lane, creel)


@dataclass(slots=True)
class _Tied:
    """Tied cones of a lane: counted from none until one count is told, and all before it by it."""

    full: int
    now: int = 0
    most: int = 0
    first: int | None = None
    told_at: int = 0

    def change(self, state: str, served: str, lane: LaneFrame, place: int) -> None:
        """Count a change of the feed, which comes after so many frames."""
        if served == "colour" or state == STARVED:
            if self.first is None:
                self.first = -self.now if state == STARVED else self.full - self.most
                self.told_at = place
            self.now = 0
        elif served == "load":
            self.now += not lane.dry
        elif state == "feeding" and lane.whole:
            self.now -= 1
        if self.first is not None:
            self.now = min(max(self.now, 0), self.full)
        self.most = max(self.most, self.now)

    def settled(self, frames: list[LaneFrame]) -> list[LaneFrame]:
        """Set the frames that came before a count was told."""
        told_at = len(frames) if self.first is None else self.told_at
        first = self.full - self.most if self.first is None else self.first
        early = (
            replace(one, reserve=min(max(one.reserve + first, 0), self.full))
            for one in frames[:told_at]
        )
        return [*early, *frames[told_at:]]


def _lane_frames(
    layout: Layout, changes: list[LaneChange], ended: dict[tuple[int, float], str]
) -> list[LaneFrame]:
    tied = _Tied(layout.cones_per_lane - 1)
    frames: list[LaneFrame] = []
    now = LaneFrame(
        at_s=0.0, winder=WINDING, feed="feeding", whole=True, dry=False, runs=True, arrives=True,
        buffer_m=layout.start_buffer_frac * layout.buffer_m, on_ball_m=0.0, balls=0, reserve=0,
        clock_s=0.0,
    )  # fmt: skip
    for change in changes:
        state, at_s = change.state, change.at_s
        now = now.moved_to(at_s, layout)
        if change.buffer_m is not None and change.on_ball_m is not None:
            now = replace(now, buffer_m=change.buffer_m, on_ball_m=max(change.on_ball_m, 0.0))
        if change.part == "winder":
            more = state == "waits for doff" and at_s > 0.0
            now = replace(now, winder=state, balls=now.balls + more)
        elif state in _ARRIVES:
            now = replace(now, arrives=_ARRIVES[state])
        elif change.part == "belt":
            now = replace(now, runs=state == "running")
        elif at_s == 0.0:  # what held when the shift began
            dry = state == STARVED or (state == LOADED and _empty_at_first(changes, layout))
            now = replace(now, feed=state, dry=dry, whole=state not in _STANDS and not dry)
            tied.first = 0 if dry else None
        else:
            if state != LOADED:
                tied.change(state, ended.get((change.lane, at_s), ""), now, len(frames))
                now = replace(now, whole=state not in _STANDS, dry=state == STARVED)
            now = replace(now, feed=state, reserve=tied.now)
        if frames and frames[-1].at_s == at_s:
            frames.pop()
        frames.append(now)
    return tied.settled(frames)


def _empty_at_first(changes: list[LaneChange], layout: Layout) -> bool:
    """Whether no strand was laid when the shift began: what then lay at the feed shows later."""
    at_s = clock_s = 0.0
    runs = arrives = True
    for change in changes:
        clock_s += change.at_s - at_s if runs else 0.0
        at_s = change.at_s
        if clock_s > layout.passage_s:
            break
        if change.part == "belt":
            runs = runs if change.state in _ARRIVES else change.state == "running"
            arrives = _ARRIVES.get(change.state, arrives)
    return not arrives


def _gaps(lane: int, frames: tuple[LaneFrame, ...], passage_s: float) -> list[Gap]:
    """Gaps of a belt: those that lay there when the shift began, as they arrive, and its own."""
    found: list[Gap] = []
    since: float | None = None
    for frame in frames:
        laid_s = frame.clock_s - passage_s
        if laid_s > -_MOMENT_S:
            break
        if not frame.arrives and since is None:
            since = laid_s
        elif frame.arrives and since is not None:
            found.append(Gap(lane, since, laid_s))
            since = None
    if since is not None and frames[0].whole:
        found.append(Gap(lane, since, 0.0))
        since = None
    for frame in frames:
        if not frame.whole and since is None:
            since = frame.clock_s
        elif frame.whole and since is not None:
            if frame.clock_s > since:
                found.append(Gap(lane, since, frame.clock_s))
            since = None
    if since is not None:
        found.append(Gap(lane, since, float("inf")))
    return found
