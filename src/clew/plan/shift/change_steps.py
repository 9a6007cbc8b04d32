"""What hands do at a change, in order."""

from __future__ import annotations

import math

from clew.plan.runs import PlannedRun
from clew.plan.sequence.timed_run import Change
from clew.plan.shift.hours import time_words
from clew.quantities import LENGTH, MASS, Kind, UnitSystem, in_unit


def change_steps(
    change: Change,
    run: PlannedRun,
    before_lot: str | None,
    *,
    lanes: int,
    units: UnitSystem = "metric",
) -> tuple[str, ...]:
    """Say what to do at a change, step by step.

    Parameters
    ----------
    change : Change
        What it takes.
    run : PlannedRun
        The run that comes.
    before_lot : str or None
        The dye lot that is on the line; None where the line is empty.
    lanes : int
        Lanes of the line.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    tuple of str
        Steps in order; one where nothing changes.

    Notes
    -----
    Source: common practice, no published source. How much and how long is the plan's.
    """
    lot = f"lot {run.lot_name}" if run.lot_name else f"{run.yarn_name} in {run.colour_name}"
    if change.kind == "none":
        return (f"Nothing changes: go on with {lot}.",)
    steps = []
    if before_lot is not None:
        old = f"lot {before_lot}" if before_lot else "the old lot"
        steps.append(
            f"Take every cone of {old} off the creel; mark the begun ones and send them back."
        )
    if change.clean_s > 0.0:
        took = time_words(change.clean_s)
        steps.append(
            f"Clean creel, guides, rollers, belt and winders of fluff of the darker colour: {took} "
            "are planned. Lock out before you reach in."
        )
    if change.kind == "yarn":
        steps.append(
            f"Thread {lot} anew through all {lanes} lanes; set feed, belt, steam and dryer as the "
            "run card says."
        )
    else:
        steps.append(f"Tie {lot} to the running ends, lane by lane, and see each tie through.")
    if change.kind in ("ball", "yarn"):
        steps.append(f"Fit the mandrels and set every winder's counter for {run.ball_name}.")
    if change.second_balls > 0.0:
        steps.append(
            "Pull the part balls and balls that hold both: about "
            f"{change.second_balls:.0f} go to second quality."
        )
    if change.strand_m > 0.0:
        steps.append(
            f"Throw away what lies between: about {_rough(change.strand_m, LENGTH, units)} "
            f"({_rough(1000.0 * change.waste_kg, MASS, units, 'kg', 'lb')})."
        )
    steps.append("Change the bands, and weigh and measure the first balls.")
    return tuple(steps)


def _rough(value: float, kind: Kind, units: UnitSystem, metric: str = "", yard: str = "") -> str:
    """Write a quantity with two figures: nobody measures what is thrown away."""
    unit = (metric or kind.metric) if units == "metric" else (yard or kind.yard)
    there = in_unit(value, kind, unit)
    places = 1 - math.floor(math.log10(there)) if there > 0.0 else 0
    return f"{round(there, places):.{max(places, 0)}f} {unit}"
