"""The cheapest number of hands for a row of machines that stop at random."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput
from clew.line.interference.finite_source import exponential_service
from clew.line.interference.stopped import Interference, check_costs, check_number, check_row

MOST_HANDS = 50
"""Longest table of crews."""


@dataclass(frozen=True, slots=True)
class Crew:
    """A number of hands and what an hour then costs.

    Attributes
    ----------
    interference : Interference
        What runs, waits and is served.
    cost_per_hour : float
        Hands, and machines that stand, an hour [money/h].
    """

    interference: Interference
    cost_per_hour: float


def crews(
    machines: int,
    *,
    run_s: float,
    service_s: float,
    cost_hand_per_hour: float,
    cost_waiting_per_hour: float,
    cost_served_per_hour: float | None = None,
    most_hands: int | None = None,
) -> tuple[Crew, ...]:
    """What each number of hands costs an hour.

    Parameters
    ----------
    machines : int
        Machines in the row, 1 to 1000.
    run_s : float
        Mean run from restart to stop [s].
    service_s : float
        Mean service, exponential [s].
    cost_hand_per_hour : float
        Cost of a hand [money/h].
    cost_waiting_per_hour : float
        Cost of a machine that waits [money/h].
    cost_served_per_hour : float or None
        Cost of a machine that is being served [money/h]; None: as one that waits.
    most_hands : int or None
        Where to stop, 1 to 50; None: a hand a machine, 50 at most.

    Returns
    -------
    tuple of Crew
        For 1, 2, ... hands.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    Costs are linear in machines that wait and that are served. Source: repairman model with linear
    cost, common practice; held by a table of an open textbook, READ.
    """
    served_cost = cost_waiting_per_hour if cost_served_per_hour is None else cost_served_per_hour
    last = min(machines, MOST_HANDS) if most_hands is None else most_hands
    faults = check_costs(
        cost_hand_per_hour=cost_hand_per_hour,
        cost_waiting_per_hour=cost_waiting_per_hour,
        cost_served_per_hour=served_cost,
    )
    if most_hands is not None:
        faults += check_number("most_hands", most_hands, MOST_HANDS)
    if faults:
        raise BadInput(faults)
    check_row(machines, run_s, service_s)
    found = []
    for hands in range(1, last + 1):
        row = exponential_service(machines, hands, run_s=run_s, service_s=service_s)
        cost = (
            cost_hand_per_hour * hands
            + cost_waiting_per_hour * row.waiting_mean
            + served_cost * row.hands_busy
        )
        found.append(Crew(row, cost))
    return tuple(found)


def cheapest(table: tuple[Crew, ...]) -> Crew:
    """The cheapest crew of a table; the smaller on equal cost.

    Parameters
    ----------
    table : tuple of Crew
        From `crews`.

    Returns
    -------
    Crew
        The cheapest.
    """
    return min(table, key=lambda crew: crew.cost_per_hour)
