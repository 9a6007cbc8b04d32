"""One shift of the plan, run by run: balls, cones, crew, rests, changes, and a lane down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from clew.ball.ball_answer import ball_answer_of
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.improve.money import shift_prices_of
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.records import Floats
from clew.line.simulate.shifts import checked_chance
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.sequence.change import LineNow
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.shift.change_steps import change_steps
from clew.plan.shift.cones import RunClock, cones_of_run
from clew.plan.shift.crew_advice import crew_advice
from clew.plan.shift.hours import LineHours, apart_s, later
from clew.plan.shift.lane_down import down_pace, ends_s, made_late
from clew.plan.shift.pace_draws import PaceDraws, expected, pace_draws
from clew.plan.shift.rests import rests_of
from clew.plan.shift.terms import (
    ChangeInShift,
    LaneDown,
    LineInShift,
    Moment,
    RestByClock,
    RunInShift,
    ShiftPlan,
)

REPLICATIONS = 200
"""Simulated shifts behind each expectation, where nothing else is asked."""
CREW_REPLICATIONS = 100
"""Shifts of each size of crew, at most."""
_LONGEST_S = 24 * 3600.0


@dataclass(frozen=True, slots=True)
class _Asked:
    """What every run of a plan is worked out with."""

    mill: Mill
    timed: tuple[TimedRun, ...]
    shift_from: datetime
    shift_upto: datetime
    seed: int
    replications: int
    since: datetime
    lines_now: Mapping[str, LineNow]

    def of_line(self, name: str) -> list[TimedRun]:
        mine = [one for one in self.timed if one.line_name == name]
        return sorted(mine, key=lambda one: (one.change_from, one.start, one.end))


def shift_plan(
    mill: Mill,
    timed: Sequence[TimedRun],
    *,
    shift_from: datetime,
    shift_upto: datetime,
    line_name: str = "",
    lines_now: Mapping[str, LineNow] | None = None,
    seed: int = 1,
    replications: int = REPLICATIONS,
) -> ShiftPlan:
    """Work out one shift of a plan.

    Parameters
    ----------
    mill : Mill
        The mill.
    timed : sequence of TimedRun
        The whole plan: runs after the shift are looked at for lateness.
    shift_from, shift_upto : datetime
        The shift, with the time zone.
    line_name : str
        Only this line; empty for all.
    lines_now : mapping of str to LineNow, optional
        What is in each line before the plan begins; a line left out is empty.
    seed, replications : int
        What chance depends on, and how many shifts are drawn, 2 or more.

    Returns
    -------
    ShiftPlan
        Every line with every run that touches the shift.

    Raises
    ------
    BadInput
        When the shift ends before it begins, is longer than a day or has no time zone, when the
        seed or the number cannot be, or when the plan names what the mill has not.

    Notes
    -----
    Balls and ends come from shifts of `clew.line.simulate` with the line's crew and rests. A run
    begins where the one before it ends in the same draw, its change in between, and not before the
    plan's own wait. What was wound before the shift is taken from the plan. Source: DERIVED.
    """
    _check(shift_from, shift_upto, seed, replications)
    line_wanted = mill.find_line(line_name).name if line_name else ""
    since = min([shift_from, *(one.change_from for one in timed)])
    asked = _Asked(
        mill, tuple(timed), shift_from, shift_upto, seed, replications, since, lines_now or {}
    )  # fmt: skip
    for one in timed:
        mill.find_line(one.line_name)
    shown = [one for one in mill.line if not line_wanted or one.name == line_wanted]
    lines = [_line(asked, one) for one in shown]
    return ShiftPlan(
        mill_name=mill.mill.name,
        currency=mill.prices.currency,
        shift_from=shift_from,
        shift_upto=shift_upto,
        lines=tuple(one for one in lines if one.runs),
        idle=tuple(one.line_name for one in lines if not one.runs),
        heaviest_lift_g=mill.safety.heaviest_lift_g,
        seed=seed,
        replications=replications,
    )


def _check(shift_from: datetime, shift_upto: datetime, seed: int, replications: int) -> None:
    checked_chance(seed, replications)
    faults = []
    if replications < 2:
        faults.append(Fault(say("one shift tells nothing of its spread"), say("2 or more"),
                            key="replications", value=str(replications)))  # fmt: skip
    if shift_from.tzinfo is None or shift_upto.tzinfo is None:
        faults.append(
            Fault(say("a shift without its time zone"), say("a time with one"), key="shift")
        )
    elif not 0.0 < apart_s(shift_from, shift_upto) <= _LONGEST_S + 3600.0:
        faults.append(Fault(say("not a shift"), say("an end after its start, at most a day later"),
                            key="shift", value=f"{shift_from} to {shift_upto}"))  # fmt: skip
    if faults:
        raise BadInput(faults)


def _line(asked: _Asked, line: Line) -> LineInShift:
    runs = asked.of_line(line.name)
    hours = LineHours(asked.mill, line.name, asked.since)
    found: list[RunInShift] = []
    free_s: Floats | None = None  # when the line is free, draw by draw, after the shift's start
    before: TimedRun | None = None
    if not hours.between_s(asked.shift_from, asked.shift_upto):
        runs = []  # the line does not work in this shift, whatever the plan reaches over
    for place, one in enumerate(runs):
        if one.end <= asked.shift_from or one.change_from >= asked.shift_upto:
            before = one if one.end <= asked.shift_from else before
            continue
        run, free_s = _run(asked, line, hours, runs[place:], before, free_s)
        found.append(run)
        before = one
    return LineInShift(
        line_name=line.name,
        lanes=line.lanes,
        places=line.cones_per_lane,
        hands=line.crew,
        runs=tuple(found),
        rests=_rests(asked, line, found[0].ball_name) if found else (),
    )


def _rests(asked: _Asked, line: Line, ball_name: str) -> tuple[RestByClock, ...]:
    shift_s = apart_s(asked.shift_from, asked.shift_upto)
    layout = layout_of(asked.mill, line.name, ball_name, shift_s=shift_s)
    return tuple(
        RestByClock(
            one.hand, later(asked.shift_from, one.from_s), later(asked.shift_from, one.upto_s)
        )
        for one in rests_of(layout)
    )


def _run(
    asked: _Asked,
    line: Line,
    hours: LineHours,
    runs: Sequence[TimedRun],
    before: TimedRun | None,
    free_s: Floats | None,
) -> tuple[RunInShift, Floats]:
    """Work out the first of a line's runs; the others come after it."""
    mill, timed, seed = asked.mill, runs[0], asked.seed
    run = timed.run
    layout = layout_of(mill, line.name, run.ball_name, run.lot_name)
    # Runs that follow each other must not share their luck: each draws its own shifts.
    own_seed = seed + 7919 * sum(one.line_name == line.name and one.start < timed.start
                                 for one in asked.timed)  # fmt: skip
    draws = pace_draws(layout, replications=asked.replications, seed=own_seed)
    start_s = _starts_s(asked, timed, before, free_s, hours)
    going = timed.start < asked.shift_from
    done = _done_frac(timed, asked.shift_from, hours) if going else 0.0
    left = run.wound_balls * (1.0 - done)
    planned_s = hours.between_s(timed.start, timed.end)
    mean_s = run.wound_balls / draws.balls_per_s
    end_s = ends_s(draws, start_s, left)
    shift_s = hours.between_s(asked.shift_from, asked.shift_upto)
    balls = draws.gives(left, shift_s - start_s)
    first_frac = run.balls / run.wound_balls if run.wound_balls else 1.0
    ends_here_frac = float((end_s <= shift_s).mean())
    answer = pace_of(
        mill, line.name, run.ball_name, run.lot_name, seed=seed, replications=asked.replications
    ).answer
    clock = RunClock(
        fetch_at=max(timed.change_from, asked.shift_from),
        shift_from=asked.shift_from,
        shift_s=shift_s,
        start_s=-mean_s * done if going else float(start_s.mean()),
        planned_start_s=(-planned_s * done if going else _offset_s(asked, timed.start, hours)),
        planned_pace=planned_s / mean_s if mean_s > 0.0 else 1.0,
        filled_before=timed.change_from < asked.shift_from,
        ends_here=timed.end <= asked.shift_upto,
    )
    crew_draws = min(asked.replications, CREW_REPLICATIONS)
    return RunInShift(
        name=run.name,
        order_number=run.order_number,
        customer=run.customer,
        ball_name=run.ball_name,
        yarn_name=run.yarn_name,
        colour_name=run.colour_name,
        lot_name=run.lot_name,
        settings=ball_answer_of(mill, run.ball_name, run.lot_name, line.name).settings,
        balls_of_run=run.balls,
        wound_of_run=run.wound_balls,
        wound_before=run.wound_balls - left,
        balls=expected(balls),
        first_balls=expected(balls * first_frac),
        start=_moment(asked, hours, start_s),
        going=going,
        end=_moment(asked, hours, end_s),
        ends_here_frac=ends_here_frac,
        due_end=hours.due_end(run.due),
        change=_change(asked, timed, before, line),
        cones=cones_of_run(mill, run, answer, draws, clock),
        crew=crew_advice(
            layout, shift_prices_of(mill, run.ball_name), replications=crew_draws, seed=seed
        ),
        lane_down=_lane_down(asked, hours, runs, draws, start_s, left, own_seed),
    ), end_s


