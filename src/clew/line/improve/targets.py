"""The feed speed and the buffer that reach a wanted output, found on the same shifts."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from clew.faults import BadInput, Fault
from clew.line.improve.changes import with_buffer
from clew.line.improve.paired import Progress, Tried, all_measures, checked_shifts, side_by_side
from clew.line.layout import Layout, checked_layout
from clew.line.layout_checks import layout_faults
from clew.line.simulate.answer import Estimate

Output = Literal["balls", "first_balls"]
OUTPUTS: tuple[Output, ...] = ("balls", "first_balls")
"""What may be wanted of a shift: full balls of either quality, or first-quality balls.

First-quality balls rise and fall in steps: a belt mostly stops while a full ball waits, so strand
that stood too long lies at a set distance from a ball's end, and lies in two balls or in three.
"""

STEPS = 12
"""Settings that are looked at before one is closed in on."""
FEED_DIGITS, BUFFER_DIGITS = 4, 3
"""Digits to which a feed in m/min and a buffer in m after steam are found, and printed."""
LEAST_BUFFER_FRAC = 0.02
"""Smallest buffer that is looked at, as a part of the present one."""


@dataclass(frozen=True, slots=True)
class Target:
    """A setting that reaches a wanted output, or why none does.

    Attributes
    ----------
    setting : {"feed", "buffer"}
        What is set.
    wanted : float
        Output wanted of a shift [1].
    output : {"balls", "first_balls"}
        What of.
    now, now_gives : float, Estimate
        The setting as it is [m/s] or [m], and its output.
    at : float or None
        The least setting whose mean reaches it, to as many digits as are printed, and looked at
        as such; None where none does [m/s] or [m].
    low, high : float or None
        The last setting before it that can be told to miss it, and the first that surely reaches
        it; None where there is none [m/s] or [m].
    gives, second_balls : Estimate or None
        The output there, and second-quality balls.
    most_at, most_gives : float, Estimate
        The best setting looked at and its output.
    tried_low, tried_high : float
        Settings looked at, from and to [m/s] or [m].
    stands : str
        What the winders mostly wait for at the best setting, in words.
    replications, seed : int
        Shifts drawn, and from what.
    """

    setting: Literal["feed", "buffer"]
    wanted: float
    output: Output
    now: float
    now_gives: Estimate
    at: float | None
    low: float | None
    high: float | None
    gives: Estimate | None
    second_balls: Estimate | None
    most_at: float
    most_gives: Estimate
    tried_low: float
    tried_high: float
    stands: str
    replications: int
    seed: int


@dataclass(slots=True)
class _Response:
    """What a setting gives, each looked at once."""

    made: Callable[[float], Layout]
    as_printed: Callable[[float], float]
    output: Output
    replications: int
    seed: int
    cores: int | None
    progress: Progress | None
    known: dict[float, dict[str, Estimate]]

    def all_of(self, setting: float) -> dict[str, Estimate]:
        if setting not in self.known:
            found = side_by_side(
                [Tried(self.made(setting), all_measures)],
                replications=self.replications,
                seed=self.seed,
                cores=self.cores,
            )
            self.known[setting] = {name: found.estimate(0, name) for name in found.names}
            if self.progress is not None:
                self.progress(len(self.known), max(len(self.known), MOST_LOOKS))
        return self.known[setting]

    def of(self, setting: float) -> Estimate:
        return self.all_of(setting)[self.output]


MOST_LOOKS = 40
"""About how many settings are looked at for one target, for a bar of progress."""


def feed_for(
    layout: Layout,
    wanted: float,
    *,
    output: Output = "balls",
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Progress | None = None,
) -> Target:
    """Find the least feed speed that reaches a wanted output.

    Parameters
    ----------
    layout : Layout
        The line; the belt keeps its speed.
    wanted : float
        Output wanted of a shift [1].
    output : {"balls", "first_balls"}
        What of.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the settings looked at, and about how many it will be.

    Returns
    -------
    Target
        The speed, before steam, with its interval; or the most that any speed gives.

    Raises
    ------
    BadInput
        When the layout, the wanted output, the seed or the number cannot be.

    Notes
    -----
    Speeds from a fifth of the winders' to a quarter above it are looked at, since past the winders'
    the feed only stops more often. All meet the same shifts, so full balls are a smooth curve of
    the speed. The lowest crossing is closed in on by halving, down to two speeds that differ by
    one of the last digit printed; the interval is where the ends of the output's interval cross.
    Source: DERIVED.
    """
    asked = _asked(layout, wanted, output, replications, seed)

    def at(speed_m_per_s: float) -> Layout:
        return replace(asked, feed_m_per_s=speed_m_per_s)

    def as_printed(speed_m_per_s: float) -> float:
        return _to_digits(60.0 * speed_m_per_s, FEED_DIGITS) / 60.0

    response = _Response(at, as_printed, output, replications, seed, cores, progress, {})
    low, high = 0.2 * asked.wind_m_per_s, 1.25 * asked.wind_m_per_s
    settings = [as_printed(low + (high - low) * step / STEPS) for step in range(STEPS + 1)]
    return _target("feed", response, wanted, asked.feed_m_per_s, settings)


def buffer_for(
    layout: Layout,
    wanted: float,
    *,
    output: Output = "balls",
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Progress | None = None,
) -> Target:
    """Find the least buffer that reaches a wanted output.

    Parameters
    ----------
    layout : Layout
        The line; winder and belt go on at the same part of the buffer as now.
    wanted : float
        Output wanted of a shift [1].
    output : {"balls", "first_balls"}
        What of.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the settings looked at, and about how many it will be.

    Returns
    -------
    Target
        The buffer, before steam, with its interval; or the most that any buffer gives.

    Raises
    ------
    BadInput
        When the layout, the wanted output, the seed or the number cannot be.

    Notes
    -----
    As `feed_for`, from a fiftieth of the present buffer to twenty balls or ten times the present
    one. A buffer brings its restarts with it, as `clew.line.improve.changes.with_buffer` says.
    Source: DERIVED.
    """
    asked = _asked(layout, wanted, output, replications, seed)

    def at(buffer_m: float) -> Layout:
        return with_buffer(asked, buffer_m)

    kept = 1.0 - asked.shrink_frac

    def as_printed(buffer_m: float) -> float:
        return _to_digits(kept * buffer_m, BUFFER_DIGITS) / kept

    response = _Response(at, as_printed, output, replications, seed, cores, progress, {})
    low = LEAST_BUFFER_FRAC * asked.buffer_m
    high = max(10.0 * asked.buffer_m, 20.0 * asked.ball_m)
    settings = [as_printed(low * (high / low) ** (step / STEPS)) for step in range(STEPS + 1)]
    usable = [one for one in settings if not layout_faults(at(one))]
    return _target("buffer", response, wanted, asked.buffer_m, usable)


def _asked(layout: Layout, wanted: float, output: str, replications: int, seed: int) -> Layout:
    checked_shifts(seed, replications)
    faults = []
    if not 0.0 < wanted < math.inf:
        faults.append(
            Fault(
                "an output that cannot be meant", "more than 0", key="wanted", value=f"{wanted:g}"
            )
        )
    if output not in OUTPUTS:
        faults.append(
            Fault("no such output", f"one of {', '.join(OUTPUTS)}", key="output", value=output)
        )
    if faults:
        raise BadInput(faults)
    return checked_layout(layout)


def _target(
    setting: Literal["feed", "buffer"],
    response: _Response,
    wanted: float,
    now: float,
    settings: list[float],
) -> Target:
    now_gives = response.of(now)
    others = [one for one in settings if not math.isclose(one, now, rel_tol=1e-9)]
    every = sorted({*others, now})
    gives = [response.of(one) for one in every]
    best = max(range(len(every)), key=lambda place: (gives[place].mean, -place))

    def crossing(end: Callable[[Estimate], float]) -> tuple[float | None, float | None]:
        return _crossing(every, lambda one: end(response.of(one)) - wanted, response.as_printed)

    _, at = crossing(lambda one: one.mean)
    surely_misses, _ = crossing(lambda one: one.high)
    _, surely_reaches = crossing(lambda one: one.low)
    return Target(
        setting=setting,
        wanted=wanted,
        output=response.output,
        now=now,
        now_gives=now_gives,
        at=at,
        low=None if at is None else surely_misses,
        high=surely_reaches,
        gives=None if at is None else response.of(at),
        second_balls=None if at is None else response.all_of(at)["second_balls"],
        most_at=every[best],
        most_gives=gives[best],
        tried_low=every[0],
        tried_high=every[-1],
        stands=_stands(response.all_of(every[best])),
        replications=response.replications,
        seed=response.seed,
    )


def _crossing(
    settings: list[float],
    short_by: Callable[[float], float],
    as_printed: Callable[[float], float],
) -> tuple[float | None, float | None]:
    """Close in on the first setting that is not short: the last short one, and it."""
    for place, first in enumerate(settings):
        if short_by(first) < 0.0:
            continue
        if place == 0:
            return None, first
        short, reaches = settings[place - 1], first
        while short < (middle := as_printed(0.5 * (short + reaches))) < reaches:
            if short_by(middle) < 0.0:
                short = middle
            else:
                reaches = middle
        return short, reaches
    return settings[-1], None


def _to_digits(value: float, digits: int) -> float:
    """Round to so many significant digits."""
    return round(value, digits - 1 - math.floor(math.log10(value)))


_STANDS = {
    "winder_winding_s": "the winders wind nearly all the time: faster ones or more lanes give more",
    "winder_waiting_for_doff_s": "full balls wait for a hand: more hands or faster doffs give more",
    "winder_doffing_s": "doffing itself takes the winders' time: faster doffs give more",
    "winder_starved_s": "the winders run dry: cones, breaks at the feed or its speed hold them up",
    "winder_broken_s": "breaks at the winder hold it up",
    "winder_changing_s": "colour changes hold it up",
    "winder_resting_s": "the hands rest: a stand-in gives more",
}


def _stands(found: dict[str, Estimate]) -> str:
    """Say what holds the line up: the feed where the belt hardly stops, else what winders do."""
    seconds = {name: found[name].mean for name in _STANDS}
    total_s = sum(seconds.values())
    winding_s = seconds.pop("winder_winding_s")
    if (
        found["feed_full_s"].mean < 0.005 * total_s
        and seconds["winder_starved_s"] > 0.005 * total_s
    ):
        return "the feed hardly ever stands: only a faster feed or more lanes give more"
    if winding_s > 0.95 * total_s:
        return _STANDS["winder_winding_s"]
    return _STANDS[max(seconds, key=lambda name: seconds[name])]
