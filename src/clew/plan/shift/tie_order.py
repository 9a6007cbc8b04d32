"""Cones in the order in which they are fetched and tied: the first fill, then as lanes run out."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

_WHOLE = 1e-9
"""A need so little above a whole cone is that cone: rounding, not yarn."""


@dataclass(frozen=True, slots=True)
class TiedCone:
    """One cone with its place on the creel.

    Attributes
    ----------
    number : int
        Which cone of the run it is, from 1, in the order to fetch.
    lane, place : int
        Where it goes: lane, and place on that lane's creel, both from 1.
    nth : int
        Which cone of its lane it is, from 1; its head is tied to the tail of the one before.
    free_s : float
        When its place is free on average, from the run's start; 0 in the first fill [s].
    dry_s : float
        When the lane stands without it on average, from the run's start [s].
    spread_s : float
        Standard deviation of both [s].
    """

    number: int
    lane: int
    place: int
    nth: int
    free_s: float
    dry_s: float
    spread_s: float

    @property
    def first_fill(self) -> bool:
        """Whether it is on the creel before the run begins."""
        return self.free_s == 0.0


@dataclass(frozen=True, slots=True)
class TieOrder:
    """The cones of a run.

    Attributes
    ----------
    cones : tuple of TiedCone
        In the order to fetch.
    spare : int
        Cones of the run that no lane needs on average: tie them only when one runs short.
    short : int
        Cones that are missing on average: the strand of all of them does not suffice.
    empty_lanes : int
        Lanes that stand before the run ends on average, because they get a cone less than they
        would begin; the others make the last balls.
    begun_left : int
        Begun cones on the creel when the run ends, on average; whole ones are none, since no lane
        gets a cone that it would not begin.
    """

    cones: tuple[TiedCone, ...]
    spare: int
    short: int
    empty_lanes: int
    begun_left: int


def tie_order(
    cones: int,
    *,
    places: int,
    cone_s: Sequence[float],
    run_s: float,
    cone_cv: float = 0.0,
    pace_sd_per_root_s: float = 0.0,
) -> TieOrder:
    """Put the cones of a run into the order in which they are fetched and tied.

    Parameters
    ----------
    cones : int
        Cones there are for the run.
    places : int
        Places on each lane's creel.
    cone_s : sequence of float
        How long a cone lasts on average, lane by lane [s].
    run_s : float
        How long the lanes lay down strand for the run [s].
    cone_cv : float
        Standard deviation of a cone's length as a share of it [1].
    pace_sd_per_root_s : float
        Standard deviation of a lane's pace, as time gained or lost, for the root of the time
        [s/√s].

    Returns
    -------
    TieOrder
        First the first fill, lane after lane, each lane's cones tied tail to head; then one cone
        each time a lane has emptied a place, the lane that empties one soonest first, of two alike
        the one that stands soonest, then the lower lane. A lane gets no cone that it would not
        begin.

    Notes
    -----
    With k places the nth cone of a lane is begun when n - 1 cones are gone and finds its place free
    when n - k are gone. Cones are dealt to lanes one by one, to whichever would stand soonest, so
    that few cones are shared out evenly. Spread: lengths of cones independent of each other, and
    pace of independent stretches of time, so that both grow with the root. Source: DERIVED.
    """
    lanes = len(cone_s)
    needs = [_needed(run_s, each) for each in cone_s]
    dealt = _dealt(cones, needs, cone_s)
    listed = []
    for lane in range(lanes):
        for nth in range(1, dealt[lane] + 1):
            gone = max(nth - places, 0)
            listed.append((gone * cone_s[lane], (nth - 1) * cone_s[lane], lane, nth, gone))
    # The first fill goes lane after lane, whatever the lanes' paces are.
    listed.sort(key=lambda one: (one[0], one[2] if one[4] == 0 else 0, one[1], one[2]))
    tied = tuple(
        TiedCone(
            number, lane + 1, (nth - 1) % places + 1, nth, free_s, dry_s,
            math.hypot(
                cone_cv * cone_s[lane] * math.sqrt(gone), pace_sd_per_root_s * math.sqrt(free_s)
            ),
        )
        for number, (free_s, dry_s, lane, nth, gone) in enumerate(listed, start=1)
    )  # fmt: skip
    begun = sum(
        have == need and not _ends_with_cone(run_s, each)
        for have, need, each in zip(dealt, needs, cone_s, strict=True)
    )
    return TieOrder(
        cones=tied,
        spare=cones - len(tied),
        short=max(math.ceil(sum(run_s / each for each in cone_s) - _WHOLE) - cones, 0),
        empty_lanes=sum(have < need for have, need in zip(dealt, needs, strict=True)),
        begun_left=begun,
    )


def _needed(run_s: float, cone_s: float) -> int:
    """Cones that a lane begins in so long a time."""
    return max(math.ceil(run_s / cone_s - _WHOLE), 0)


def _ends_with_cone(run_s: float, cone_s: float) -> bool:
    gone = run_s / cone_s
    return abs(gone - round(gone)) <= _WHOLE


def _dealt(cones: int, needs: Sequence[int], cone_s: Sequence[float]) -> list[int]:
    """Deal cones to the lanes, each to the lane that would stand soonest without it."""
    dealt = [0] * len(needs)
    waiting = [(0.0, lane) for lane, need in enumerate(needs) if need]
    heapq.heapify(waiting)
    for _ in range(min(cones, sum(needs))):
        _, lane = heapq.heappop(waiting)
        dealt[lane] += 1
        if dealt[lane] < needs[lane]:
            heapq.heappush(waiting, (dealt[lane] * cone_s[lane], lane))
    return dealt
