"""A short line of exponential stations with buffers, solved as the Markov chain it is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from clew.faults import BadInput, Fault
from clew.line.interference.line_checks import check_rates
from clew.line.interference.stopped import check_number

MOST_STATES = 10_000
"""The chain solves in some two seconds up to here; longer lines are for the simulator."""

_STEPS = 300
"""Steps of the chain from anywhere, to find a state it is often in."""

State = tuple[int, ...]


def blocking_line_per_hour(rates_per_hour: Sequence[float], buffers: Sequence[int]) -> float:
    """Pieces an hour of a line whose stations hold one another up.

    Parameters
    ----------
    rates_per_hour : sequence of float
        Pieces an hour each station would make alone, 2 to 8 stations [1/h].
    buffers : sequence of int
        Places between each station and the next, one fewer than stations.

    Returns
    -------
    float
        Pieces that leave [1/h].

    Raises
    ------
    BadInput
        With every value that is out of range, or when the chain has more than 10 000 states.

    Notes
    -----
    Work times are exponential; the first station never lacks work, the last is never blocked; a
    finished piece stays at its station when there is no place (blocking after service). The state
    counts, for each gap, pieces past one station and not through the next; the balance equations
    are solved as a sparse linear system. Source: Hunt 1956 and Hillier & Boling, values MEMORY; the
    chain DERIVED.
    """
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import spsolve

    _check(rates_per_hour, buffers)
    places: dict[State, int] = {(0,) * len(buffers): 0}
    to_visit = [(0,) * len(buffers)]
    sources, targets, flows = [], [], []
    out_of_last = [0.0]
    while to_visit:
        state = to_visit.pop()
        here = places[state]
        for station, after in _finishes(state, buffers):
            if after not in places:
                places[after] = len(places)
                to_visit.append(after)
                out_of_last.append(0.0)
                if len(places) > MOST_STATES:
                    raise BadInput(
                        Fault("too long for an exact answer", "fewer stations or smaller buffers")
                    )
            sources.append(here)
            targets.append(places[after])
            flows.append(rates_per_hour[station])
            if station == len(buffers):
                out_of_last[here] = rates_per_hour[station]
    size = len(places)
    leaving = np.bincount(sources, weights=flows, minlength=size)
    balance = csc_array(
        (
            np.concatenate([flows, -leaving]),
            (
                np.concatenate([targets, np.arange(size)]),
                np.concatenate([sources, np.arange(size)]),
            ),
        ),
        shape=(size, size),
    )
    # One chance is set to 1 and its equation left out, for a row of ones would fill the system. It
    # must be that of a likely state: against a hopeless one the others are infinite.
    start = np.full(size, 1.0 / size)
    for _ in range(_STEPS):
        start = start + balance @ start / (2.0 * leaving.max())
    likely = int(start.argmax())
    others = np.delete(np.arange(size), likely)
    chances = np.ones(size)
    chances[others] = spsolve(
        balance[others][:, others], -balance[others][:, [likely]].toarray().ravel()
    )
    return float(chances @ np.asarray(out_of_last) / chances.sum())


def _finishes(state: State, buffers: Sequence[int]) -> list[tuple[int, State]]:
    """Stations that can finish a piece, with the state after it."""
    last = len(buffers)
    found = []
    next_blocked = False
    for station in range(last, -1, -1):
        # A blocked next station holds its own piece, so the gap has one place fewer.
        blocked = station < last and state[station] == buffers[station] + 2 - next_blocked
        if not blocked and (station == 0 or state[station - 1] > 0):
            after = list(state)
            if station < last:
                after[station] += 1
            if station > 0:
                after[station - 1] -= 1
            found.append((station, tuple(after)))
        next_blocked = blocked
    return found


def _check(rates_per_hour: Sequence[float], buffers: Sequence[int]) -> None:
    faults = check_rates(rates_per_hour) + check_number("stations", len(rates_per_hour), 8, 2)
    for place, buffer in enumerate(buffers, start=1):
        faults += check_number(f"buffer {place}", buffer, MOST_STATES, 0)
    if len(buffers) != len(rates_per_hour) - 1:
        faults.append(
            Fault(
                "does not fit the stations",
                "one buffer fewer than stations",
                key="buffers",
                value=str(len(buffers)),
            )
        )
    if faults:
        raise BadInput(faults)
