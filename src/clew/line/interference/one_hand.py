"""Random stops, one hand, any service law (M/G/1//N; constant service is Ashcroft's case)."""

from __future__ import annotations

import math

import numpy as np

from clew.faults import BadInput, Fault
from clew.line.interference.log_sums import log_binomials, log_sum
from clew.line.interference.service_laws import ServiceLaw, log_factors
from clew.line.interference.stopped import Interference, check_row

MOST_CV = 3.0
"""Services spread wider than this are two kinds of work: state them apart."""


def log_services_a_busy_spell(
    machines: int, servicing: float, law: ServiceLaw, service_cv: float
) -> float:
    """Logarithm of the mean number of services from the first stop until all run again.

    Parameters
    ----------
    machines : int
        Machines in the row.
    servicing : float
        Mean service over mean run, the servicing constant ρ [1].
    law : {"constant", "exponential", "gamma", "lognormal"}
        How service times spread.
    service_cv : float
        Their spread over their mean; used by gamma and lognormal [1].

    Returns
    -------
    float
        log M; M itself passes any float for a hundred heavily loaded machines.

    Notes
    -----
    M = Σ_{r=0}^{N-1} C(N-1, r) Π_{i=1}^{r} (1 - φ(iρ))/φ(iρ); every term is positive, so their
    logarithms add without loss. Source: Takács 1957, MEMORY; held by exponential service, where it
    is M/M/1//N, by an embedded chain and by simulation.
    """
    count = machines - 1
    factors = log_factors(law, service_cv, servicing * np.arange(1.0, machines))
    return log_sum(log_binomials(count) + np.concatenate([[0.0], np.cumsum(factors)]))


def one_hand(
    machines: int,
    *,
    run_s: float,
    service_s: float,
    law: ServiceLaw = "constant",
    service_cv: float = 0.0,
) -> Interference:
    """Machines that stop at random, served by one hand in times of any law.

    Parameters
    ----------
    machines : int
        Machines in the row, 1 to 1000.
    run_s : float
        Mean run from restart to stop [s].
    service_s : float
        Mean service [s].
    law : {"constant", "exponential", "gamma", "lognormal"}
        How service times spread.
    service_cv : float
        Their spread over their mean; used by gamma and lognormal, 0 to 3 [1].

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
    With M services a busy spell, machines running are N / (1/M + Nρ), and one stop in M finds the
    hand free. Runs are exponential; the order in which waiting machines are served does not
    matter. Walking is left out. Source: H. Ashcroft, J. Roy. Statist. Soc. B 12 (1950) 145-151
    (citation READ, paper not opened) for constant service; Takács 1957 in general, MEMORY.
    """
    if not 0.0 <= service_cv <= MOST_CV:
        fault = Fault(
            "out of range",
            expected=f"a spread from 0 to {MOST_CV:g}",
            key="service_cv",
            value=f"{service_cv:g}",
        )
        raise BadInput(fault)
    check_row(machines, run_s, service_s)
    servicing = service_s / run_s
    free = math.exp(-log_services_a_busy_spell(machines, servicing, law, service_cv))
    running = machines / (free + machines * servicing)
    return Interference(
        law=law,
        machines=machines,
        hands=1,
        run_s=run_s,
        service_s=service_s,
        running_mean=running,
        waiting_mean=max(machines - running * (1.0 + servicing), 0.0),
        chance_waits=max(1.0 - free, 0.0),
    )
