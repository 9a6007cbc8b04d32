"""Strand of a drawn shift that stood too long in steamer or dryer, stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from clew.line.layout import Layout


class Runs(Protocol):
    """What is looked at of a lane's frame."""

    @property
    def turns(self) -> bool:
        """Whether the winder turns."""

    @property
    def buffer_m(self) -> float:
        """Strand in the buffer, before steam [m]."""

    @property
    def on_ball_m(self) -> float:
        """Strand on the mandrel, before steam [m]."""

    @property
    def at_s(self) -> float:
        """When it begins [s]."""

    @property
    def clock_s(self) -> float:
        """Running time of the belt so far [s]."""

    @property
    def runs(self) -> bool:
        """Whether the belt runs."""


@dataclass(frozen=True, slots=True)
class Spoilt:
    """A stretch of belt whose strand stood too long, by the belt's own running time.

    Attributes
    ----------
    lane : int
        Which lane.
    from_s, to_s : float
        When it was laid down, by the belt's running time [s].
    since_s : float
        From which moment of the shift on it had stood too long [s].
    """

    lane: int
    from_s: float
    to_s: float
    since_s: float


def spoilt_of(lane: int, frames: Sequence[Runs], layout: Layout) -> list[Spoilt]:
    """Find the strand of a lane that stood too long.

    Parameters
    ----------
    lane : int
        Which lane.
    frames : sequence of frames
        What it does.
    layout : Layout
        The line.

    Returns
    -------
    list of Spoilt
        Stretches, by the stop that spoilt them; they may lie over one another.

    Notes
    -----
    The last stops whose sum is more than can be spared spoil what had entered steamer or dryer
    before the first of them and had not left at the last. Source: as the simulation books it.
    """
    stops = list(_stops(frames, layout.shift_s))
    houses = (
        (layout.steam_from_s, layout.steam_s, layout.steam_longest_s),
        (layout.dry_from_s, layout.dry_s, layout.dry_longest_s),
    )
    found = []
    for from_s, window_s, longest_s in houses:
        spare_s = longest_s - window_s
        if not math.isfinite(spare_s):
            continue
        first, total_s = 0, 0.0
        for last, (clock_s, stood_s, ends_s) in enumerate(stops):
            total_s += stood_s
            while first < last and (
                stops[first][0] < clock_s - window_s or total_s - stops[first][1] > spare_s
            ):
                total_s -= stops[first][1]
                first += 1
            if total_s > spare_s:
                since_s = ends_s - min(total_s - spare_s, stood_s)
                laid_s = (clock_s - window_s - from_s, stops[first][0] - from_s)
                found.append(Spoilt(lane, *laid_s, since_s))
    return sorted(found, key=lambda one: one.since_s)


def spoilt_balls(
    frames: Sequence[Runs],
    gaps: Sequence[tuple[float, float]],
    spoilt: Sequence[Spoilt],
    layout: Layout,
) -> list[tuple[float, float]]:
    """Find when the ball on a winder holds strand that stood too long.

    Parameters
    ----------
    frames : sequence of frames
        What the lane does.
    gaps : sequence of (float, float)
        Where no strand lies on its belt, by the belt's running time [s], in order.
    spoilt : sequence of Spoilt
        Its strand that stood too long.
    layout : Layout
        The line.

    Returns
    -------
    list of (float, float)
        From when until when [s], in order.

    Notes
    -----
    Strand comes to the winder in the order it was laid down: what enters a ball now was laid before
    what waits in the buffer.
    """
    stretches = _merged(
        (_laid_m(one.from_s, gaps, layout), _laid_m(one.to_s, gaps, layout)) for one in spoilt
    )
    found: list[tuple[float, float]] = []
    ends = [*(frame.at_s for frame in frames[1:]), layout.shift_s]
    passed = 0
    for frame, ends_s in zip(frames, ends, strict=True):
        enters_m = _laid_m(frame.clock_s - layout.passage_s, gaps, layout) - frame.buffer_m
        begins_m = enters_m - frame.on_ball_m
        while passed < len(stretches) and stretches[passed][1] <= begins_m + _LEAST_M:
            passed += 1
        if passed == len(stretches):
            break
        reach_s = max(stretches[passed][0] - enters_m, 0.0) / layout.wind_m_per_s
        from_s = frame.at_s + reach_s
        held = frame.on_ball_m > 0.0 and reach_s == 0.0
        if (held or frame.turns) and from_s < ends_s:
            if found and found[-1][1] == from_s:
                from_s = found.pop()[0]
            found.append((from_s, ends_s))
    return found


_LEAST_M = 1e-6


def _laid_m(clock_s: float, gaps: Sequence[tuple[float, float]], layout: Layout) -> float:
    """Strand laid down until a running time of the belt, from the shift's beginning on [m]."""
    low_s, high_s = min(clock_s, 0.0), max(clock_s, 0.0)
    bare_s = sum(max(min(b, high_s) - max(a, low_s), 0.0) for a, b in gaps)
    return layout.feed_m_per_s * (clock_s - math.copysign(bare_s, clock_s))


def _merged(stretches: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for begins, ends in sorted(stretches):
        if found and begins <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], ends))
        elif ends > begins:
            found.append((begins, ends))
    return found


def _stops(frames: Sequence[Runs], shift_s: float) -> Iterator[tuple[float, float, float]]:
    """Stops of the belt: at which running time, for how long, until when [s]."""
    since: Runs | None = None
    for frame in frames:
        if not frame.runs and since is None:
            since = frame
        elif frame.runs and since is not None:
            yield since.clock_s, frame.at_s - since.at_s, frame.at_s
            since = None
    if since is not None:
        yield since.clock_s, shift_s - since.at_s, shift_s
