"""Random stops, exponential service, any number of hands (M/M/c//N)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from clew.line.interference.stopped import Interference, check_row

Array = NDArray[np.float64]


def stopped_chances(machines: int, hands: int, servicing: float) -> Array:
    """Chances that 0, 1, ... N machines stand.

    Parameters
    ----------
    machines : int
        Machines in the row, 0 or more.
    hands : int
        Hands that serve them.
    servicing : float
        Mean service over mean run, the servicing constant ρ [1].

    Returns
    -------
    array, shape (machines + 1,)
        Probabilities.

    Notes
    -----
    p_n is proportional to the product over k < n of (N - k) ρ / min(k + 1, c). Logarithms are
    summed, so a thousand machines neither overflow nor underflow. Source: machine repairman model
    (Palm 1947, not opened), MEMORY; all cells of a table of an open textbook agree.
    """
    k = np.arange(machines, dtype=np.float64)
    steps = np.log(machines - k) + np.log(servicing) - np.log(np.minimum(k + 1.0, hands))
    logs = np.concatenate([[0.0], np.cumsum(steps)])
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def exponential_service(
    machines: int, hands: int, *, run_s: float, service_s: float
) -> Interference:
    """Machines that stop at random, served by several hands in exponential times.

    Parameters
    ----------
    machines : int
        Machines in the row, 1 to 1000.
    hands : int
        Hands that serve them, each able to serve any machine.
    run_s : float
        Mean run from restart to stop [s].
    service_s : float
        Mean service [s].

    Returns
    -------
    Interference
        What runs, waits and is served.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    A stopping machine sees the others as if it were not there, so the chance that it waits is that
    of c or more stopped among N - 1. Runs and services are exponential, and independent. Walking
    is left out. Source: M/M/c//N, MEMORY; held by a published table READ.
    """
    check_row(machines, run_s, service_s, hands)
    servicing = service_s / run_s
    chances = stopped_chances(machines, hands, servicing)
    number = np.arange(machines + 1, dtype=np.float64)
    seen = stopped_chances(machines - 1, hands, servicing)
    return Interference(
        law="exponential",
        machines=machines,
        hands=hands,
        run_s=run_s,
        service_s=service_s,
        running_mean=float(chances @ (machines - number)),
        waiting_mean=float(chances @ np.maximum(number - hands, 0.0)),
        chance_waits=float(seen[hands:].sum()),
    )
