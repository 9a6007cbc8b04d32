"""The plan as a picture: what page and paper both draw, in shares of its width."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

from clew.languages import figure, say, weekday, weekday_clock, weekday_moment
from clew.plan.sequence.timed_run import ChangeKind, TimedRun
from clew.plan.sequence.words import change_words, wait_words

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.sequence.plan import SequencePlan

_LONG_DAYS = 21


@dataclass(frozen=True, slots=True)
class Bar:
    """A run on its line.

    Attributes
    ----------
    run_name, label, words : str
        Which run; what stands on it; what it says when asked.
    row : int
        Its line's row, from 0.
    x0, x1 : float
        From and up to, as shares of the picture's width [1].
    early_x, late_x : float
        Between these it ends 95 times of 100 [1].
    due_x : float or None
        Where it is due; None where that is outside the picture [1].
    lab : tuple of float
        Its colour in CIELAB, D65 and the 10 degree observer.
    late, frozen : bool
        Whether it ends late on average; whether it may not be moved.
    place : int
        Which run of its line it is, from 1.
    """

    run_name: str
    label: str
    words: str
    row: int
    x0: float
    x1: float
    early_x: float
    late_x: float
    due_x: float | None
    lab: tuple[float, float, float]
    late: bool
    frozen: bool
    place: int


@dataclass(frozen=True, slots=True)
class ChangeBlock:
    """A change before a run.

    Attributes
    ----------
    row : int
        Its line's row, from 0.
    x0, x1 : float
        From and up to, as shares of the picture's width [1].
    kind : str
        What changes.
    run_name, words : str
        Before which run; what it is and what it costs.
    """

    row: int
    x0: float
    x1: float
    kind: ChangeKind
    run_name: str
    words: str


@dataclass(frozen=True, slots=True)
class Wait:
    """Working time in which a line waits for the yarn of its next run.

    Attributes
    ----------
    row : int
        Its line's row, from 0.
    x0, x1 : float
        From and up to, as shares of the picture's width [1].
    words : str
        How long, for which run, and what it costs.
    """

    row: int
    x0: float
    x1: float
    words: str


@dataclass(frozen=True, slots=True)
class Rest:
    """Time in which a line does not work.

    Attributes
    ----------
    row : int
        Its line's row, from 0.
    x0, x1 : float
        From and up to, as shares of the picture's width [1].
    """

    row: int
    x0: float
    x1: float


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of time.

    Attributes
    ----------
    x : float
        Where, as a share of the picture's width [1].
    label : str
        What stands there: the day, or the time a shift begins.
    day : bool
        Whether a day begins there.
    """

    x: float
    label: str
    day: bool


@dataclass(frozen=True, slots=True)
class GanttPicture:
    """The picture of a plan.

    Attributes
    ----------
    begins, ends : datetime
        The time its width spans.
    rows : tuple of str
        The lines, from the top.
    bars, changes, rests, ticks
        What is drawn.
    title : str
        What it shows, for who cannot see it.
    waits : tuple of Wait
        Drawn too; a wait over a rest is in pieces.
    """

    begins: datetime
    ends: datetime
    rows: tuple[str, ...]
    bars: tuple[Bar, ...]
    changes: tuple[ChangeBlock, ...]
    rests: tuple[Rest, ...]
    ticks: tuple[Tick, ...]
    title: str
    waits: tuple[Wait, ...] = ()


