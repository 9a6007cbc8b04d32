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
        How long the shift is [s].
    start_s : float
        When the run starts, after the shift's start; below 0 where it ran before [s].
    ends_here : bool
        Whether it ends in the shift.
    """

    fetch_at: datetime
    shift_from: datetime
    shift_s: float
    start_s: float
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
        at_s = clock.start_s + cone.free_s
        if at_s < 0.0:
            before += 1
            continue
        if cone.first_fill:
            free = Moment(clock.fetch_at, clock.fetch_at, clock.fetch_at)
        elif at_s < clock.shift_s:
            early_s, late_s = at_s - _SURE_Z * cone.spread_s, at_s + _SURE_Z * cone.spread_s
            early_s = max(early_s, clock.start_s, 0.0)
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
