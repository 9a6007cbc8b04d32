"""A shift plan in words: what runs, what to fetch, what to change, what to do if a lane is down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from clew.plan.shift.hours import time_words
from clew.plan.shift.pace_draws import Expected
from clew.plan.shift.terms import (
    ChangeInShift,
    ConesOfRun,
    CrewAdvice,
    LineInShift,
    Moment,
    RunInShift,
    ShiftPlan,
)
from clew.quantities import MASS, UnitSystem, show

_HOUR_S = 3600.0
_WEEK_DAYS = 7


@dataclass(frozen=True, slots=True)
class RunWords:
    """One run in words.

    Attributes
    ----------
    title : str
        Which run: ball, colour, lot, order.
    balls, settings, cones, lane_down : str
        What comes off and when, what the winders are set to, what to fetch, if a lane is down.
    change : tuple of str
        What to do before it, step by step; empty where nothing changes in this shift.
    change_when : str
        From when to when; empty without a change.
    """

    title: str
    balls: str
    settings: str
    cones: str
    lane_down: str
    change: tuple[str, ...]
    change_when: str


@dataclass(frozen=True, slots=True)
class LineWords:
    """One line in words.

    Attributes
    ----------
    line_name, headline : str
        Which line, and what it does.
    runs : tuple of RunWords
        Its runs.
    crew : tuple of str
        Hands for each ball, a sentence each.
    rests : str
        When they rest.
    """

    line_name: str
    headline: str
    runs: tuple[RunWords, ...]
    crew: tuple[str, ...]
    rests: str


@dataclass(frozen=True, slots=True)
class ShiftPlanWords:
    """A shift plan in words.

    Attributes
    ----------
    headline : str
        What the shift makes.
    lines : tuple of LineWords
        Line by line.
    idle : str
        Which lines have nothing to do; empty where all have.
    lifting : str
        How many cones one person lifts.
    doubt : str
        What the intervals hold, and what is not in them.
    """

    headline: str
    lines: tuple[LineWords, ...]
    idle: str
    lifting: str
    doubt: str


def shift_plan_words(plan: ShiftPlan, units: UnitSystem = "metric") -> ShiftPlanWords:
    """Say what a shift does.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.
    units : {"metric", "yard"}
        System of units.

    Returns
    -------
    ShiftPlanWords
        Its words.
    """
    runs = [run for line in plan.lines for run in line.runs]
    span = f"{plan.shift_from:%A} {plan.shift_from:%Y-%m-%d}, {_hm(plan)}"
    headline = f"{span}: no run touches this shift."
    if runs:
        on = several(len(plan.lines), "line")
        balls = sum(run.balls.mean for run in runs)
        headline = (
            f"{span}: {several(len(runs), 'run')} on {on}, about {balls:.0f} balls; "
            f"{several(sum(len(run.cones.calls) for run in runs), 'cone')} to fetch."
        )
    return ShiftPlanWords(
        headline=headline,
        lines=tuple(_line_words(plan, line) for line in plan.lines),
        idle=f"Nothing planned: {', '.join(plan.idle)}." if plan.idle and runs else "",
        lifting=lifting_words(plan, units),
        doubt=(
            f"Times and balls in brackets hold 95 of 100 shifts drawn ({plan.replications} shifts, "
            f"seed {plan.seed}): cones, breaks and hands. Not in them: a lane or line that is "
            "down, and what the plan takes as wound before this shift."
        ),
    )


def several(count: int, what: str) -> str:
    """Count things: ``1 run``, ``3 runs``."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def clock(moment: datetime, plan: ShiftPlan) -> str:
    """Write a time: ``09:06`` on the shift's day, ``Fri 07:21`` near it, else with its date."""
    days = (moment.date() - plan.shift_from.date()).days
    if days == 0:
        return f"{moment:%H:%M}"
    return f"{moment:%a %H:%M}" if abs(days) < _WEEK_DAYS else f"{moment:%Y-%m-%d %H:%M}"


