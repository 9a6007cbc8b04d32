"""Strand of a drawn shift that stood too long in steamer or dryer, stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from clew.line.layout import Layout


class Runs(Protocol):
    """What is looked at of a lane's frame."""

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
