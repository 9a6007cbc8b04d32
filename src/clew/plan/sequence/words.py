"""The sequence in words: what goes next, what it saves, what is late and what would free it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from clew.languages import figure, joined, say, say_many, weekday_moment
from clew.plan.sequence.late import working_words
from clew.quantities import MASS
from clew.quantities.show import UnitSystem, in_unit, number

if TYPE_CHECKING:
    from clew.plan.sequence.late import LateRun
    from clew.plan.sequence.plan import SequencePlan, Totals
    from clew.plan.sequence.timed_run import TimedRun

_FOUND = {
    "light to dark": say("the plain order from light to dark"),
    "present plan": say("the present plan, which nothing found betters"),
    "search": say("local search"),
    "count of all orders": say("a count of all orders"),
    "CP-SAT": say("constraint programming"),
}
_PROVEN = {
    "assignment": say("the assignment relaxation"),
    "count of all orders": say("a count of all orders"),
    "colours": say("the best order of the colours alone"),
    "walks": say("the cheapest walks in time"),
    "CP-SAT": say("constraint programming"),
}
_MOST_NAMED = 6


def sequence_words(plan: SequencePlan) -> tuple[str, ...]:
    """Say what a plan says, the next thing to do first.

    Parameters
    ----------
    plan : SequencePlan
        The plan.

    Returns
    -------
    tuple of str
        Sentences.
    """
    if not plan.timed:
        said = [say("Nothing is to be made.")] if not plan.cannot else []
        return (*said, *_cannot(plan))
    said = [_line(name, runs) for name, runs in plan.by_line().items() if runs]
    idle = [name for name, runs in plan.by_line().items() if not runs]
    if idle:
        said.append(say("Not needed: {lines}.", lines=joined(", ", idle)))
    said += _waits(plan)
    said += [_comes_to(plan.totals, plan.currency), saved_words(plan)]
    if plan.present is not None:
        less = plan.present.cost - plan.totals.cost
        if less > 0:
            said.append(
                say(
                    "{money} less than the present plan as it stands.",
                    money=_money(less, plan.currency),
                )
            )
        else:
            said.append(say("The present plan costs no more than this."))
    kept = [one.run.name for one in plan.timed if one.frozen]
    if kept:
        said.append(
            say("Left as they are, as the present plan has them: {runs}.", runs=joined(", ", kept))
        )
    said.append(_bound(plan))
    said += [late_words(one, plan.currency) for one in plan.late]
    if not plan.late:
        said.append(say("Every order ends in time on average."))
    said += _doubtful(plan)
    return (*said, *_cannot(plan))


def saved_words(plan: SequencePlan, units: UnitSystem = "metric") -> str:
    """Say what the plan saves against light to dark.

    Parameters
    ----------
    plan : SequencePlan
        The plan.
    units : {"metric", "yard"}
        Whether yarn is told in kilograms or in pounds.

    Returns
    -------
    str
        A sentence.
    """
    other, ours = plan.light_to_dark, plan.totals
    less = other.cost - ours.cost
    if less < 0.0005:
        return say("Light to dark would cost as much.")
    parts = [
        say("Against light to dark: {money} less", money=_money(less, plan.currency)),
        *unlike_words(
            units,
            waste_kg=ours.waste_kg - other.waste_kg,
            second_balls=ours.second_balls - other.second_balls,
            stand_s=ours.stand_s - other.stand_s,
            wait_s=ours.wait_s - other.wait_s,
            late_runs=ours.late_runs - other.late_runs,
        ),
    ]
    return say("{parts}.", parts=joined(", ", parts))


def unlike_words(
    units: UnitSystem = "metric",
    *,
    waste_kg: float = 0.0,
    second_balls: float = 0.0,
    stand_s: float = 0.0,
    wait_s: float = 0.0,
    late_days: float = 0.0,
    late_runs: int = 0,
) -> list[str]:
    """Say what one plan has more than another, or less; what is alike is left out.

    Parameters
    ----------
    units : {"metric", "yard"}
        Whether yarn is told in kilograms or in pounds.
    waste_kg, second_balls, stand_s, wait_s, late_days, late_runs : float
        Yarn thrown away [kg], balls of second quality, time lines stand and wait [s], working days
        late [d] and late orders: more by so much, below 0 less.

    Returns
    -------
    list of str
        Such as ``7.7 kg less thrown away``.
    """
    unit = "kg" if units == "metric" else "lb"
    waste = in_unit(1000.0 * waste_kg, MASS, unit)
    heavy = figure(f"{_size(waste)} {unit}")
    stand_min, wait_h, orders = float(round(stand_s / 60.0)), wait_s / 3600.0, abs(late_runs)
    told = (
        (
            waste,
            say("{heavy} more thrown away", heavy=heavy),
            say("{heavy} less thrown away", heavy=heavy),
        ),
        (
            second_balls,
            say("{balls} more second-quality balls", balls=_size(second_balls)),
            say("{balls} fewer second-quality balls", balls=_size(second_balls)),
        ),
        (
            stand_min,
            say("{minutes} min more standing", minutes=_size(stand_min)),
            say("{minutes} min less standing", minutes=_size(stand_min)),
        ),
        (
            wait_h,
            say("{hours} h more waiting", hours=_size(wait_h)),
            say("{hours} h less waiting", hours=_size(wait_h)),
        ),
        (
            late_days,
            say("{days} more working days late", days=_size(late_days)),
            say("{days} fewer working days late", days=_size(late_days)),
        ),
        (
            float(late_runs),
            say_many("{n} more late order", "{n} more late orders", orders),
            say_many("{n} fewer late order", "{n} fewer late orders", orders),
        ),
    )
    return [more if amount > 0 else less for amount, more, less in told if abs(amount) >= 0.05]


def _size(amount: float) -> str:
    return number(round(abs(amount), 1), 6)


def late_words(late: LateRun, currency: str) -> str:
    """Say how late a run is and what would free it.

    Parameters
    ----------
    late : LateRun
        The run.
    currency : str
        Three letters.

    Returns
    -------
    str
        Two sentences.
    """
    told = {
        "run": late.run_name,
        "line": late.line_name,
        "long": working_words(late.late_min),
        "days": number(late.late_days, 2),
        "money": _money(late.late_cost, currency),
        "ways": _or_by(late.frees),
    }
    if late.alone:
        return say(
            "{run} on {line} ends {long} late ({days} days, {money}), and would be late even if it "
            "came first. It is freed by {ways}.",
            **told,
        )
    return say(
        "{run} on {line} ends {long} late ({days} days, {money}). It is freed by {ways}.", **told
    )


def _or_by(ways: Sequence[str]) -> str:
    said = ways[0]
    for way in ways[1:]:
        said = say("{way} or by {other}", way=said, other=way)
    return said


def change_words(one: TimedRun) -> str:
    """Say in a few words what comes before a run.

    Parameters
    ----------
    one : TimedRun
        The run.

    Returns
    -------
    str
        Such as ``another colour, cleaning 12 min``.
    """
    change = one.change
    words = {
        "none": say("goes on as it is"),
        "lot": say("another dye lot"),
        "colour": say("another colour"),
        "ball": say("another ball"),
        "yarn": say("another yarn") if change.strand_m else say("the empty line threaded"),
    }[change.kind]
    if change.clean_s:
        minutes = number(change.clean_s / 60.0, 2)
        return say("{change}, cleaning {minutes} min", change=words, minutes=minutes)
    return words


def wait_words(one: TimedRun, run_name: str = "") -> str:
    """Say how long a line waits for a run.

    Parameters
    ----------
    one : TimedRun
        The run.
    run_name : str
        The run as it should be called; its yarn alone where empty.

    Returns
    -------
    str
        Such as ``waits 3.2 h for the yarn of 1108``; empty where it does not wait.
    """
    if not one.wait_s:
        return ""
    minutes = one.wait_s / 60.0
    long = figure(f"{number(minutes / 60.0, 2)} h" if minutes >= 60.0 else f"{minutes:.0f} min")
    if run_name:
        return say("waits {long} for the yarn of {run}", long=long, run=run_name)
    return say("waits {long} for its yarn", long=long)


def _waits(plan: SequencePlan) -> list[str]:
    """Say line by line what it waits for."""
    said = []
    for name, runs in plan.by_line().items():
        waits = [wait_words(one, one.run.name) for one in runs if one.wait_s]
        if waits:
            said.append(say("{line} {waits}.", line=name, waits=_and(waits)))
    return said


def _and(parts: Sequence[str]) -> str:
    said = parts[0]
    for part in parts[1:]:
        said = say("{part} and {other}", part=said, other=part)
    return said


def _line(name: str, runs: tuple[TimedRun, ...]) -> str:
    colours: list[str] = []
    for one in runs:
        if not colours or colours[-1] != one.run.colour_name:
            colours.append(one.run.colour_name)
    more = len(colours) - _MOST_NAMED
    chain = colours[0]
    for colour in colours[1:_MOST_NAMED]:
        chain = say("{colour} before {other}", colour=chain, other=colour)
    if more > 0:
        chain = say("{names} and {more} more", names=chain, more=more)
    changes = sum(one.change.kind != "none" for one in runs)
    first, last = runs[0], runs[-1]
    return say(
        "{colours} on {line}: {runs}, {changes}, from {start} to {end}.",
        colours=chain,
        line=name,
        runs=say_many("{n} run", "{n} runs", len(runs)),
        changes=say_many("{n} change", "{n} changes", changes),
        start=weekday_moment(first.change_from),
        end=weekday_moment(last.end),
    )


def _comes_to(totals: Totals, currency: str) -> str:
    said = [
        say(
            "Changes throw away {waste} kg, turn {balls} balls to second quality and stand lines "
            "for {hours} h: {money}.",
            waste=number(totals.waste_kg, 3),
            balls=number(totals.second_balls, 3),
            hours=number(totals.stand_s / 3600.0, 3),
            money=_money(totals.change_cost, currency),
        )
    ]
    if totals.late_cost:
        said.append(say("Lateness costs {money}.", money=_money(totals.late_cost, currency)))
    if totals.run_cost:
        said.append(say("Dearer lines cost {money}.", money=_money(totals.run_cost, currency)))
    if totals.wait_cost:
        said.append(say("Waiting costs {money}.", money=_money(totals.wait_cost, currency)))
    return joined(" ", said)


def _bound(plan: SequencePlan) -> str:
    answer = plan.answer
    found = _FOUND.get(answer.found_by, answer.found_by)
    proof = _PROVEN.get(answer.bound_by, answer.bound_by)
    if answer.proven:
        return say(
            "Found by {way}: no order is better (proven by {proof}).", way=found, proof=proof
        )
    if answer.bound <= 0:
        return say("Found by {way}: how near it is to the best order is not known.", way=found)
    least = answer.bound / 1000.0
    # rounded up: the saying holds as it stands
    cheaper = math.ceil(1000.0 * answer.gap_frac) / 10.0
    return say(
        "Found by {way}: no order can cost less than {money} ({proof}), so none is more than "
        "{cheaper:.1f} % cheaper.",
        way=found,
        money=_money(least, plan.currency),
        proof=proof,
        cheaper=cheaper,
    )


def _doubtful(plan: SequencePlan) -> list[str]:
    """Name runs that end in time on average and may yet be late."""
    late = {one.run_name for one in plan.late}
    close = [
        one.run.name
        for one in plan.timed
        if one.run.name not in late and one.run.due < one.end_late.date()
    ]
    if not close:
        return []
    return [say("By the spread of shifts these may yet be late: {runs}.", runs=joined(", ", close))]


def _cannot(plan: SequencePlan) -> list[str]:
    return [
        say(
            "{run} cannot be made: {why}. It is freed by {frees}.",
            run=one.run_name,
            why=one.why,
            frees=one.frees,
        )
        for one in plan.cannot
    ]


def _money(amount: float, currency: str) -> str:
    return figure(f"{amount:.2f} {currency}")