def between(moment: Moment, plan: ShiftPlan) -> str:
    """Write a time with its interval: ``09:06 (09:02 to 09:11)``."""
    at, early, late = (clock(one, plan) for one in (moment.at, moment.early, moment.late))
    if early == at == late:
        return at
    return f"{at} ({early} to {late.removeprefix(early[:4]) if early[:1].isalpha() else late})"


def counted(one: Expected) -> str:
    """Write a number of balls with its interval: ``741 (701 to 775)``."""
    mean, low, high = (f"{value:.0f}" for value in (one.mean, one.low, one.high))
    return mean if mean == low == high else f"{mean} ({low} to {high})"


def lifting_words(plan: ShiftPlan, units: UnitSystem) -> str:
    """Say how many cones one person lifts."""
    loads = {run.yarn_name: run.cones for line in plan.lines for run in line.runs}
    if not loads:
        return ""
    if plan.heaviest_lift_g is None:
        return "The mill file states no heaviest lift ([safety] heaviest_lift): ask the lead."
    said = []
    for yarn, cones in loads.items():
        cone = show(cones.cone_g, MASS, units, digits=3, unit="kg" if units == "metric" else "lb")
        if cones.per_load:
            said.append(f"{several(cones.per_load, 'cone')} of {yarn} ({cone} each)")
        else:
            said.append(f"no cone of {yarn} ({cone}): two people or a lift table")
    return f"One person lifts at most {'; '.join(said)}."


def title_of(run: RunInShift) -> str:
    """Name a run: ball, colour, lot, order."""
    lot = f", lot {run.lot_name}" if run.lot_name else ""
    return f"{run.name}: {run.ball_name} in {run.colour_name}{lot}, for {run.customer}"


def _hm(plan: ShiftPlan) -> str:
    return f"{plan.shift_from:%H:%M} to {plan.shift_upto:%H:%M}"


def _line_words(plan: ShiftPlan, line: LineInShift) -> LineWords:
    crew: dict[str, str] = {}
    for run in line.runs:
        crew.setdefault(run.ball_name, crew_words(run.ball_name, run.crew, plan.currency))
    balls = sum(run.balls.mean for run in line.runs)
    rests = "No rests are stated for this line."
    if line.rests:
        each = ", ".join(
            f"hand {one.hand} {clock(one.at, plan)} to {clock(one.upto, plan)}"
            for one in line.rests
        )
        rests = f"Rests, one hand after another: {each}."
    return LineWords(
        line_name=line.line_name,
        headline=(
            f"{line.line_name}: {several(len(line.runs), 'run')}, about {balls:.0f} balls, "
            f"{several(line.lanes, 'lane')}, {several(line.hands, 'hand')}."
        ),
        runs=tuple(_run_words(plan, run) for run in line.runs),
        crew=tuple(crew.values()),
        rests=rests,
    )


def _run_words(plan: ShiftPlan, run: RunInShift) -> RunWords:
    change = run.change
    return RunWords(
        title=title_of(run),
        balls=_balls_words(plan, run),
        settings=settings_words(run),
        cones=cones_words(plan, run.cones, run.lot_name),
        lane_down=lane_down_words(plan, run),
        change=() if change is None else change.steps,
        change_when="" if change is None else _when(plan, change),
    )


def _when(plan: ShiftPlan, change: ChangeInShift) -> str:
    begins, ends = clock(change.at, plan), clock(change.upto, plan)
    return begins if begins == ends else f"{begins} to {ends}"


def _balls_words(plan: ShiftPlan, run: RunInShift) -> str:
    begins = "runs already" if run.going else f"begins {between(run.start, plan)}"
    left = run.wound_of_run - run.wound_before
    first = f"{counted(run.first_balls)} of them first-quality"
    if run.ends_here:
        balls = f"{counted(run.balls)} balls, {first}"
        ends = f"ends {between(run.end, plan)}"
        if run.ends_here_frac < 1.0:
            ends += f", in this shift {_times_of_100(run.ends_here_frac)}"
    else:
        balls = f"{counted(run.balls)} of {left:.0f} balls left, {first}"
        ends = f"goes on and ends {between(run.end, plan)}"
    late = ""
    if run.end.at > run.due_end:
        late = " It ends after its due day."
    elif run.end.late > run.due_end:
        late = " It may end after its due day."
    return f"{begins[0].upper()}{begins[1:]}, {ends}: {balls}.{late}"