def _starts_s(
    asked: _Asked,
    timed: TimedRun,
    before: TimedRun | None,
    free_s: Floats | None,
    hours: LineHours,
) -> Floats:
    """Draw when a run's balls begin, in working time after the shift's start [s]."""
    planned_s = _offset_s(asked, timed.start, hours)
    if free_s is None or before is None:
        return np.full(asked.replications, max(planned_s, 0.0))
    # Where the plan waits (for yarn, for a day), nothing begins sooner than planned.
    waits = hours.between_s(before.end, timed.change_from) >= 60.0
    soonest_s = _offset_s(asked, timed.change_from, hours) if waits else 0.0
    return np.asarray(np.maximum(free_s, soonest_s) + timed.change.stand_s)


def _offset_s(asked: _Asked, moment: datetime, hours: LineHours) -> float:
    """Working time from the shift's start to a moment; real time, for what is before it [s]."""
    if moment <= asked.shift_from:
        return apart_s(asked.shift_from, moment)
    return hours.between_s(asked.shift_from, moment)


def _moment(asked: _Asked, hours: LineHours, drawn_s: Floats) -> Moment:
    found = expected(drawn_s)
    return Moment(*(_clock(asked, hours, one) for one in (found.mean, found.low, found.high)))


def _clock(asked: _Asked, hours: LineHours, offset_s: float) -> datetime:
    shift_s = hours.between_s(asked.shift_from, asked.shift_upto)
    if offset_s <= shift_s:
        return later(asked.shift_from, round(offset_s))
    return hours.after(asked.shift_upto, offset_s - shift_s)


