"""Wright's empirical formula: a check of order, no more."""

from __future__ import annotations

import math

from clew.faults import BadInput
from clew.line.interference.stopped import check_number, check_time

LEAST_MACHINES = 7
"""It was fitted for more than six machines a hand."""


def wright_wait_s(machines: int, *, run_s: float, service_s: float) -> float:
    """Mean wait for the hand in each cycle of a machine, by Wright's formula.

    Parameters
    ----------
    machines : int
        Machines in one hand's care, 7 to 1000.
    run_s : float
        Mean run from restart to stop [s].
    service_s : float
        Mean attention a stop [s].

    Returns
    -------
    float
        Wait a stop [s].

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    I = 50 (√((1 + X - N)² + 2N) - (1 + X - N)) per cent of attention time, X = run / attention.
    It lies above both exact one-hand models for many machines and below exponential service for
    few, so it checks the order of a result and proves nothing. Source: Wright, Duvall & Freeman
    1936, in Niebel, Methods, Standards and Work Design, MEMORY.
    """
    faults = [
        *check_number("machines", machines, least=LEAST_MACHINES),
        *check_time("run_s", run_s),
        *check_time("service_s", service_s),
    ]
    if faults:
        raise BadInput(faults)
    spare = 1.0 + run_s / service_s - machines
    root = math.hypot(spare, math.sqrt(2.0 * machines))
    # With time to spare, root - spare would lose every digit.
    times = 2.0 * machines / (root + spare) if spare > 0.0 else root - spare
    return 0.5 * service_s * times
