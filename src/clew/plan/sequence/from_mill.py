"""The problem of the colour sequence, read off a mill: minutes, money, what is in the lines now."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.plan.pace import Pace, pace_of
from clew.plan.sequence.calendar import WorkCalendar, work_time_of
from clew.plan.sequence.change import ChangeBook, LineNow, line_hour
from clew.plan.sequence.problem import NEVER_MIN, Order, SequenceProblem

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.runs import PlannedRun

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PresentRun:
    """One run of the present plan.

    Attributes
    ----------
    run_name, line_name : str
        What is made where.
    place : int
        Its place on the line, from 1.
    start : datetime
        When it begins there, with the time zone.
    """

    run_name: str
    line_name: str
    place: int
    start: datetime


@dataclass(frozen=True, slots=True)
class SequenceTerms:
    """A sequence problem with what it was made of.

    Attributes
    ----------
    problem : SequenceProblem
        Whole minutes and thousandths of money.
    lightness : array of float, shape (runs,)
        L* of each run's colour [1].
    runs : tuple of PlannedRun
        The runs, as the problem counts them.
    calendars : tuple of WorkCalendar
        When each line works.
    changes : ChangeBook
        What changes cost.
    paces : mapping of (str, str) to Pace
        By line and ball.
    lines_now : mapping of str to LineNow
        What is in the lines; a line left out is empty.
    present : Order or None
        The present plan, with the runs it does not know at the ends.
    """

    problem: SequenceProblem
    lightness: Floats
    runs: tuple[PlannedRun, ...]
    calendars: tuple[WorkCalendar, ...]
    changes: ChangeBook
    paces: Mapping[tuple[str, str], Pace]
    lines_now: Mapping[str, LineNow]
    present: Order | None


def terms_of_runs(
    mill: Mill,
    runs: Sequence[PlannedRun],
    *,
    now: datetime,
    lines_now: Mapping[str, LineNow] | None = None,
    present: Sequence[PresentRun] | None = None,
) -> SequenceTerms:
    """Read a sequence problem off a mill, and keep what it was made of.

    Parameters
    ----------
    mill : Mill
        The mill.
    runs : sequence of PlannedRun
        What is to be made.
    now : datetime
        Where minute 0 is, with the time zone.
    lines_now : mapping of str to LineNow, optional
        What is in each line; a line left out is empty.
    present : sequence of PresentRun, optional
        The present plan; its first hours are frozen as the mill's ``frozen`` says.

    Returns
    -------
    SequenceTerms
        The problem and its calendars, changes and paces.

    Raises
    ------
    BadInput
        When a name is not in the mill file, a run stands twice, no line can make a run, a frozen
        run stands on a line that cannot make it, or the lines never work.

    Notes
    -----
    A run takes its balls, spoilt ones too, at the pace of its ball on that line, up to the next
    whole minute. It costs there the crew's and the line's hours beyond those on the cheapest line
    that can make it. A day late is spread over the working minutes of a worked day, the mean of the
    lines that can make the run. What is late already is late from now on: what lies behind costs
    whatever is planned. A line that waits for yarn costs its crew's and its own hour. Source:
    DERIVED.
    """
    runs = tuple(runs)
    if now.tzinfo is None:
        raise BadInput(Fault(say("a moment without a time zone"), say("one with it"), key="now"))
    _no_name_twice(runs)
    now_at = _known_lines(mill, lines_now or {})
    names = tuple(line.name for line in mill.line)
    calendars = tuple(WorkCalendar(work_time_of(mill, name), now) for name in names)
    changes, paces = ChangeBook(mill), dict(_paces(mill, runs))
    n, m = len(runs), len(names)
    hour = [line_hour(mill, name) for name in names]
    run_min = np.full((m, n), NEVER_MIN, dtype=np.int64)
    run_money = np.full((m, n), np.inf)
    ready_min, due_min = np.zeros((m, n), dtype=np.int64), np.zeros((m, n), dtype=np.int64)
    free_min = np.zeros(m, dtype=np.int64)
    for at, (name, calendar) in enumerate(zip(names, calendars, strict=True)):
        line_now = now_at.get(name)
        if line_now and line_now.until:
            free_min[at] = calendar.working_min(line_now.until)
        for number, run in enumerate(runs):
            due_min[at, number] = calendar.due_min(run.due)
            ready_min[at, number] = calendar.ready_min(run.ready) if run.ready else 0
            pace = paces.get((name, run.ball_name))
            if pace is not None and _may(run, name):
                run_s = pace.run_s(run.wound_balls)
                run_min[at, number] = min(math.ceil(run_s / 60.0 - 1e-9), NEVER_MIN)
                run_money[at, number] = hour[at] * run_s / 3600.0
    _some_line(mill, runs, run_min)
    change_min, change_cost = _change_tables(changes, names, runs, now_at, run_min)
    can = run_min < NEVER_MIN
    beyond = np.where(can, run_money - run_money.min(axis=0, initial=np.inf), 0.0)
    day_min = np.array([[calendar.rules.day_min] for calendar in calendars])
    day = np.where(can, day_min, 0).sum(axis=0) / can.sum(axis=0) if n else np.zeros(0)
    weight = np.array([run.priority for run in runs], dtype=np.float64)
    lines_at = {name: at for at, name in enumerate(names)}
    order, frozen = _present_order(mill, runs, lines_at, can, present or (), now)
    problem = SequenceProblem(
        names=tuple(run.name for run in runs),
        lines=names,
        run_min=run_min,
        run_cost=_thousandths(beyond),
        change_min=change_min,
        change_cost=change_cost,
        ready_min=ready_min,
        due_min=due_min,
        late_cost_per_min=_thousandths(mill.plan.late_per_day * weight / day),
        free_min=free_min,
        wait_cost_per_min=_thousandths(np.array(hour, dtype=np.float64) / 60.0),
        frozen=frozen,
    )
    lightness = np.array([mill.find_dye_lot(run.lot_name)[0].lab.lightness for run in runs])
    return SequenceTerms(
        problem=problem,
        lightness=lightness.astype(np.float64),
        runs=runs,
        calendars=calendars,
        changes=changes,
        paces=paces,
        lines_now=now_at,
        present=order if present is not None else None,
    )


def lines_that_can(mill: Mill, run: PlannedRun) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Name the lines that can make a run, and say why the others of its lines cannot.

    Parameters
    ----------
    mill : Mill
        The mill.
    run : PlannedRun
        The run.

    Returns
    -------
    (tuple of str, tuple of str)
        Lines by name; a reason for each line that may make it and cannot.
    """
    can, why = [], []
    for line in mill.line:
        if _may(run, line.name):
            try:
                pace_of(mill, line.name, run.ball_name)
                can.append(line.name)
            except BadInput as bad:
                why.append(f"{line.name}: {bad.faults[0]}")
    return tuple(can), tuple(why)


