"""What a wish costs: one run put where somebody wants it, the others arranged round it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from clew.faults import BadInput, Fault
from clew.languages import figure, joined, say
from clew.plan.sequence.judge import judge
from clew.plan.sequence.plan import Totals, timed_runs, totals_of
from clew.plan.sequence.problem import NEVER_MIN, Judged, Order, SequenceProblem
from clew.plan.sequence.words import unlike_words
from clew.quantities.show import UnitSystem

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.sequence.plan import SequencePlan
    from clew.plan.sequence.timed_run import TimedRun

MOST_TRIED = 6000
"""Orders tried to arrange the other runs round a wish."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A wish and its price.

    Attributes
    ----------
    run_name, line_name : str
        What is wished where.
    place : int
        Which run of that line it is to be, from 1.
    money : float
        What the plan with it costs more; below 0 where it costs less [money].
    waste_kg : float
        Yarn thrown away more [kg].
    second_balls : float
        Second-quality balls more.
    late_days : float
        Working days late more, all runs together [d].
    late_runs : int
        Runs late more.
    wait_s : float
        Working time more in which lines wait [s].
    found_by : {"reinsertion", "search"}
        Whether the others stay in their order, or were arranged anew round it.
    order : Order
        The runs by line, with the wish.
    timed : tuple of TimedRun
        The same by the mill's clock.
    totals : Totals
        What it comes to.
    words : str
        The price in a sentence.
    """

    run_name: str
    line_name: str
    place: int
    money: float
    waste_kg: float
    second_balls: float
    late_days: float
    late_runs: int
    wait_s: float
    found_by: Literal["reinsertion", "search"]
    order: Order
    timed: tuple[TimedRun, ...]
    totals: Totals
    words: str


def price_of_wish(
    plan: SequencePlan, mill: Mill, run_name: str, line_name: str, place: int
) -> Wish:
    """Price the wish that a run stands at a place of a line.

    Parameters
    ----------
    plan : SequencePlan
        The plan.
    mill : Mill
        The mill it is of.
    run_name, line_name : str
        The run, and the line it should be on.
    place : int
        Which run of that line it should be, from 1; beyond the last it comes last.

    Returns
    -------
    Wish
        The cheapest plan found with it, less the plan.

    Raises
    ------
    BadInput
        When run or line is unknown, the line cannot make the run, or the wish would move the frozen
        part of the plan.

    Notes
    -----
    The run is taken out and put in where it is wished, the others in their order. Then every other
    run that is not frozen is tried at every place of every line and in the place of every other,
    the wish staying where it is, as long as that makes it cheaper and at most 6000 orders are
    tried. So the price is an upper bound:
    a longer search may find the wish cheaper. No chance is in it. Source: DERIVED.
    """
    problem = plan.terms.problem
    run, line, at = _where(plan, mill, run_name, line_name, place)
    moved = _put(_without(plan.answer.best.order, run), run, line, at)
    at = moved[line].index(run)
    plain = judge(problem, moved)
    best = _arranged(problem, plain, run, line, at)
    totals = totals_of(plan.terms, best)
    money = (best.cost - plan.answer.best.cost) / 1000.0
    late_days = _late_days(plan, best) - _late_days(plan, plan.answer.best)
    wish = Wish(
        run_name=problem.names[run],
        line_name=problem.lines[line],
        place=at + 1,
        money=money,
        waste_kg=totals.waste_kg - plan.totals.waste_kg,
        second_balls=totals.second_balls - plan.totals.second_balls,
        late_days=late_days,
        late_runs=best.late_runs - plan.answer.best.late_runs,
        wait_s=totals.wait_s - plan.totals.wait_s,
        found_by="reinsertion" if best is plain else "search",
        order=best.order,
        timed=timed_runs(plan.terms, best),
        totals=totals,
        words="",
    )
    return replace(wish, words=wish_words(wish, plan.currency))


def _where(
    plan: SequencePlan, mill: Mill, run_name: str, line_name: str, place: int
) -> tuple[int, int, int]:
    problem = plan.terms.problem
    line = problem.lines.index(mill.find_line(line_name).name)
    wanted = run_name.strip().casefold()
    found = [number for number, name in enumerate(problem.names) if name.casefold() == wanted]
    if not found:
        expected = say("one of {names}", names=joined(", ", problem.names))
        raise BadInput(
            Fault(say("no such run in the plan"), expected, key="run", value=repr(run_name))
        )
    run = found[0]
    if problem.run_min[line, run] >= NEVER_MIN:
        able = [
            name for at, name in enumerate(problem.lines) if problem.run_min[at, run] < NEVER_MIN
        ]
        what = say("{line} cannot make {run}", line=problem.lines[line], run=problem.names[run])
        raise BadInput(Fault(what, joined(", ", able), key="line"))
    held = len(problem.frozen[line])
    if any(run in first for first in problem.frozen):
        what = say("{run} stands in the frozen part of the plan", run=problem.names[run])
        raise BadInput(Fault(what, say("a run behind it"), key="run"))
    if place <= held:
        what = say("no such place")
        if held:
            what = say("the first {n} of {line} are frozen", n=held, line=problem.lines[line])
        expected = say("{least} or more", least=held + 1)
        raise BadInput(Fault(what, expected, key="place", value=str(place)))
    return run, line, place - 1


def _arranged(problem: SequenceProblem, best: Judged, run: int, line: int, at: int) -> Judged:
    """Move or swap other runs round the wish while that helps, until enough is tried."""
    held = {one for first in problem.frozen for one in first} | {run}
    free = [one for one in range(problem.runs) if one not in held]
    tried = 0
    better = True
    while better:
        better = False
        for other in free:
            for order in _round(problem, best.order, other, (run, line, at), free):
                if tried >= MOST_TRIED:
                    return best
                tried += 1
                found = judge(problem, order)
                if found.cost < best.cost:
                    best, better = found, True
                    break
    return best


def _round(
    problem: SequenceProblem, order: Order, other: int, wish: tuple[int, int, int], free: list[int]
) -> Iterator[Order]:
    """Give orders with another run moved or swapped, and the wish where it was wished."""
    run, line, at = wish
    rest = _without(_without(order, run), other)
    for to, runs in enumerate(rest):
        if problem.run_min[to, other] < NEVER_MIN:
            for place in range(len(problem.frozen[to]), len(runs) + 1):
                moved = _put(rest, other, to, place)
                if len(moved[line]) >= at:
                    yield _put(moved, run, line, at)
    line_of = {one: number for number, runs in enumerate(order) for one in runs}
    for second in free:
        if (
            second > other
            and problem.run_min[line_of[second], other] < NEVER_MIN
            and problem.run_min[line_of[other], second] < NEVER_MIN
        ):
            swap = {other: second, second: other}
            yield tuple(tuple(swap.get(one, one) for one in runs) for runs in order)


def _without(order: Order, run: int) -> Order:
    return tuple(tuple(one for one in runs if one != run) for runs in order)


def _put(order: Order, run: int, line: int, at: int) -> Order:
    return tuple(
        (*runs[:at], run, *runs[at:]) if number == line else runs
        for number, runs in enumerate(order)
    )


def _late_days(plan: SequencePlan, judged: Judged) -> float:
    problem, calendars = plan.terms.problem, plan.terms.calendars
    return sum(
        max(one.upto_min - int(problem.due_min[one.line, one.run]), 0)
        / calendars[one.line].rules.day_min
        for one in judged.timed
    )


def wish_words(wish: Wish, currency: str, units: UnitSystem = "metric") -> str:
    """Say what a wish costs.

    Parameters
    ----------
    wish : Wish
        The wish.
    currency : str
        Three letters.
    units : {"metric", "yard"}
        Whether yarn is told in kilograms or in pounds.

    Returns
    -------
    str
        A sentence.
    """
    where = {"run": wish.run_name, "place": wish.place, "line": wish.line_name}
    money = figure(f"{abs(wish.money):.2f} {currency}")
    if abs(wish.money) < 0.005:
        said = say("{run} as number {place} on {line} costs nothing more", **where)
    elif wish.money > 0:
        said = say("{run} as number {place} on {line} costs {money} more", money=money, **where)
    else:
        said = say("{run} as number {place} on {line} costs {money} less", money=money, **where)
    parts = unlike_words(
        units,
        waste_kg=wish.waste_kg,
        second_balls=wish.second_balls,
        wait_s=wish.wait_s,
        late_days=wish.late_days,
    )
    price = joined(", ", [said, *parts])
    if wish.found_by == "reinsertion":
        return say("{price} (the others in their order).", price=price)
    return say("{price} (the others moved too).", price=price)
