"""What hands do at a change, in order."""

from __future__ import annotations

import math

from clew.languages import figure, say
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
    lot = (
        say("lot {lot}", lot=run.lot_name)
        if run.lot_name
        else say("{yarn} in {colour}", yarn=run.yarn_name, colour=run.colour_name)
    )
    if change.kind == "none":
        return (say("Nothing changes: go on with {lot}.", lot=lot),)
    steps = []
    if before_lot is not None:
        old = say("lot {lot}", lot=before_lot) if before_lot else say("the old lot")
        steps.append(
            say(
                "Take every cone of {lot} off the creel; mark the begun ones and send them back.",
                lot=old,
            )
        )
    if change.clean_s > 0.0:
        steps.append(
            say(
                "Clean creel, guides, rollers, belt and winders of fluff of the darker colour: "
                "{long} are planned. Lock out before you reach in.",
                long=time_words(change.clean_s),
            )
        )
    if change.kind == "yarn":
        steps.append(
            say(
                "Thread {lot} anew through all {lanes} lanes; set feed, belt, steam and dryer as "
                "the run card says.",
                lot=lot,
                lanes=lanes,
            )
        )
    else:
        steps.append(
            say("Tie {lot} to the running ends, lane by lane, and see each tie through.", lot=lot)
        )
    if change.kind in ("ball", "yarn"):
        steps.append(
            say("Fit the mandrels and set every winder's counter for {ball}.", ball=run.ball_name)
        )
    if change.second_balls > 0.0:
        steps.append(
            say(
                "Pull the part balls and balls that hold both: about {balls:.0f} go to second "
                "quality.",
                balls=change.second_balls,
            )
        )
    if change.strand_m > 0.0:
        steps.append(
            say(
                "Throw away what lies between: about {length} ({mass}).",
                length=_rough(change.strand_m, LENGTH, units),
                mass=_rough(1000.0 * change.waste_kg, MASS, units, "kg", "lb"),
            )
        )
    steps.append(say("Change the bands, and weigh and measure the first balls."))
    return tuple(steps)


def _rough(value: float, kind: Kind, units: UnitSystem, metric: str = "", yard: str = "") -> str:
    """Write a quantity with two figures: nobody measures what is thrown away."""
    unit = (metric or kind.metric) if units == "metric" else (yard or kind.yard)
    there = in_unit(value, kind, unit)
    places = 1 - math.floor(math.log10(there)) if there > 0.0 else 0
    return figure(f"{round(there, places):.{max(places, 0)}f} {unit}")
