"""What a crew and its machines come to, whichever model gave it; and what each model refuses."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault

MOST_MACHINES = 1000
"""Past it a row has many crews; the sums stay exact, but nobody walks so far."""


@dataclass(frozen=True, slots=True)
class Interference:
    """A row of like machines under one crew, in the long run.

    Attributes
    ----------
    law : str
        Which model it comes from.
    machines : int
        Machines in the row.
    hands : int
        Hands that serve them.
    run_s : float
        Mean time a machine runs from restart to stop [s].
    service_s : float
        Mean time a hand works on a stopped machine [s].
    running_mean : float
        Machines that run [1].
    waiting_mean : float
        Machines that stand and wait for a hand [1].
    chance_waits : float or None
        Chance that a stopping machine finds no free hand; None where the model does not say.
    """

    law: str
    machines: int
    hands: int
    run_s: float
    service_s: float
    running_mean: float
    waiting_mean: float
    chance_waits: float | None

    @property
    def hands_busy(self) -> float:
        """Hands at work on a machine, walking left out; as many machines are being served."""
        return self.running_mean * self.service_s / self.run_s

    @property
    def stopped_mean(self) -> float:
        """Machines that stand: waiting and being served."""
        return self.waiting_mean + self.hands_busy

    @property
    def efficiency(self) -> float:
        """Share of machine time that runs."""
        return self.running_mean / self.machines

    @property
    def hand_share(self) -> float:
        """Share of a hand's time at work on machines."""
        return self.hands_busy / self.hands

    @property
    def calls_per_hour(self) -> float:
        """Stops answered an hour, the row together."""
        return 3600.0 * self.running_mean / self.run_s

    @property
    def wait_s(self) -> float:
        """Mean wait of a stop for a hand, stops that do not wait counted with 0 [s]."""
        return mean_time_s(self.waiting_mean, self.calls_per_hour)


def mean_time_s(number_mean: float, per_hour: float) -> float:
    """Mean time that each spends somewhere, from how many are there and how many come.

    Parameters
    ----------
    number_mean : float
        How many are there in the mean [1].
    per_hour : float
        How many come an hour [1/h].

    Returns
    -------
    float
        Mean time there [s].

    Notes
    -----
    Little's law, L = λ W, for any order of service and any distributions in the long run. Source:
    J. D. C. Little, Operations Research 9 (1961) 383-387, MEMORY.
    """
    return 3600.0 * number_mean / per_hour


def check_time(key: str, time_s: float, *, zero: bool = False) -> list[Fault]:
    """Fault of a time that is not above 0 s and finite.

    Parameters
    ----------
    key : str
        Which argument it is.
    time_s : float
        The time [s].
    zero : bool
        Whether 0 s is allowed.

    Returns
    -------
    list of Fault
        Empty when it is good.
    """
    if math.isfinite(time_s) and (time_s > 0.0 or (zero and time_s == 0.0)):
        return []
    expected = "a time of 0 s or more" if zero else "a time above 0 s"
    return [Fault("out of range", expected=expected, key=key, value=f"{time_s:g} s")]


def check_number(key: str, number: int, most: int = MOST_MACHINES, least: int = 1) -> list[Fault]:
    """Fault of a whole number that is out of its range.

    Parameters
    ----------
    key : str
        Which argument it is.
    number : int
        The number.
    most, least : int
        Its range, both ends allowed.

    Returns
    -------
    list of Fault
        Empty when it is good.
    """
    if least <= number <= most:
        return []
    expected = f"a whole number from {least} to {most}"
    return [Fault("out of range", expected=expected, key=key, value=str(number))]


def check_costs(**costs: float) -> list[Fault]:
    """Faults of costs that are not 0 or more.

    Parameters
    ----------
    **costs : float
        Costs by name [money/h].

    Returns
    -------
    list of Fault
        Empty when all are good.
    """
    return [
        Fault("out of range", expected="a cost of 0 or more", key=key, value=f"{cost:g}")
        for key, cost in costs.items()
        if not (math.isfinite(cost) and cost >= 0.0)
    ]


def check_row(machines: int, run_s: float, service_s: float, hands: int = 1) -> None:
    """Refuse a row of machines that cannot be.

    Parameters
    ----------
    machines, hands : int
        How many.
    run_s, service_s : float
        Mean run and mean service [s].

    Raises
    ------
    BadInput
        With every fault.
    """
    faults = [
        *check_number("machines", machines),
        *check_number("hands", hands),
        *check_time("run_s", run_s),
        *check_time("service_s", service_s),
    ]
    if faults:
        raise BadInput(faults)
