"""How many raw metres a lane was fed, at any moment of the log."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from clew.line.tracker.clocks import RunClock, feed_clock
from clew.line.tracker.events import TIES, Event

UNIFORM_SD = 1.0 / math.sqrt(12.0)
"""Standard deviation of what may stand anywhere between two bounds, over their distance."""


@dataclass(frozen=True, slots=True)
class Feeding:
    """Raw strand fed into a lane against time.

    Attributes
    ----------
    at_s, fed_m : tuple of float
        When the counter was read [s], and the metres fed by then [m]; one point where no counter is
        read and the feed is clocked.
    clock : RunClock
        When the feed ran.
    feed_m_per_s : float
        Its speed while it runs [m/s].
    """

    at_s: tuple[float, ...]
    fed_m: tuple[float, ...]
    clock: RunClock
    feed_m_per_s: float

    def fed(self, at_s: float) -> tuple[float, float]:
        """Metres fed by a time, and how unsure that is.

        Parameters
        ----------
        at_s : float
            The time [s].

        Returns
        -------
        (float, float)
            Raw metres [m], counted from the same origin as ``fed_m``; their standard deviation [m].

        Notes
        -----
        Between two readings the feed can have run no faster than its speed while its clock ran:
        the middle of what is left, and 1/sqrt(12) of its width. Beyond the readings it is clocked.
        Source: DERIVED, the uniform distribution.
        """
        place = bisect_right(self.at_s, at_s) - 1
        if place < 0:
            return self.fed_m[0] - self._clocked(at_s, self.at_s[0]), 0.0
        since = self.fed_m[place] + self._clocked(self.at_s[place], at_s)
        if place == len(self.at_s) - 1:
            return since, 0.0
        before = self.fed_m[place + 1] - self._clocked(at_s, self.at_s[place + 1])
        low, high = max(self.fed_m[place], before), min(self.fed_m[place + 1], since)
        return 0.5 * (low + high), UNIFORM_SD * max(high - low, 0.0)

    def fed_about(self, at_s: float, sd_s: float, *, running: bool) -> tuple[float, float]:
        """Metres fed when something happened whose time is not sure.

        Parameters
        ----------
        at_s, sd_s : float
            When it was reported, and how unsure that is [s].
        running : bool
            Whether it can have happened only while the feed ran, or only while it stood.

        Returns
        -------
        (float, float)
            Raw metres [m] and their standard deviation [m].

        Notes
        -----
        Mean and spread over times of a normal distribution at which the feed ran, or stood; over
        all of them where there is no such time. Source: DERIVED.
        """
        if sd_s <= 0.0:
            return self.fed(at_s)
        times = [at_s + sd_s * x / 8.0 for x in range(-24, 25)]
        weights = [math.exp(-0.5 * (x / 8.0) ** 2) for x in range(-24, 25)]
        fits = [
            weight if self.clock.running(time_s) == running else 0.0
            for time_s, weight in zip(times, weights, strict=True)
        ]
        if sum(fits) > 0.0:
            weights = fits
        total = sum(weights)
        found = [self.fed(time_s) for time_s in times]
        mean = sum(w * fed for w, (fed, _) in zip(weights, found, strict=True)) / total
        var = sum(
            w * ((fed - mean) ** 2 + sd**2) for w, (fed, sd) in zip(weights, found, strict=True)
        )
        return mean, math.sqrt(var / total)

    def _clocked(self, from_s: float, to_s: float) -> float:
        return self.feed_m_per_s * (self.clock.reading_s(to_s) - self.clock.reading_s(from_s))


def feeding_of(events: Sequence[Event], lane: int, feed_m_per_s: float, start_s: float) -> Feeding:
    """Work out a lane's feeding from its events.

    Parameters
    ----------
    events : sequence of Event
        In order of time.
    lane : int
        The lane.
    feed_m_per_s : float
        Speed of the feed while it runs [m/s].
    start_s : float
        Moment from which metres are counted where no counter is read [s].

    Returns
    -------
    Feeding
        A counter that shows less than before was set back to 0; what was fed since its last
        reading up to then is clocked.
    """
    clock = feed_clock(events, lane)
    times: list[float] = []
    fed: list[float] = []
    added, last = 0.0, -math.inf
    for one in events:
        if one.lane != lane or one.value is None or one.kind not in ("feed", *TIES):
            continue
        if one.value < last:
            ran_s = clock.reading_s(one.at_s) - clock.reading_s(times[-1])
            added = fed[-1] + feed_m_per_s * ran_s - one.value
        last = one.value
        times.append(one.at_s)
        fed.append(added + one.value)
    if not times:
        times, fed = [start_s], [0.0]
    return Feeding(tuple(times), tuple(fed), clock, feed_m_per_s)
