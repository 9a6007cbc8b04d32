"""One hand who walks a fixed round past all machines and serves those that stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clew.faults import BadInput
from clew.line.interference.log_sums import log_binomials
from clew.line.interference.one_hand import one_hand
from clew.line.interference.stopped import Interference, check_number, check_time


@dataclass(frozen=True, slots=True)
class Patrol:
    """A patrolling hand, in the long run.

    Attributes
    ----------
    interference : Interference
        What runs, waits and is served.
    walk_round_s : float
        Walking of one round, without work [s].
    round_s : float
        Mean time of a round, work included [s]; 0 when there is no walking: rounds are then
        endless in number.
    served_a_round : float
        Machines served a round, in the mean [1].
    """

    interference: Interference
    walk_round_s: float
    round_s: float
    served_a_round: float

    @property
    def walking_frac(self) -> float:
        """Share of the hand's time spent walking."""
        return self.walk_round_s / self.round_s if self.round_s > 0.0 else 0.0


def patrol(machines: int, *, run_s: float, service_s: float, walk_round_s: float) -> Patrol:
    """Machines in a circle that stop at random, one hand walking round them without rest.

    Parameters
    ----------
    machines : int
        Machines in the row, 1 to 1000.
    run_s : float
        Mean run from restart to stop [s].
    service_s : float
        Service of a stopped machine, always the same [s].
    walk_round_s : float
        Walking of one round, without work; always the same [s].

    Returns
    -------
    Patrol
        What runs, waits and is served; the round.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    With g_j = exp(λ(W + jc)) - 1, k machines served a round weigh C(N, k) g_0...g_{k-1}: their mean
    is N Σ_{n=0}^{N-1} C(N-1, n) g_0...g_n over 1 + Σ_{n=1}^{N} C(N, n) g_0...g_{n-1}, and a round
    lasts W + c times as long. Weights are positive and kept in logarithms. How the walk is shared
    between machines does not matter. Without walking it is `one_hand` with constant service.
    Source: Mack, Murphy & Webb, J. Roy. Statist. Soc. B 19 (1957) 166-172, formula MEMORY, held by
    simulation; the same as one-message-buffer polling (Takagi 1986, MEMORY).
    """
    faults = [
        *check_number("machines", machines),
        *check_time("run_s", run_s),
        *check_time("service_s", service_s),
        *check_time("walk_round_s", walk_round_s, zero=True),
    ]
    if faults:
        raise BadInput(faults)
    if walk_round_s == 0.0:
        still = one_hand(machines, run_s=run_s, service_s=service_s)
        return Patrol(_patrolled(machines, run_s, service_s, still.running_mean), 0.0, 0.0, 0.0)
    exponent = (walk_round_s + service_s * np.arange(machines)) / run_s
    products = np.cumsum(exponent + np.log(-np.expm1(-exponent)))
    logs = log_binomials(machines) + np.concatenate([[0.0], products])
    weights = np.exp(logs - logs.max())
    served = float(weights @ np.arange(machines + 1.0) / weights.sum())
    round_s = walk_round_s + service_s * served
    running = run_s * served / round_s
    return Patrol(_patrolled(machines, run_s, service_s, running), walk_round_s, round_s, served)


def _patrolled(machines: int, run_s: float, service_s: float, running: float) -> Interference:
    return Interference(
        law="patrol",
        machines=machines,
        hands=1,
        run_s=run_s,
        service_s=service_s,
        running_mean=running,
        waiting_mean=max(machines - running * (1.0 + service_s / run_s), 0.0),
        chance_waits=None,
    )
