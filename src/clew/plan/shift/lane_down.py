"""If a lane is down: how much longer a run takes, and what becomes late."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from clew.line.layout import Layout
from clew.line.simulate.records import Floats
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.hours import LineHours
from clew.plan.shift.pace_draws import PaceDraws, pace_draws

_SURE_Z = 1.96
_NEVER_LATE_S = 60.0
"""Delays below a minute are none: the calendar counts minutes."""


@dataclass(frozen=True, slots=True)
class DownPace:
    """A line's pace with one lane less, in the same shifts.

    Attributes
    ----------
    draws : PaceDraws
        Its shifts; where the loss cannot be told, those of all lanes.
    told : bool
        Whether it surely winds less than all lanes do.
    """

    draws: PaceDraws
    told: bool


def with_lane_down(layout: Layout) -> Layout | None:
    """Take a lane off a line; None where it is the only one."""
    return None if layout.lanes == 1 else replace(layout, lanes=layout.lanes - 1)


def down_pace(whole: PaceDraws, *, seed: int) -> DownPace | None:
    """Simulate a line with one lane down.

    Parameters
    ----------
    whole : PaceDraws
        The line with all its lanes.
    seed : int
        What its shifts were drawn from.

    Returns
    -------
    DownPace or None
        None where no lane is left. A lane down never makes a line faster: where fewer lanes give
        more hands a lane, and chance favours them, the loss is nothing.

    Notes
    -----
    Lanes are alike, so that which one is down does not matter; the hands stay. Both lines meet the
    same shifts, and the loss is told when the mean of the differences is above 0 by 1.96 of its
    standard errors. Source: DERIVED.
    """
    fewer = with_lane_down(whole.layout)
    if fewer is None:
        return None
    number = len(whole.balls)
    found = pace_draws(fewer, replications=number, seed=seed)
    lost = np.asarray(whole.balls) - np.asarray(found.balls)
    error = float(lost.std()) / max(number - 1, 1) ** 0.5
    told = float(lost.mean()) > _SURE_Z * error
    return DownPace(found if float(lost.mean()) > 0.0 else whole, told)


def ends_s(draws: PaceDraws, start_s: Floats, balls: float) -> Floats:
    """Draw when so many balls are wound, from when they begin [s]."""
    return np.asarray(start_s + draws.takes_s(balls))


@dataclass(frozen=True, slots=True)
class Lateness:
    """What a delay makes late.

    Attributes
    ----------
    late : tuple of str
        Runs that become late, by name; not those that are late by the plan already.
    overtime_h : float
        Hours to be worked beside the plan so that none of them is [h].
    """

    late: tuple[str, ...]
    overtime_h: float


def made_late(runs: Sequence[TimedRun], delay_s: float, hours: LineHours) -> Lateness:
    """Say which runs of a line a delay of the first makes late.

    Parameters
    ----------
    runs : sequence of TimedRun
        The delayed run and all that come after it on its line, in the order of time.
    delay_s : float
        How much longer the first takes [s].
    hours : LineHours
        When the line works.

    Returns
    -------
    Lateness
        Late is what ends after the end of its due day. Where the line waits between two runs, the
        wait takes up as much of the delay.
    """
    late, overtime_s = [], 0.0
    left_s = delay_s
    before: datetime | None = None
    for one in runs:
        if before is not None:
            left_s -= min(left_s, hours.between_s(before, one.change_from))
        if left_s < _NEVER_LATE_S:
            break
        due = hours.due_end(one.run.due)
        end = hours.after(one.end, left_s)
        if one.end <= due < end:
            late.append(one.run.name)
            overtime_s = max(overtime_s, hours.between_s(due, end))
        before = one.end
    return Lateness(tuple(late), overtime_s / 3600.0)
