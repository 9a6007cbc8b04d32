"""Runs that end late: by how much, what it costs, and what would free them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.languages import day, joined, say, say_many
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.plan.sequence.from_mill import SequenceTerms
    from clew.plan.sequence.problem import Judged


@dataclass(frozen=True, slots=True)
class LateRun:
    """A run that ends late, and what would free it.

    Attributes
    ----------
    run_name, order_number, line_name : str
        Which, where.
    late_min : int
        By how many working minutes of its line [min].
    late_days : float
        The same in working days of that line [d].
    late_cost : float
        What it costs [money].
    alone : bool
        Whether it would be late even as the first run on the best of its lines.
    behind : tuple of str
        Runs made before it on its line.
    frees : tuple of str
        What would free it, in words.
    """

    run_name: str
    order_number: str
    line_name: str
    late_min: int
    late_days: float
    late_cost: float
    alone: bool
    behind: tuple[str, ...]
    frees: tuple[str, ...]


def late_runs(terms: SequenceTerms, judged: Judged) -> tuple[LateRun, ...]:
    """Name the runs that end late on average, and what would free each.

    Parameters
    ----------
    terms : SequenceTerms
        The problem.
    judged : Judged
        The order, timed.

    Returns
    -------
    tuple of LateRun
        The dearest first.

    Notes
    -----
    Each way out stands for itself, with the rest of the plan as it is. Source: DERIVED.
    """
    found = []
    for one in judged.timed:
        late_min = one.upto_min - int(terms.problem.due_min[one.line, one.run])
        if late_min <= 0:
            continue
        run, line_name = terms.runs[one.run], terms.problem.lines[one.line]
        calendar = terms.calendars[one.line]
        here = judged.order[one.line]
        behind = tuple(terms.problem.names[other] for other in here[: here.index(one.run)])
        lines = range(len(terms.problem.lines))
        alone = all(_late_first(terms, line, one.run) for line in lines)
        end = calendar.end_after(one.upto_min)
        frees = [say("a due date of {date} or later", date=day(end.date()))]
        # no time can be added to a day that is over
        if run.due >= calendar.now.astimezone(calendar.rules.zone).date():
            more = say(
                "{long} more on {line} before the end of {date}",
                long=working_words(late_min),
                line=line_name,
                date=day(run.due),
            )
            frees.insert(0, more)
        if late_min <= one.wait_min:
            frees.append(say("yarn that is there {long} sooner", long=working_words(late_min)))
        if not alone:
            names = joined(", ", behind[:3])
            if behind[3:]:
                names = say("{names} and {more} more", names=names, more=len(behind) - 3)
            here_first = not _late_first(terms, one.line, one.run)
            frees.append(
                say("being made before {runs}, which costs more", runs=names)
                if here_first
                else say("another line")
            )
        found.append(
            LateRun(
                run_name=run.name,
                order_number=run.order_number,
                line_name=line_name,
                late_min=late_min,
                late_days=late_min / calendar.rules.day_min,
                late_cost=one.late_cost / 1000.0,
                alone=alone,
                behind=behind,
                frees=tuple(frees),
            )
        )
    return tuple(sorted(found, key=lambda late: (-late.late_cost, -late.late_min)))


def working_words(minutes: int) -> str:
    """Write a working time in the unit a person would use."""
    if minutes < 120:
        return say_many("{n} working minute", "{n} working minutes", minutes)
    return say("{hours} working hours", hours=number(round(minutes / 60.0, 1), 5))


def _late_first(terms: SequenceTerms, line: int, run: int) -> bool:
    """Whether a run is late on a line, or cannot be made there, even if it comes first."""
    problem = terms.problem
    begin = max(int(problem.free_min[line]), int(problem.ready_min[line, run]))
    takes = int(problem.change_min[line, problem.runs, run] + problem.run_min[line, run])
    return begin + takes > int(problem.due_min[line, run])
