"""A shift plan in words: what runs, what to fetch, what to change, what to do if a lane is down."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import (
    figure,
    joined,
    say,
    say_many,
    whole_weekday,
)
from clew.plan.shift.counts import (
    between,
    clock,
    count_cones,
    count_hands,
    count_lanes,
    count_runs,
    counted,
)
from clew.plan.shift.hours import time_words
from clew.plan.shift.terms import (
    ChangeInShift,
    ConesOfRun,
    CrewAdvice,
    LineInShift,
    RunInShift,
    ShiftPlan,
)
from clew.quantities import MASS, UnitSystem, show

__all__ = [
    "LineWords", "RunWords", "ShiftPlanWords", "between", "clock", "cones_words", "counted",
    "crew_words", "lane_down_words", "lifting_words", "settings_words", "shift_plan_words",
    "title_of",
]  # fmt: skip

_HOUR_S = 3600.0


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
    span = say(
        "{day}, {start} to {end}",
        day=whole_weekday(plan.shift_from),
        start=f"{plan.shift_from:%H:%M}",
        end=f"{plan.shift_upto:%H:%M}",
    )
    headline = say("{shift}: no run touches this shift.", shift=span)
    if runs:
        headline = say(
            "{shift}: {runs} on {lines}, about {balls:.0f} balls; {cones} to fetch.",
            shift=span,
            runs=count_runs(len(runs)),
            lines=say_many("{n} line", "{n} lines", len(plan.lines)),
            balls=sum(run.balls.mean for run in runs),
            cones=count_cones(sum(len(run.cones.calls) for run in runs)),
        )
    return ShiftPlanWords(
        headline=headline,
        lines=tuple(_line_words(plan, line) for line in plan.lines),
        idle=say("Nothing planned: {lines}.", lines=joined(", ", plan.idle))
        if plan.idle and runs
        else "",
        lifting=lifting_words(plan, units),
        doubt=say(
            "Times and balls in brackets hold 95 of 100 shifts drawn ({shifts} shifts, seed "
            "{seed}): cones, breaks and hands. Not in them: a lane or line that is down, and what "
            "the plan takes as wound before this shift.",
            shifts=plan.replications,
            seed=plan.seed,
        ),
    )


def lifting_words(plan: ShiftPlan, units: UnitSystem) -> str:
    """Say how many cones one person lifts."""
    loads = {run.yarn_name: run.cones for line in plan.lines for run in line.runs}
    if not loads:
        return ""
    if plan.heaviest_lift_g is None:
        return say("The mill file states no heaviest lift ([safety] heaviest_lift): ask the lead.")
    said = []
    for yarn, cones in loads.items():
        cone = show(cones.cone_g, MASS, units, digits=3, unit="kg" if units == "metric" else "lb")
        if cones.per_load:
            count = count_cones(cones.per_load)
            said.append(say("{cones} of {yarn} ({cone} each)", cones=count, yarn=yarn, cone=cone))
        else:
            said.append(
                say("no cone of {yarn} ({cone}): two people or a lift table", yarn=yarn, cone=cone)
            )
    return say("One person lifts at most {cones}.", cones=joined("; ", said))


def title_of(run: RunInShift) -> str:
    """Name a run: ball, colour, lot, order."""
    told = {
        "run": run.name, "ball": run.ball_name, "colour": run.colour_name, "lot": run.lot_name,
        "customer": run.customer,
    }  # fmt: skip
    if run.lot_name:
        return say("{run}: {ball} in {colour}, lot {lot}, for {customer}", **told)
    return say("{run}: {ball} in {colour}, for {customer}", **told)


def _line_words(plan: ShiftPlan, line: LineInShift) -> LineWords:
    crew: dict[str, str] = {}
    for run in line.runs:
        crew.setdefault(run.ball_name, crew_words(run.ball_name, run.crew, plan.currency))
    balls = sum(run.balls.mean for run in line.runs)
    rests = say("No rests are stated for this line.")
    if line.rests:
        each = [
            say(
                "hand {hand} {start} to {end}",
                hand=one.hand, start=clock(one.at, plan), end=clock(one.upto, plan),
            )
            for one in line.rests
        ]  # fmt: skip
        rests = say("Rests, one hand after another: {rests}.", rests=joined(", ", each))
    return LineWords(
        line_name=line.line_name,
        headline=say(
            "{line}: {runs}, about {balls:.0f} balls, {lanes}, {hands}.",
            line=line.line_name,
            runs=count_runs(len(line.runs)),
            balls=balls,
            lanes=count_lanes(line.lanes),
            hands=count_hands(line.hands),
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
    return begins if begins == ends else say("{start} to {end}", start=begins, end=ends)


def _balls_words(plan: ShiftPlan, run: RunInShift) -> str:
    begins = say("Runs already")
    if not run.going:
        begins = say("Begins {when}", when=between(run.start, plan))
    end, told = between(run.end, plan), {"balls": counted(run.balls)}
    told["first"] = counted(run.first_balls)
    if run.ends_here:
        balls = say("{balls} balls, {first} of them first-quality", **told)
        ends = say("ends {when}", when=end)
        if run.ends_here_frac < 1.0:
            times = min(max(100.0 * run.ends_here_frac, 1.0), 99.0)
            ends = say("ends {when}, in this shift {times:.0f} times of 100", when=end, times=times)
    else:
        left = f"{run.wound_of_run - run.wound_before:.0f}"
        balls = say(
            "{balls} of {left} balls left, {first} of them first-quality", left=left, **told
        )
        ends = say("goes on and ends {when}", when=end)
    said = [say("{begins}, {ends}: {balls}.", begins=begins, ends=ends, balls=balls)]
    if run.end.at > run.due_end:
        said.append(say("It ends after its due day."))
    elif run.end.late > run.due_end:
        said.append(say("It may end after its due day."))
    return joined(" ", said)


def settings_words(run: RunInShift) -> str:
    """Say what the winders are set to, as the run card does."""
    each = [
        say("winder {winder} {counts}", winder=one.winder, counts=one.counts)
        for one in run.settings
    ]
    return say(
        "Counters: {counters}. Run card: {run}.",
        counters=joined(", ", each),
        run=f"{run.ball_name} {run.lot_name}".rstrip(),
    )


def cones_words(plan: ShiftPlan, cones: ConesOfRun, lot_name: str) -> str:
    """Say what to fetch for a run."""
    fetch = say("Fetch {cones}", cones=count_cones(len(cones.calls)))
    if lot_name:
        fetch = say("Fetch {cones} of {lot}", cones=count_cones(len(cones.calls)), lot=lot_name)
    first = sum(one.first_fill for one in cones.calls)
    after = [one for one in cones.calls if not one.first_fill]
    told = {"fetch": fetch, "first": first}
    if after:
        told["when"] = clock(after[0].free.at, plan)
    if first and after:
        said = [
            say(
                "{fetch}: {first} to fill the creel, lane after lane, tail to head, then one each "
                "time a place is empty, the first about {when}.",
                **told,
            )
        ]
    elif first:
        said = [say("{fetch}: {first} to fill the creel, lane after lane, tail to head.", **told)]
    elif after:
        said = [say("{fetch}: one each time a place is empty, the first about {when}.", **told)]
    else:
        said = [say("{fetch}.", **told)]
    if cones.spare:
        said.append(
            say_many(
                "{n} more is spare: tie only if short.", "{n} more are spare: tie only if short.",
                cones.spare,
            )
        )  # fmt: skip
    if cones.short:
        said.append(
            say(
                "{cones} short on average: ask before you begin, or the last balls cannot be made.",
                cones=count_cones(cones.short),
            )
        )
    elif cones.empty_lanes:
        said.append(
            say(
                "{lanes} may stand empty at its end: let the others make the last balls.",
                lanes=count_lanes(cones.empty_lanes),
            )
        )
    if cones.begun_left:
        said.append(
            say_many(
                "{n} begun cone left on the creel at its end.",
                "{n} begun cones left on the creel at its end.",
                cones.begun_left,
            )
        )
    return joined(" ", said)


def lane_down_words(plan: ShiftPlan, run: RunInShift) -> str:
    """Say what to do if a lane is down."""
    down = run.lane_down
    move = ""
    if down.elsewhere:
        lines = [
            say("{line} (free {when})", line=name, when=clock(at, plan))
            for name, at in down.elsewhere
        ]
        move = say("move it to {lines}", lines=joined(", ", lines))
    if down.end is None:
        if move:
            return say("It is the only lane: the line stands. Mend it first, or {move}.", move=move)
        return say("It is the only lane: the line stands. Mend it first.")
    if not down.told:
        return say(
            "No loss can be told: the hands hold this line up. Run on, and mend it at leisure."
        )
    longer = say(
        "{long} longer, ends {when}.",
        long=time_words(down.lost_s),
        when=between(down.end, plan),
    )
    lanes = count_lanes(down.lanes_left)
    if not down.late:
        stays = say(
            "Nothing becomes late by it: run on with {lanes}, share its cones out.", lanes=lanes
        )
        return joined(" ", (longer, stays))
    hours = time_words(down.overtime_h * _HOUR_S)
    advice = say("work {hours} overtime on {lanes}", hours=hours, lanes=lanes)
    if move:
        advice = say("{move}, or {advice}", move=move, advice=advice)
    late = say_many(
        "{runs} becomes late: {advice}.",
        "{runs} become late: {advice}.",
        len(down.late),
        runs=joined(", ", down.late),
        advice=advice,
    )
    return joined(" ", (longer, late))


def crew_words(ball_name: str, crew: CrewAdvice, currency: str) -> str:
    """Say whether more or fewer hands make a ball cheapest."""
    told = {"ball": ball_name, "hands": count_hands(crew.hands)}
    if crew.cheapest is None or crew.cost is None or crew.cheapest_cost is None:
        return say(
            "{ball}: {hands}; without its price nobody can say which crew is cheapest.", **told
        )
    if crew.cheapest == crew.hands:
        return say("{ball}: {hands} make it cheapest.", **told)
    if crew.as_good:
        return say(
            "{ball}: {hands} cannot be told from the cheapest, {cheapest}.",
            cheapest=crew.cheapest,
            **told,
        )
    more = crew.cheapest_first_balls - crew.first_balls
    saving = {
        "ball": ball_name,
        "apart": abs(crew.cheapest - crew.hands),
        "money": figure(f"{crew.cost - crew.cheapest_cost:.3f} {currency}"),
        "cheapest": crew.cheapest,
        "balls": f"{'+' if more >= 0 else '−'}{abs(more):.0f}",
    }
    if crew.cheapest > crew.hands:
        return say(
            "{ball}: {apart} more would make a ball {money} cheaper ({cheapest} hands; {balls} "
            "first-quality balls a shift).",
            **saving,
        )
    return say(
        "{ball}: {apart} fewer would make a ball {money} cheaper ({cheapest} hands; {balls} "
        "first-quality balls a shift).",
        **saving,
    )
