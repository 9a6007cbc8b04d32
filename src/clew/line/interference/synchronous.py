"""Fixed fill times: machines fall into step behind one hand, and do not meet by chance."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.line.interference.stopped import (
    MOST_MACHINES,
    Interference,
    check_costs,
    check_number,
    check_time,
)


@dataclass(frozen=True, slots=True)
class Steps:
    """One hand and the machines in step behind it.

    Attributes
    ----------
    interference : Interference
        What runs, waits and is served.
    walk_s : float
        Walk from one machine to the next [s].
    ideal_machines : float
        Machines that just fill the hand's time [1].
    cycle_s : float
        Time from one doff of a machine to its next [s].
    hand_idle_s : float
        What the hand has left of a cycle [s].
    machine_idle_s : float
        What each machine waits in a cycle [s].
    """

    interference: Interference
    walk_s: float
    ideal_machines: float
    cycle_s: float
    hand_idle_s: float
    machine_idle_s: float


@dataclass(frozen=True, slots=True)
class Assignment:
    """A whole number of machines for one hand, and what a fill then costs.

    Attributes
    ----------
    machines : int
        Machines in the hand's care.
    cost_a_fill : float
        Hand and machine time spent on one fill, in the money of the arguments.
    """

    machines: int
    cost_a_fill: float


def ideal_machines(*, fill_s: float, service_s: float, walk_s: float) -> float:
    """Machines that just fill one hand's time.

    Parameters
    ----------
    fill_s : float
        Time a machine runs, the same every time [s].
    service_s : float
        Time the hand works on it, machine standing [s].
    walk_s : float
        Walk from one machine to the next [s].

    Returns
    -------
    float
        (service + fill) / (service + walk).

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    Source: synchronous servicing, READ with worked examples; Niebel, MEMORY.
    """
    _check_times(fill_s, service_s, walk_s)
    return (service_s + fill_s) / (service_s + walk_s)


def synchronous(machines: int, *, fill_s: float, service_s: float, walk_s: float) -> Steps:
    """One hand who serves machines with a fixed fill time, one after another.

    Parameters
    ----------
    machines : int
        Machines in the hand's care, 1 to 1000.
    fill_s : float
        Time a machine runs, the same every time [s].
    service_s : float
        Time the hand works on it, machine standing [s].
    walk_s : float
        Walk from one machine to the next [s].

    Returns
    -------
    Steps
        Cycle, who waits and how long.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    The cycle is the longer of service + fill and N (service + walk): after a first round machines
    come up one behind the other, and none waits unless the hand has no time left. Any spread in
    fill or service, or a break, spoils the step; then the random-stop models are the other limit.
    Source: synchronous servicing, READ.
    """
    _check_times(fill_s, service_s, walk_s, check_number("machines", machines))
    alone, around = service_s + fill_s, machines * (service_s + walk_s)
    cycle_s = max(alone, around)
    found = Interference(
        law="synchronous",
        machines=machines,
        hands=1,
        run_s=fill_s,
        service_s=service_s,
        running_mean=machines * fill_s / cycle_s,
        waiting_mean=machines * (cycle_s - alone) / cycle_s,
        chance_waits=1.0 if around > alone else 0.0,
    )
    ideal = ideal_machines(fill_s=fill_s, service_s=service_s, walk_s=walk_s)
    return Steps(found, walk_s, ideal, cycle_s, cycle_s - around, cycle_s - alone)


def cheapest_machines(
    *,
    fill_s: float,
    service_s: float,
    walk_s: float,
    cost_machine_per_hour: float,
    cost_hand_per_hour: float,
) -> tuple[Assignment, ...]:
    """The whole numbers beside the ideal, the cheaper first.

    Parameters
    ----------
    fill_s : float
        Time a machine runs, the same every time [s].
    service_s : float
        Time the hand works on it, machine standing [s].
    walk_s : float
        Walk from one machine to the next [s].
    cost_machine_per_hour : float
        Cost of a machine, an hour of its time [money/h].
    cost_hand_per_hour : float
        Cost of a hand, an hour [money/h].

    Returns
    -------
    tuple of Assignment
        One or two; on equal cost the fewer machines come first.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    A fill costs (hand + N machine) cycle / N. It falls with N while the hand has time left and
    rises after, so only the two neighbours of the ideal number can be best. Source: Niebel,
    MEMORY; that only neighbours count, DERIVED.
    """
    faults = check_costs(
        cost_machine_per_hour=cost_machine_per_hour, cost_hand_per_hour=cost_hand_per_hour
    )
    _check_times(fill_s, service_s, walk_s, faults)
    ideal = ideal_machines(fill_s=fill_s, service_s=service_s, walk_s=walk_s)
    beside = {
        min(max(number, 1), MOST_MACHINES) for number in (math.floor(ideal), math.ceil(ideal))
    }

    def cost(number: int) -> float:
        cycle_s = max(service_s + fill_s, number * (service_s + walk_s))
        return (cost_hand_per_hour / number + cost_machine_per_hour) * cycle_s / 3600.0

    each = [Assignment(number, cost(number)) for number in sorted(beside)]
    return tuple(sorted(each, key=lambda one: one.cost_a_fill))


def _check_times(
    fill_s: float, service_s: float, walk_s: float, faults: list[Fault] | None = None
) -> None:
    found = [
        *(faults or []),
        *check_time("fill_s", fill_s),
        *check_time("service_s", service_s),
        *check_time("walk_s", walk_s, zero=True),
    ]
    if found:
        raise BadInput(found)
