"""The cones of a run that fall into the shift, by the clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from clew.line.simulate.answer import ShiftAnswer
from clew.mill.model import Mill
from clew.plan.runs import PlannedRun
from clew.plan.shift.hours import later
from clew.plan.shift.pace_draws import PaceDraws, pace_sd_per_root_s
from clew.plan.shift.terms import ConeCall, ConesOfRun, Moment
from clew.plan.shift.tie_order import tie_order

_SURE_Z = 1.96
"""95 of 100 of a normal distribution lie within so many standard deviations."""
_NOT_FED_S = 1e12
"""How long a cone lasts in a lane that is not fed."""


@dataclass(frozen=True, slots=True)
class RunClock:
    """Where a run's own time stands on the clock.

    Attributes
    ----------
    fetch_at : datetime
        When its first fill should stand by the creel.
    shift_from : datetime
        When the shift begins.
    shift_s : float
        How much of the shift is worked [s].
    start_s : float
        When the run starts on average, after the shift's start; below 0 where it ran before [s].
    planned_start_s : float
        When it starts by the plan, in the same way [s].
    planned_pace : float
        Time that the plan gives the run, over the time it takes on average [1].
    filled_before : bool
        Whether its change began before the shift, and its first fill was fetched then.
    ends_here : bool
        Whether it ends in the shift, by the plan.
    """

    fetch_at: datetime
    shift_from: datetime
    shift_s: float
    start_s: float
    planned_start_s: float
    planned_pace: float
    filled_before: bool
    ends_here: bool


def cone_times_s(answer: ShiftAnswer) -> tuple[float, ...]:
    """How long a cone lasts in each lane on average, stops of the line in it [s]."""
    layout = answer.layout
    return tuple(
        layout.cone_m * layout.shift_s / lane.laid_m if lane.laid_m > 0.0 else _NOT_FED_S
        for lane in answer.lanes
    )


def cones_of_run(
    mill: Mill, run: PlannedRun, answer: ShiftAnswer, draws: PaceDraws, clock: RunClock
) -> ConesOfRun:
    """Say which cones of a run are fetched in the shift, when, and where they go.

    Parameters
    ----------
    mill : Mill
        The mill.
    run : PlannedRun
        The run.
    answer : ShiftAnswer
        A shift of it, simulated: how much each lane lays down.
    draws : PaceDraws
        Its pace.
    clock : RunClock
        Where its time stands on the clock.

    Returns
    -------
    ConesOfRun
        Its cones in tie order.

    Notes
    -----
    Which shift a cone is fetched in goes by the plan's own times, so that every cone stands on the
    list of one shift, and of no other; when, by the mean of the simulated shifts.
    """
    layout = answer.layout
    order = tie_order(
        run.cones,
        places=layout.cones_per_lane,
        cone_s=cone_times_s(answer),
        run_s=run.wound_balls / draws.balls_per_s,
        cone_cv=layout.cone_cv,
        pace_sd_per_root_s=pace_sd_per_root_s(draws),
    )
    calls, before, after = [], 0, 0
    for cone in order.cones:
        at_s = min(max(clock.start_s + cone.free_s, 0.0), clock.shift_s)
        planned_s = clock.planned_start_s + clock.planned_pace * cone.free_s
        if clock.filled_before if cone.first_fill else planned_s < 0.0:
            before += 1
            continue
        if cone.first_fill:
            free = Moment(clock.fetch_at, clock.fetch_at, clock.fetch_at)
        elif planned_s < clock.shift_s:
            early_s, late_s = at_s - _SURE_Z * cone.spread_s, at_s + _SURE_Z * cone.spread_s
            early_s = min(max(early_s, clock.start_s, 0.0), at_s)
            free = Moment(*(later(clock.shift_from, one) for one in (at_s, early_s, late_s)))
        else:
            after += 1
            continue
        dry_at = later(clock.shift_from, clock.start_s + cone.dry_s)
        calls.append(
            ConeCall(
                cone.number, cone.lane, cone.place, cone.nth, cone.first_fill, free, dry_at
            )
        )  # fmt: skip
    yarn = mill.find_yarn(run.yarn_name)
    lift_g = mill.safety.heaviest_lift_g
    return ConesOfRun(
        calls=tuple(calls),
        before=before,
        later=after,
        spare=order.spare if clock.ends_here else 0,
        short=order.short,
        empty_lanes=order.empty_lanes if clock.ends_here else 0,
        begun_left=order.begun_left if clock.ends_here else 0,
        cone_g=yarn.cone_mass_g,
        per_load=None if lift_g is None else int(lift_g / yarn.cone_mass_g + 1e-9),
    )