def gantt_of(
    plan: SequencePlan, mill: Mill, timed: tuple[TimedRun, ...] | None = None
) -> GanttPicture:
    """Lay a plan out over time.

    Parameters
    ----------
    plan : SequencePlan
        The plan.
    mill : Mill
        The mill, for its colours and shifts.
    timed : tuple of TimedRun, optional
        Other runs in place of the plan's, such as those of a wish.

    Returns
    -------
    GanttPicture
        From now to the latest end that is likely, nights and all.

    Notes
    -----
    A change that reaches over a rest is drawn over it. Source: common practice, no published
    source.
    """
    timed = plan.timed if timed is None else timed
    zone = plan.terms.calendars[0].rules.zone
    begins = plan.now.astimezone(zone)
    ends = max(
        [one.end_late for one in timed],
        key=datetime.timestamp,
        default=begins + timedelta(days=1),
    )
    # in UTC seconds: two moments of one zone subtract by the wall clock, wrong over a time change
    whole_s = max(ends.timestamp() - begins.timestamp(), 60.0)

    def x(moment: datetime) -> float:
        return min(max((moment.timestamp() - begins.timestamp()) / whole_s, 0.0), 1.0)

    rows = plan.terms.problem.lines
    places = dict.fromkeys(rows, 0)
    bars, changes, waits = [], [], []
    for one in timed:
        places[one.line_name] += 1
        row = rows.index(one.line_name)
        bars.append(_bar(one, mill, row, places[one.line_name], x, ends))
        if one.wait_from is not None:
            money = figure(f"{one.wait_cost:.2f} {plan.currency}")
            words = say("{what}: {money}", what=wait_words(one, one.run.name), money=money)
            for begin, upto in plan.terms.calendars[row].spans(ends):
                x0, x1 = (
                    x(max(begin, one.wait_from, key=_real)),
                    x(min(upto, one.change_from, key=_real)),
                )
                if x0 < x1:
                    waits.append(Wait(row, x0, x1, words))
        if one.start.timestamp() > one.change_from.timestamp():
            money = figure(f"{one.change.cost:.2f} {plan.currency}")
            words = say("{what}: {money}", what=change_words(one), money=money)
            changes.append(
                ChangeBlock(
                    row, x(one.change_from), x(one.start), one.change.kind, one.run.name, words
                )
            )
    rests = [
        Rest(row, x(upto), x(after))
        for row, calendar in enumerate(plan.terms.calendars)
        for upto, after in _gaps(calendar.spans(ends), begins, ends)
    ]
    return GanttPicture(
        begins=begins,
        ends=ends,
        rows=rows,
        bars=tuple(bars),
        changes=tuple(changes),
        rests=tuple(rests),
        ticks=tuple(_ticks(plan, begins, ends, whole_s)),
        title=plan.words[0] if timed is plan.timed else say("The plan with the wish."),
        waits=tuple(waits),
    )


_real = datetime.timestamp


def _bar(
    one: TimedRun, mill: Mill, row: int, place: int, x: Callable[[datetime], float], ends: datetime
) -> Bar:
    run = one.run
    lab = mill.find_dye_lot(run.lot_name)[0].lab
    due = datetime.combine(run.due, time(), one.end.tzinfo) + timedelta(days=1)
    late = one.end.timestamp() > due.timestamp()
    words = say(
        "{run}: {balls} {ball} in {colour} {lot} for {customer}, {start} to {end} ({early} to "
        "{latest}), due {due}",
        run=run.name,
        balls=run.balls,
        ball=run.ball_name,
        colour=run.colour_name,
        lot=run.lot_name,
        customer=run.customer,
        start=weekday_moment(one.start),
        end=weekday_moment(one.end),
        early=weekday_clock(one.end_early),
        latest=weekday_clock(one.end_late),
        due=weekday(run.due),
    )
    if late:
        words = say("{run}, late", run=words)
    return Bar(
        run_name=run.name,
        label=f"{run.name} {run.colour_name}",
        words=words,
        row=row,
        x0=x(one.start),
        x1=x(one.end),
        early_x=x(one.end_early),
        late_x=x(one.end_late),
        due_x=x(due) if due.timestamp() <= ends.timestamp() else None,
        lab=(lab.lightness, lab.a, lab.b),
        late=late,
        frozen=one.frozen,
        place=place,
    )


def _gaps(
    spans: tuple[tuple[datetime, datetime], ...], begins: datetime, ends: datetime
) -> list[tuple[datetime, datetime]]:
    """What lies between shifts, from the picture's begin to its end, in real time."""
    gaps, free = [], begins.astimezone(UTC)
    last = ends.astimezone(UTC)
    for begin, upto in spans:
        at = begin.astimezone(UTC)
        if at > free + timedelta(minutes=1):
            gaps.append((free, min(at, last)))
        free = max(free, upto.astimezone(UTC))
    if free < last:
        gaps.append((free, last))
    return gaps


def _ticks(plan: SequencePlan, begins: datetime, ends: datetime, whole_s: float) -> list[Tick]:
    """A tick where a day begins and, where the picture is not long, where a worked shift does."""
    rules = plan.terms.calendars[0].rules
    days = (ends.date() - begins.date()).days + 1
    step = max(1, -(-days // _LONG_DAYS))
    ticks = []
    for number in range(0, days + 1):
        day = begins.date() + timedelta(number)
        marks = [(time(), weekday(day), True)] if number % step == 0 else []
        if days <= 7 and day.weekday() in rules.weekdays and day not in rules.closed:
            marks += [(start, f"{start:%H:%M}", False) for start in rules.worked]
        for clock, label, is_day in marks:
            moment = datetime.combine(day, clock, rules.zone)
            at = (moment.timestamp() - begins.timestamp()) / whole_s
            if 0.0 <= at <= 1.0:
                ticks.append(Tick(at, label, is_day))
    return ticks