def _may(run: PlannedRun, line_name: str) -> bool:
    return line_name.casefold() in {name.casefold() for name in run.lines}


def _paces(mill: Mill, runs: Iterable[PlannedRun]) -> Iterable[tuple[tuple[str, str], Pace]]:
    for name, ball in sorted({(name, run.ball_name) for run in runs for name in run.lines}):
        line = mill.find_line(name).name
        mill.find_ball(ball)
        try:
            yield (line, ball), pace_of(mill, line, ball)
        except BadInput:  # this line cannot walk this ball; another may
            continue


def _change_tables(
    changes: ChangeBook,
    names: Sequence[str],
    runs: Sequence[PlannedRun],
    now_at: Mapping[str, LineNow],
    run_min: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    n = len(runs)
    minutes = np.zeros((len(names), n + 1, n), dtype=np.int64)
    money = np.zeros((len(names), n + 1, n))
    for at, name in enumerate(names):
        able = [number for number in range(n) if run_min[at, number] < NEVER_MIN]
        for after in able:
            for before in (*able, n):
                if before == after:
                    continue
                was = now_at.get(name) if before == n else runs[before]
                change = changes.between(name, was, runs[after])
                minutes[at, before, after] = math.ceil(change.stand_s / 60.0 - 1e-9)
                money[at, before, after] = change.cost
    return minutes, _thousandths(np.maximum(money, 0.0))


def _thousandths(money: Floats) -> NDArray[np.int64]:
    return np.rint(1000.0 * money).astype(np.int64)


def _present_order(
    mill: Mill,
    runs: Sequence[PlannedRun],
    lines_at: Mapping[str, int],
    can: NDArray[np.bool_],
    present: Sequence[PresentRun],
    now: datetime,
) -> tuple[Order, Order]:
    """Put the present plan in the problem's numbers: all of it, and its frozen first part.

    Runs that are no longer asked for are left out. What the present plan does not know, or has on
    a line that can no longer make it, is put at the end of the line that has the fewest runs.
    """
    number_of = {run.name.casefold(): number for number, run in enumerate(runs)}
    until = now.astimezone(UTC) + timedelta(seconds=mill.plan.frozen_s)
    order: list[list[int]] = [[] for _ in lines_at]
    frozen: list[list[int]] = [[] for _ in lines_at]
    faults, placed = [], set()
    still = set(lines_at)
    placed_on = [(mill.find_line(one.line_name).name, one) for one in present]
    for name, one in sorted(placed_on, key=lambda pair: (pair[0], pair[1].place)):
        at, number = lines_at[name], number_of.get(one.run_name.casefold())
        if number is None or number in placed:
            continue
        begun = mill.plan.frozen_s > 0 and one.start < until
        if not can[at, number]:
            if begun and name in still:
                what = say(
                    "{run_name} is frozen on a line that cannot make it", run_name=one.run_name
                )
                faults.append(
                    Fault(what, say("a present plan without it"), section=f'line "{name}"')
                )
            continue
        placed.add(number)
        order[at].append(number)
        if begun and name in still:
            frozen[at].append(number)
        else:
            still.discard(name)
    if faults:
        raise BadInput(faults)
    for number in range(len(runs)):
        if number not in placed:
            able = [at for at in range(len(order)) if can[at, number]]
            order[min(able, key=lambda at: len(order[at]))].append(number)
    return tuple(map(tuple, order)), tuple(map(tuple, frozen))


def _no_name_twice(runs: Sequence[PlannedRun]) -> None:
    seen: set[str] = set()
    faults = []
    for run in runs:
        if run.name.casefold() in seen:
            faults.append(
                Fault(say("a run that stands twice"), say("each once"), key="run", value=run.name)
            )
        seen.add(run.name.casefold())
    if faults:
        raise BadInput(faults)


def _known_lines(mill: Mill, lines_now: Mapping[str, LineNow]) -> dict[str, LineNow]:
    found: dict[str, LineNow] = {}
    faults: list[Fault] = []
    for name, line_now in lines_now.items():
        try:
            line = mill.find_line(name)
            ball = mill.find_ball(line_now.ball_name)
            lot = mill.find_dye_lot(line_now.lot_name)[1]
        except BadInput as bad:
            faults += bad.faults
            continue
        found[line.name] = LineNow(ball.name, lot.lot, line_now.until)
    if faults:
        raise BadInput(faults)
    return found


def _some_line(mill: Mill, runs: Sequence[PlannedRun], run_min: NDArray[np.int64]) -> None:
    faults = []
    for number, run in enumerate(runs):
        if not (run_min[:, number] < NEVER_MIN).any():
            _, why = lines_that_can(mill, run)
            what = say("no line can make this run")
            if why:
                what = say("no line can make this run: {why}", why=joined("; ", why))
            faults.append(
                Fault(what, say("another line, or fewer balls"), section=f'run "{run.name}"')
            )
    if faults:
        raise BadInput(faults)
