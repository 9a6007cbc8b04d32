"""Clocks that run only while the belt runs, or while belt and feed both do."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from clew.line.tracker.events import Event


@dataclass(frozen=True, slots=True)
class RunClock:
    """A clock that stands while something stands.

    Attributes
    ----------
    at_s : tuple of float
        When it was started or stopped [s], increasing.
    shows_s : tuple of float
        What it showed then [s].
    runs : tuple of bool
        Whether it ran from then on.
    ran_before : bool
        Whether it ran before the first of them.
    """

    at_s: tuple[float, ...]
    shows_s: tuple[float, ...]
    runs: tuple[bool, ...]
    ran_before: bool = True

    def reading_s(self, at_s: float) -> float:
        """What the clock shows at a time [s]."""
        place = bisect_right(self.at_s, at_s) - 1
        if place < 0:
            first = self.at_s[0] if self.at_s else 0.0
            return (at_s - first) if self.ran_before else 0.0
        return self.shows_s[place] + (at_s - self.at_s[place] if self.runs[place] else 0.0)

    def running(self, at_s: float) -> bool:
        """Whether it runs from that time on."""
        place = bisect_right(self.at_s, at_s) - 1
        return self.ran_before if place < 0 else self.runs[place]

    def when_s(self, reading_s: float) -> float:
        """When the clock last showed a reading [s], the moment it was let go on from there."""
        if not self.at_s or reading_s < 0.0:
            return reading_s + (self.at_s[0] if self.at_s else 0.0)
        place = bisect_right(self.shows_s, reading_s) - 1
        return self.at_s[place] + (reading_s - self.shows_s[place] if self.runs[place] else 0.0)


def run_clock(switches: Iterable[tuple[float, bool]]) -> RunClock:
    """Make a clock from its switchings, in order of time.

    Parameters
    ----------
    switches : iterable of (float, bool)
        When [s], and whether it runs from then on. Switched to what it is already: no change.

    Returns
    -------
    RunClock
        It ran before the first switching if that one stops it.
    """
    times: list[float] = []
    shows: list[float] = []
    runs: list[bool] = []
    before = True
    for at_s, on in switches:
        if not times:
            before = not on
            times, shows, runs = [at_s], [0.0], [on]
        elif runs[-1] != on:
            shows.append(shows[-1] + (at_s - times[-1] if runs[-1] else 0.0))
            times.append(at_s)
            runs.append(on)
    return RunClock(tuple(times), tuple(shows), tuple(runs), before)


def belt_clock(events: Iterable[Event], lane: int) -> RunClock:
    """Make the belt's clock of a lane, from events in order of time."""
    return run_clock(_switchings(events, lane, "belt"))


def feed_clock(events: Iterable[Event], lane: int) -> RunClock:
    """Make the feed's clock of a lane: lay-down runs while the belt runs and the feed is whole."""
    listed = tuple(events)
    belt, feed = (run_clock(_switchings(listed, lane, what)) for what in ("belt", "feed"))
    times = sorted({*belt.at_s, *feed.at_s})
    both = [(at_s, belt.running(at_s) and feed.running(at_s)) for at_s in times]
    before = belt.ran_before and feed.ran_before
    return run_clock(both[next((n for n, (_, on) in enumerate(both) if on != before), len(both)) :])


def _switchings(events: Iterable[Event], lane: int, what: str) -> list[tuple[float, bool]]:
    """List when belt or feed was switched; on and off at one instant leave it as it was."""
    said: dict[float, set[bool]] = {}
    for one in events:
        if one.kind in (f"{what} on", f"{what} off") and one.lane in (0, lane):
            said.setdefault(one.at_s, set()).add(one.kind == f"{what} on")
    return [(at_s, ons.pop()) for at_s, ons in said.items() if len(ons) == 1]