def _times_of_100(share: float) -> str:
    return f"{min(max(100.0 * share, 1.0), 99.0):.0f} times of 100"


def settings_words(run: RunInShift) -> str:
    """Say what the winders are set to, as the run card does."""
    each = ", ".join(f"winder {one.winder} {one.counts}" for one in run.settings)
    return f"Counters: {each}. Run card: {run.ball_name} {run.lot_name}".rstrip() + "."


def cones_words(plan: ShiftPlan, cones: ConesOfRun, lot_name: str) -> str:
    """Say what to fetch for a run."""
    lot = f" of {lot_name}" if lot_name else ""
    first = sum(one.first_fill for one in cones.calls)
    after = [one for one in cones.calls if not one.first_fill]
    said = [f"Fetch {several(len(cones.calls), 'cone')}{lot}"]
    parts = []
    if first:
        parts.append(f"{first} to fill the creel, lane after lane, tail to head")
    if after:
        opens = (
            f"then one each time a place is empty, the first about {clock(after[0].free.at, plan)}"
        )
        parts.append(opens if first else opens.removeprefix("then "))
    if parts:
        said.append(": " + ", ".join(parts))
    text = "".join(said) + "."
    if cones.spare:
        text += (
            f" {cones.spare} more {'is' if cones.spare == 1 else 'are'} spare: tie only if short."
        )
    if cones.short:
        text += (
            f" {several(cones.short, 'cone')} short on average: ask before you begin, or the last "
            "balls cannot be made."
        )
    elif cones.empty_lanes:
        text += (
            f" {several(cones.empty_lanes, 'lane')} may stand empty at its end: let the others "
            "make the last balls."
        )
    if cones.begun_left:
        text += f" {several(cones.begun_left, 'begun cone')} left on the creel at its end."
    return text


def lane_down_words(plan: ShiftPlan, run: RunInShift) -> str:
    """Say what to do if a lane is down."""
    down = run.lane_down
    move = ""
    if down.elsewhere:
        lines = ", ".join(f"{name} (free {clock(at, plan)})" for name, at in down.elsewhere)
        move = f"move it to {lines}"
    if down.end is None:
        return (
            f"It is the only lane: the line stands. Mend it first{', or ' + move if move else ''}."
        )
    if not down.told:
        return "No loss can be told: the hands hold this line up. Run on, and mend it at leisure."
    text = f"{time_words(down.lost_s)} longer, ends {between(down.end, plan)}."
    lanes = several(down.lanes_left, "lane")
    if not down.late:
        return f"{text} Nothing becomes late by it: run on with {lanes}, share its cones out."
    hours = time_words(down.overtime_h * _HOUR_S)
    names = ", ".join(down.late)
    verb = "becomes" if len(down.late) == 1 else "become"
    advice = f"work {hours} overtime on {lanes}"
    if move:
        advice = f"{move}, or {advice}"
    return f"{text} {names} {verb} late: {advice}."


def crew_words(ball_name: str, crew: CrewAdvice, currency: str) -> str:
    """Say whether more or fewer hands make a ball cheapest."""
    here = several(crew.hands, "hand")
    if crew.cheapest is None or crew.cost is None or crew.cheapest_cost is None:
        return f"{ball_name}: {here}; without its price nobody can say which crew is cheapest."
    if crew.cheapest == crew.hands:
        return f"{ball_name}: {here} make it cheapest."
    if crew.as_good:
        return f"{ball_name}: {here} cannot be told from the cheapest, {crew.cheapest}."
    apart = abs(crew.cheapest - crew.hands)
    what = "more" if crew.cheapest > crew.hands else "fewer"
    more = crew.cheapest_first_balls - crew.first_balls
    return (
        f"{ball_name}: {apart} {what} would make a ball {crew.cost - crew.cheapest_cost:.3f} "
        f"{currency} cheaper ({crew.cheapest} hands; "
        f"{'+' if more >= 0 else '−'}{abs(more):.0f} first-quality balls a shift)."
    )