def _done_frac(timed: TimedRun, at: datetime, hours: LineHours) -> float:
    whole_s = hours.between_s(timed.start, timed.end)
    return min(hours.between_s(timed.start, at) / whole_s, 1.0) if whole_s else 0.0


def _change(
    asked: _Asked, timed: TimedRun, before: TimedRun | None, line: Line
) -> ChangeInShift | None:
    if timed.start <= asked.shift_from:
        return None
    now = asked.lines_now.get(line.name)
    old = before.run.lot_name if before is not None else now.lot_name if now else None
    return ChangeInShift(
        at=timed.change_from,
        upto=timed.start,
        from_lot=old or "",
        change=timed.change,
        steps=change_steps(
            timed.change, timed.run, old, lanes=line.lanes, units=asked.mill.mill.units
        ),
    )


def _lane_down(
    asked: _Asked,
    hours: LineHours,
    runs: Sequence[TimedRun],
    draws: PaceDraws,
    start_s: Floats,
    left: float,
    seed: int,
) -> LaneDown:
    timed = runs[0]
    elsewhere = tuple(
        (name, _free_at(asked, name)) for name in timed.run.lines if name != timed.line_name
    )
    lanes: Layout = draws.layout
    down = down_pace(draws, seed=seed)
    if down is None:
        return LaneDown(0, True, 0.0, None, (), 0.0, elsewhere)
    lost_s = max(left / down.draws.balls_per_s - left / draws.balls_per_s, 0.0)
    end = _moment(asked, hours, ends_s(down.draws, start_s, left))
    found = made_late(runs, lost_s, hours)
    return LaneDown(
        lanes.lanes - 1, down.told, lost_s, end, found.late, found.overtime_h, elsewhere
    )


def _free_at(asked: _Asked, line_name: str) -> datetime:
    ends = [one.end for one in asked.timed if one.line_name == line_name]
    return max([asked.shift_from, *ends])
