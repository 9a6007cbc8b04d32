"""The plan of the runs by the mill's clock: what it costs, what it saves, what is late and why."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from clew.languages import joined, say
from clew.plan.sequence.from_mill import (
    PresentRun,
    SequenceTerms,
    lines_that_can,
    terms_of_runs,
)
from clew.plan.sequence.late import LateRun, late_runs
from clew.plan.sequence.solve import solve
from clew.plan.sequence.timed_run import TimedRun
from clew.plan.sequence.words import sequence_words

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.runs import PlannedRun
    from clew.plan.sequence.change import LineNow
    from clew.plan.sequence.problem import Judged, SequenceAnswer

LEAST_SEARCH_SHARE = 0.2
"""The search has this share of the time, however long the rest took [1]."""
NORMAL_95 = 1.959964
"""Standard deviations on either side that hold 95 of 100 of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Totals:
    """What an order of runs comes to.

    Attributes
    ----------
    changes : int
        Changes of lot, colour, ball or yarn.
    change_cost, late_cost, run_cost, wait_cost : float
        What changes, lateness, dearer lines and waiting lines cost [money].
    waste_kg : float
        Yarn that changes throw away, as it comes [kg].
    second_balls : float
        Balls that changes turn to second quality.
    stand_s, clean_s : float
        How long lines stand for changes, and for cleaning in that [s].
    wait_s : float
        How long lines wait for the yarn of their next run, in working time [s].
    late_runs : int
        Runs that end late.
    """

    changes: int
    change_cost: float
    late_cost: float
    run_cost: float
    wait_cost: float
    waste_kg: float
    second_balls: float
    stand_s: float
    clean_s: float
    wait_s: float
    late_runs: int

    @property
    def cost(self) -> float:
        """All of it [money]."""
        return self.change_cost + self.late_cost + self.run_cost + self.wait_cost


@dataclass(frozen=True, slots=True)
class CannotRun:
    """A run that no line can make.

    Attributes
    ----------
    run_name, why, frees : str
        Which, what conflicts, what would free it.
    """

    run_name: str
    why: str
    frees: str


@dataclass(frozen=True, slots=True)
class SequencePlan:
    """The plan of the runs.

    Attributes
    ----------
    mill_name, currency : str
        Whose plan, in which money.
    now : datetime
        When it was made.
    terms : SequenceTerms
        The problem and what it was made of.
    answer : SequenceAnswer
        The order found, its bound, and light to dark beside it.
    timed : tuple of TimedRun
        Each run with its line, change and times, by line and in time.
    totals, light_to_dark : Totals
        What the plan comes to, and the runs from light to dark.
    present : Totals or None
        What the present plan comes to, with the runs it did not know at its ends.
    late : tuple of LateRun
        What is late, the dearest first.
    cannot : tuple of CannotRun
        Runs that no line can make; they are not in the plan.
    within_s : float
        Time that was given to find it [s].
    """

    mill_name: str
    currency: str
    now: datetime
    terms: SequenceTerms
    answer: SequenceAnswer
    timed: tuple[TimedRun, ...]
    totals: Totals
    light_to_dark: Totals
    present: Totals | None
    late: tuple[LateRun, ...]
    cannot: tuple[CannotRun, ...]
    within_s: float

    @property
    def words(self) -> tuple[str, ...]:
        """The plan in sentences, what to do first."""
        return sequence_words(self)

    @property
    def kept(self) -> bool:
        """Whether every run can be made and none ends late on average."""
        return not self.late and not self.cannot

    def by_line(self) -> dict[str, tuple[TimedRun, ...]]:
        """Give the runs of each line, in their order."""
        return {
            name: tuple(one for one in self.timed if one.line_name == name)
            for name in self.terms.problem.lines
        }


