"""Runs of a plan that was written down, with their times: the starts of the file are kept."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.plan.pace import Pace, pace_of
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import ChangeBook, LineNow
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.hours import LineHours

_SURE_Z = 1.96
_BEFORE = timedelta(days=30)
"""A line's first change is looked for no farther before its first run."""


def timed_from_present(
    mill: Mill,
    runs: Sequence[PlannedRun],
    present: Sequence[PresentRun],
    *,
    lines_now: Mapping[str, LineNow] | None = None,
    file: str = "",
) -> tuple[TimedRun, ...]:
    """Time the runs of a written plan.

    Parameters
    ----------
    mill : Mill
        The mill.
    runs : sequence of PlannedRun
        The runs that the orders make.
    present : sequence of PresentRun
        The plan as it was read; it need not have all of them.
    lines_now : mapping of str to LineNow, optional
        What is in each line before its first run; a line left out is empty.
    file : str
        The plan's file, for the faults.

    Returns
    -------
    tuple of TimedRun
        By line and in time.

    Raises
    ------
    BadInput
        When the plan has a run that the orders do not make, or has it on a line that may not.

    Notes
    -----
    A run begins when the plan says, its change as much earlier as it takes, and never before the
    run ahead of it ends on average. It ends after its balls at the pace of a simulated shift, in
    working hours; early and late by the spread of a shift times the root of its shifts.
    Source: DERIVED.
    """
    known = {run.name.casefold(): run for run in runs}
    faults = []
    for one in present:
        run = known.get(one.run_name.casefold())
        if run is None:
            names = joined(", ", (run.name for run in runs))
            faults.append(
                Fault(
                    say("a run that the orders do not make"),
                    say("one of {runs}", runs=names or say("no runs")),
                    file,
                    key="run",
                    value=one.run_name,
                )
            )
        elif one.line_name not in run.lines:
            faults.append(
                Fault(
                    say("a line that may not make this run"),
                    say("one of {lines}", lines=joined(", ", run.lines)),
                    file,
                    key="line",
                    value=say("{line}, run {run}", line=one.line_name, run=one.run_name),
                )
            )
    if faults:
        raise BadInput(faults)
    changes = ChangeBook(mill)
    found: list[TimedRun] = []
    for line in mill.line:
        mine = sorted(
            (one for one in present if one.line_name == line.name),
            key=lambda one: (one.place, one.start),
        )
        if not mine:
            continue
        since = min(one.start for one in mine) - _BEFORE
        hours = LineHours(mill, line.name, since)
        before: TimedRun | None = None
        for one in mine:
            run = known[one.run_name.casefold()]
            now = (lines_now or {}).get(line.name)
            was = now if before is None else before.run
            change = changes.between(line.name, was, run)
            said = one.start.astimezone(hours.calendar.rules.zone)
            start = said if before is None else max(said, before.end)
            free = since if before is None else before.end
            change_from = _earlier(hours, start, change.stand_s, free)
            pace = pace_of(mill, line.name, run.ball_name)
            before = TimedRun(
                run, line.name, change, change_from, start, *_ends(hours, start, pace, run), 0.0
            )  # fmt: skip
            found.append(before)
    return tuple(found)


def _earlier(hours: LineHours, start: datetime, stand_s: float, free: datetime) -> datetime:
    """Say when a change begins, so that it is done at the start; not before the line is free."""
    worked_s = max(hours.between_s(free, start) - stand_s, 0.0)
    return min(hours.begins_after(free, worked_s), start)


def _ends(
    hours: LineHours, start: datetime, pace: Pace, run: PlannedRun
) -> tuple[datetime, datetime, datetime]:
    run_s = pace.run_s(run.wound_balls)
    one_shift_s = 3600.0 * pace.balls_sd_per_shift / pace.balls_per_h
    reach_s = _SURE_Z * one_shift_s * math.sqrt(run_s / pace.shift_s)
    end, early, late = (
        hours.after(start, max(one, 0.0)) for one in (run_s, run_s - reach_s, run_s + reach_s)
    )
    return end, early, late
