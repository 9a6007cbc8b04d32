"""Sweeps of relative value iteration, compiled."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def iterate(
    first_choice: NDArray[np.int64],
    reward: NDArray[np.float64],
    first_next: NDArray[np.int64],
    next_state: NDArray[np.int64],
    chance: NDArray[np.float64],
    damping: float,
    narrow: float,
    most_sweeps: int,
) -> tuple[float, float, int, NDArray[np.float64], NDArray[np.int64]]:
    """Sweep until the bounds on the gain are near each other.

    Parameters
    ----------
    first_choice, first_next : array of int
        Where the choices of a state and the next states of a choice begin, and one past the last.
    reward, chance : array of float
        Of each choice; of each next state.
    next_state : array of int
        Next states, choice by choice.
    damping : float
        Share of a step that is made; the rest stays in place, so that nothing is periodic [1].
    narrow : float
        Width of the bounds to stop at [reward/step].
    most_sweeps : int
        Stop there in any case.

    Returns
    -------
    low, high : float
        Bounds on the best gain [reward/step].
    sweeps : int
        Sweeps made.
    value : array of float
        Relative value of each state, the first state at zero.
    taken : array of int
        Best choice of each state, counted over all choices.
    """
    states = first_choice.shape[0] - 1
    value, swept = np.zeros(states), np.zeros(states)
    taken = np.zeros(states, dtype=np.int64)
    low, high, sweeps = -np.inf, np.inf, 0
    while sweeps < most_sweeps and high - low > narrow:
        low, high = np.inf, -np.inf
        for state in range(states):
            best = -np.inf
            for choice in range(first_choice[state], first_choice[state + 1]):
                ahead = 0.0
                for one in range(first_next[choice], first_next[choice + 1]):
                    ahead += chance[one] * value[next_state[one]]
                worth = reward[choice] + damping * ahead
                if worth > best:
                    best, taken[state] = worth, choice
            swept[state] = best + (1.0 - damping) * value[state]
            low = min(low, swept[state] - value[state])
            high = max(high, swept[state] - value[state])
        base = swept[0]
        for state in range(states):
            value[state] = swept[state] - base
        sweeps += 1
    return low, high, sweeps, damping * value, taken