def sequence_plan(
    mill: Mill,
    runs: Sequence[PlannedRun],
    *,
    now: datetime,
    lines_now: Mapping[str, LineNow] | None = None,
    present: Sequence[PresentRun] | None = None,
    within_s: float = 10.0,
    spent_s: float = 0.0,
    seed: int = 1,
    progress: Callable[[str], None] | None = None,
) -> SequencePlan:
    """Find which run goes next on which line, and when.

    Parameters
    ----------
    mill : Mill
        The mill.
    runs : sequence of PlannedRun
        What is to be made.
    now : datetime
        When the plan begins, with the time zone.
    lines_now : mapping of str to LineNow, optional
        What is in each line; a line left out is empty.
    present : sequence of PresentRun, optional
        The present plan: it is begun from, and its first hours stay as they are.
    within_s : float
        Time to find it in, with what is worked out before the search [s].
    spent_s : float
        What of that is gone already [s].
    seed : int
        Seed of the search.
    progress : callable, optional
        Told in words what was reached.

    Returns
    -------
    SequencePlan
        Never dearer than light to dark, nor than the present plan.

    Raises
    ------
    BadInput
        When a name is not in the mill file, a run stands twice, or the lines never work.

    Notes
    -----
    The search has what is left of the time, and a fifth of it at least. A run that no line can make
    is left out and named. The end of a run varies as the sum of the runs before it on its line and
    its own: each by the spread of one shift's balls times the square root of its shifts, as if
    shifts were independent, over the pace; 1.96 standard deviations early and late. Changes are
    taken as long as the mill says. Source: DERIVED.
    """
    began = time.monotonic()
    able, cannot = [], []
    for run in runs:
        lines, why = lines_that_can(mill, run)
        if lines:
            able.append(run)
        else:
            reason = joined("; ", why) or say(
                "none of {lines} is a line of this mill", lines=joined(", ", run.lines)
            )
            frees = say("another line that may make it, or other settings of that line")
            cannot.append(CannotRun(run.name, reason, frees))
    terms = terms_of_runs(mill, able, now=now, lines_now=lines_now, present=present)
    gone_s = spent_s + time.monotonic() - began
    answer = solve(
        terms.problem,
        lightness=terms.lightness,
        present=terms.present,
        within_s=max(within_s - gone_s, LEAST_SEARCH_SHARE * within_s),
        seed=seed,
        progress=progress,
    )
    timed = timed_runs(terms, answer.best)
    return SequencePlan(
        mill_name=mill.mill.name,
        currency=mill.prices.currency,
        now=now,
        terms=terms,
        answer=answer,
        timed=timed,
        totals=totals_of(terms, answer.best),
        light_to_dark=totals_of(terms, answer.light_to_dark),
        present=None if answer.present is None else totals_of(terms, answer.present),
        late=late_runs(terms, answer.best),
        cannot=tuple(cannot),
        within_s=within_s,
    )


def timed_runs(terms: SequenceTerms, judged: Judged) -> tuple[TimedRun, ...]:
    """Put an order of runs on the mill's clock.

    Parameters
    ----------
    terms : SequenceTerms
        The problem.
    judged : Judged
        The order, timed in working minutes.

    Returns
    -------
    tuple of TimedRun
        By line and in time.

    Raises
    ------
    BadInput
        When the plan is longer than ten years.
    """
    found = []
    variance = [0.0] * len(terms.calendars)
    before: dict[int, PlannedRun] = {}
    for one in judged.timed:
        run, name = terms.runs[one.run], terms.problem.lines[one.line]
        calendar, pace = terms.calendars[one.line], terms.paces[(name, run.ball_name)]
        length_min = one.upto_min - one.from_min
        shifts = 60.0 * length_min / pace.shift_s
        variance[one.line] += shifts * (60.0 * pace.balls_sd_per_shift / pace.balls_per_h) ** 2
        doubt_min = NORMAL_95 * math.sqrt(variance[one.line])
        was = before.get(one.line) or terms.lines_now.get(name)
        before[one.line] = run
        start = calendar.start_after(one.from_min)
        wait_from = calendar.start_after(one.change_from_min - one.wait_min)
        early = calendar.end_after(max(math.floor(one.upto_min - doubt_min), 0))
        found.append(
            TimedRun(
                run=run,
                line_name=name,
                change=terms.changes.between(name, was, run),
                change_from=calendar.start_after(one.change_from_min),
                start=start,
                end=calendar.end_after(one.upto_min),
                end_early=max(early, start, key=datetime.timestamp),
                end_late=calendar.end_after(math.ceil(one.upto_min + doubt_min)),
                late_cost=one.late_cost / 1000.0,
                frozen=one.run in terms.problem.frozen[one.line],
                wait_from=wait_from if one.wait_min else None,
                wait_s=60.0 * one.wait_min,
                wait_cost=one.wait_cost / 1000.0,
            )
        )
    return tuple(found)


def totals_of(terms: SequenceTerms, judged: Judged) -> Totals:
    """Add up what an order of runs comes to.

    Parameters
    ----------
    terms : SequenceTerms
        The problem.
    judged : Judged
        The order.

    Returns
    -------
    Totals
        Money as the problem counts it, in thousandths; the rest from the changes themselves.
    """
    changes = []
    before: dict[int, PlannedRun] = {}
    for one in judged.timed:
        name, run = terms.problem.lines[one.line], terms.runs[one.run]
        was = before.get(one.line) or terms.lines_now.get(name)
        changes.append(terms.changes.between(name, was, run))
        before[one.line] = run
    return Totals(
        changes=sum(one.kind != "none" for one in changes),
        change_cost=judged.change_cost / 1000.0,
        late_cost=judged.late_cost / 1000.0,
        run_cost=judged.run_cost / 1000.0,
        wait_cost=judged.wait_cost / 1000.0,
        waste_kg=sum(one.waste_kg for one in changes),
        second_balls=sum(one.second_balls for one in changes),
        stand_s=sum(one.stand_s for one in changes),
        clean_s=sum(one.clean_s for one in changes),
        wait_s=60.0 * sum(one.wait_min for one in judged.timed),
        late_runs=judged.late_runs,
    )
