"""The sequence in words: what goes next, what it saves, what is late and what would free it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from clew.plan.sequence.late import working_words
from clew.quantities import MASS
from clew.quantities.show import UnitSystem, in_unit, number

if TYPE_CHECKING:
    from clew.plan.sequence.late import LateRun
    from clew.plan.sequence.plan import SequencePlan, Totals
    from clew.plan.sequence.timed_run import TimedRun

_FOUND = {
    "light to dark": "the plain order from light to dark",
    "present plan": "the present plan, which nothing found betters",
    "search": "local search",
    "count of all orders": "a count of all orders",
    "CP-SAT": "constraint programming",
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
        said = ["Nothing is to be made."] if not plan.cannot else []
        return (*said, *_cannot(plan))
    said = [_line(name, runs) for name, runs in plan.by_line().items() if runs]
    idle = [name for name, runs in plan.by_line().items() if not runs]
    if idle:
        said.append(f"Not needed: {', '.join(idle)}.")
    said += _waits(plan)
    said += [_comes_to(plan.totals, plan.currency), saved_words(plan)]
    if plan.present is not None:
        less = plan.present.cost - plan.totals.cost
        if less > 0:
            said.append(f"{_money(less, plan)} less than the present plan as it stands.")
        else:
            said.append("The present plan costs no more than this.")
    kept = [one.run.name for one in plan.timed if one.frozen]
    if kept:
        said.append(f"Left as they are, as the present plan has them: {', '.join(kept)}.")
    said.append(_bound(plan))
    said += [late_words(one, plan.currency) for one in plan.late]
    if not plan.late:
        said.append("Every order ends in time on average.")
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
        return "Light to dark would cost as much."
    parts = [
        f"Against light to dark: {_money(less, plan)} less",
        *unlike_words(
            units,
            waste_kg=ours.waste_kg - other.waste_kg,
            second_balls=ours.second_balls - other.second_balls,
            stand_s=ours.stand_s - other.stand_s,
            wait_s=ours.wait_s - other.wait_s,
            late_runs=ours.late_runs - other.late_runs,
        ),
    ]
    return ", ".join(parts) + "."


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
    said = []
    for amount, less, words in (
        (in_unit(1000.0 * waste_kg, MASS, unit), "less", f"{unit} {{}} thrown away"),
        (second_balls, "fewer", "{} second-quality balls"),
        (float(round(stand_s / 60.0)), "less", "min {} standing"),
        (wait_s / 3600.0, "less", "h {} waiting"),
        (late_days, "fewer", "{} working days late"),
        (float(late_runs), "fewer", "{} late order" + ("s" if abs(late_runs) != 1 else "")),
    ):
        if abs(amount) >= 0.05:
            size = number(round(abs(amount), 1), 6)
            said.append(f"{size} {words.format('more' if amount > 0 else less)}")
    return said


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
    head = (
        f"{late.run_name} on {late.line_name} ends {working_words(late.late_min)} "
        f"late ({number(late.late_days, 2)} days, {late.late_cost:.2f} {currency})"
    )
    if late.alone:
        head += ", and would be late even if it came first"
    return f"{head}. It is freed by {' or by '.join(late.frees)}."


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
        "none": "goes on as it is",
        "lot": "another dye lot",
        "colour": "another colour",
        "ball": "another ball",
        "yarn": "another yarn" if change.strand_m else "the empty line threaded",
    }[change.kind]
    if change.clean_s:
        words += f", cleaning {number(change.clean_s / 60.0, 2)} min"
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
    long = f"{number(minutes / 60.0, 2)} h" if minutes >= 60.0 else f"{minutes:.0f} min"
    return f"waits {long} for {f'the yarn of {run_name}' if run_name else 'its yarn'}"


def _waits(plan: SequencePlan) -> list[str]:
    """Say line by line what it waits for."""
    said = []
    for name, runs in plan.by_line().items():
        waits = [wait_words(one, one.run.name) for one in runs if one.wait_s]
        if waits:
            said.append(f"{name} {' and '.join(waits)}.")
    return said


def _line(name: str, runs: tuple[TimedRun, ...]) -> str:
    colours: list[str] = []
    for one in runs:
        if not colours or colours[-1] != one.run.colour_name:
            colours.append(one.run.colour_name)
    more = len(colours) - _MOST_NAMED
    chain = " before ".join(colours[:_MOST_NAMED])
    if more > 0:
        chain += f" and {more} more"
    changes = sum(one.change.kind != "none" for one in runs)
    first, last = runs[0], runs[-1]
    return (
        f"{chain} on {name}: {len(runs)} run{'s' if len(runs) != 1 else ''}, {changes} "
        f"change{'s' if changes != 1 else ''}, from {first.change_from:%a %d %b %H:%M} to "
        f"{last.end:%a %d %b %H:%M}."
    )


def _comes_to(totals: Totals, currency: str) -> str:
    parts = [
        f"Changes throw away {number(totals.waste_kg, 3)} kg",
        f"turn {number(totals.second_balls, 3)} balls to second quality",
        f"and stand lines for {number(totals.stand_s / 3600.0, 3)} h: "
        f"{totals.change_cost:.2f} {currency}",
    ]
    said = f"{parts[0]}, {parts[1]} {parts[2]}."
    if totals.late_cost:
        said += f" Lateness costs {totals.late_cost:.2f} {currency}."
    if totals.run_cost:
        said += f" Dearer lines cost {totals.run_cost:.2f} {currency}."
    if totals.wait_cost:
        said += f" Waiting costs {totals.wait_cost:.2f} {currency}."
    return said


def _bound(plan: SequencePlan) -> str:
    answer = plan.answer
    found = f"Found by {_FOUND.get(answer.found_by, answer.found_by)}"
    if answer.proven:
        return f"{found}: no order is better (proven by {_by(answer.bound_by)})."
    if answer.bound <= 0:
        return f"{found}: how near it is to the best order is not known."
    least = answer.bound / 1000.0
    # rounded up: the saying holds as it stands
    cheaper = math.ceil(1000.0 * answer.gap_frac) / 10.0
    return (
        f"{found}: no order can cost less than {least:.2f} {plan.currency} "
        f"({_by(answer.bound_by)}), so none is more than {cheaper:.1f} % cheaper."
    )


def _by(bound_by: str) -> str:
    return {
        "assignment": "the assignment relaxation",
        "count of all orders": "a count of all orders",
        "colours": "the best order of the colours alone",
        "walks": "the cheapest walks in time",
        "CP-SAT": "constraint programming",
    }.get(bound_by, bound_by)


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
    return [f"By the spread of shifts these may yet be late: {', '.join(close)}."]


def _cannot(plan: SequencePlan) -> list[str]:
    return [
        f"{one.run_name} cannot be made: {one.why}. It is freed by {one.frees}."
        for one in plan.cannot
    ]


def _money(amount: float, plan: SequencePlan) -> str:
    return f"{amount:.2f} {plan.currency}"
