"""What must hold of a sequence problem, and of an order of its runs."""

from __future__ import annotations

import numpy as np

from clew.faults import BadInput, Fault
from clew.plan.sequence.problem import NEVER_MIN, Order, SequenceProblem

MOST_MONEY = 2**53
"""Below this whole numbers stay exact in every solver used [1/1000 money]."""


def check_problem(problem: SequenceProblem) -> None:
    """Refuse a problem that cannot be solved as it stands, with everything wrong with it.

    Parameters
    ----------
    problem : SequenceProblem
        The problem.

    Raises
    ------
    BadInput
        When tables do not fit, are not whole numbers or are below 0, when no line can make a run,
        or when frozen runs are twice there, unknown or on a line that cannot make them.

    Notes
    -----
    Source: common practice, no published source.
    """
    faults = _shapes(problem)
    if faults:
        raise BadInput(faults)
    faults = [*_negatives(problem), *_never(problem), *_frozen(problem)]
    if not faults:
        faults = _too_large(problem)
    if faults:
        raise BadInput(faults)


def _shapes(problem: SequenceProblem) -> list[Fault]:
    """Tables of another shape, or not of whole numbers."""
    lines, runs = len(problem.lines), problem.runs
    wanted = {
        "run_min": (lines, runs),
        "run_cost": (lines, runs),
        "change_min": (lines, runs + 1, runs),
        "change_cost": (lines, runs + 1, runs),
        "ready_min": (lines, runs),
        "due_min": (lines, runs),
        "late_cost_per_min": (runs,),
        "free_min": (lines,),
        "wait_cost_per_min": (lines,),
    }
    faults = []
    if not lines:
        faults.append(Fault("no line", "at least one", key="lines"))
    for key, shape in wanted.items():
        table = getattr(problem, key)
        if table.shape != shape:
            faults.append(Fault("a table of the wrong shape", str(shape), key=key))
        elif not np.issubdtype(table.dtype, np.signedinteger):
            faults.append(Fault("not whole numbers", "int64", key=key, value=str(table.dtype)))
    if len(problem.frozen) != lines:
        faults.append(Fault("not one entry a line", f"{lines} entries", key="frozen"))
    return faults


def _negatives(problem: SequenceProblem) -> list[Fault]:
    """Times and costs below 0; a due time may lie in the past."""
    keys = (
        "run_min", "run_cost", "change_min", "change_cost", "ready_min", "late_cost_per_min",
        "free_min", "wait_cost_per_min",
    )  # fmt: skip
    return [
        Fault("below 0", "0 or more", key=key, value=str(int(getattr(problem, key).min())))
        for key in keys
        if getattr(problem, key).size and getattr(problem, key).min() < 0
    ]


def _never(problem: SequenceProblem) -> list[Fault]:
    """Runs that no line can make."""
    nowhere = np.flatnonzero((problem.run_min >= NEVER_MIN).all(axis=0))
    return [
        Fault("no line can make this run", "a line that can", section=f'run "{problem.names[run]}"')
        for run in nowhere.tolist()
    ]


def _frozen(problem: SequenceProblem) -> list[Fault]:
    """Frozen runs unknown, twice there, or on a line that cannot make them."""
    faults = []
    seen: set[int] = set()
    for line, runs in enumerate(problem.frozen):
        place = f'line "{problem.lines[line]}"'
        for run in runs:
            if not 0 <= run < problem.runs:
                faults.append(Fault("no such run", section=place, key="frozen", value=str(run)))
                continue
            name = problem.names[run]
            if run in seen:
                faults.append(
                    Fault("a run frozen twice", "once", section=place, key="frozen", value=name)
                )
            elif problem.run_min[line, run] >= NEVER_MIN:
                faults.append(
                    Fault(
                        "this line cannot make the frozen run",
                        "a line that can",
                        section=place,
                        key="frozen",
                        value=name,
                    )
                )
            seen.add(run)
    return faults


def _too_large(problem: SequenceProblem) -> list[Fault]:
    """Sums that would not stay exact."""
    if not problem.runs:
        return []
    made = problem.run_min[problem.run_min < NEVER_MIN]
    longest = int(made.max()) + int(problem.change_min.max())
    begin = max(int(problem.ready_min.max()), int(problem.free_min.max()))
    end = begin + problem.runs * longest - min(int(problem.due_min.min()), 0)
    dearest = int(problem.change_cost.max()) + int(problem.run_cost.max())
    # Python's whole numbers have no end, so this sum itself cannot go wrong.
    a_minute = sum(problem.late_cost_per_min.tolist()) + sum(problem.wait_cost_per_min.tolist())
    worst = problem.runs * dearest + end * a_minute
    if worst < MOST_MONEY:
        return []
    return [Fault("times and costs too large to add up", f"sums below {MOST_MONEY}/1000 money")]


def check_order(problem: SequenceProblem, order: Order) -> None:
    """Refuse an order that is not one of this problem.

    Parameters
    ----------
    problem : SequenceProblem
        The problem, checked.
    order : Order
        The runs by line.

    Raises
    ------
    BadInput
        When a run is missing, twice there, on a line that cannot make it, or when frozen runs do
        not come first.

    Notes
    -----
    Source: common practice, no published source.
    """
    faults = []
    if len(order) != len(problem.lines):
        raise BadInput(
            Fault("an order of another number of lines", str(len(problem.lines)), key="order")
        )
    times = dict.fromkeys(range(problem.runs), 0)
    for line, runs in enumerate(order):
        place = f'line "{problem.lines[line]}"'
        for run in runs:
            if run not in times:
                faults.append(Fault("no such run", section=place, key="order", value=str(run)))
                continue
            times[run] += 1
            if problem.run_min[line, run] >= NEVER_MIN:
                faults.append(
                    Fault("this line cannot make it", section=place, value=problem.names[run])
                )
        frozen = problem.frozen[line]
        if tuple(runs[: len(frozen)]) != frozen:
            names = ", ".join(problem.names[run] for run in frozen)
            faults.append(Fault("frozen runs moved", f"first: {names}", section=place))
    for run, found in times.items():
        if found != 1:
            what = "twice in the order" if found else "missing from the order"
            faults.append(Fault(what, "once", section=f'run "{problem.names[run]}"'))
    if faults:
        raise BadInput(faults)
