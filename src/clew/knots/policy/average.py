"""The best average reward of a Markov decision process, with bounds that enclose it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

MOST_STATES = 1_000_000
_DAMPING = 0.9
_MOST_SWEEPS = 200_000


@dataclass(frozen=True, slots=True)
class Decisions:
    """A Markov decision process as flat tables.

    Attributes
    ----------
    first_choice : array of int, shape (states + 1,)
        Choices of state i are first_choice[i] to first_choice[i + 1] - 1.
    reward : array of float, shape (choices,)
        What a choice brings in its step [reward].
    first_next : array of int, shape (choices + 1,)
        Next states of choice c are rows first_next[c] to first_next[c + 1] - 1.
    next_state : array of int, shape (rows,)
        Where a step may lead.
    chance : array of float, shape (rows,)
        With what chance [1].
    """

    first_choice: NDArray[np.int64]
    reward: NDArray[np.float64]
    first_next: NDArray[np.int64]
    next_state: NDArray[np.int64]
    chance: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AverageReward:
    """The best average reward.

    Attributes
    ----------
    low, high : float
        Bounds that enclose the best gain [reward/step].
    states : int
        States of the process.
    sweeps : int
        Sweeps that were needed.
    value : array of float, shape (states,)
        Relative value of each state, the first at zero [reward].
    choice : array of int, shape (states,)
        Best choice of each state, counted from 0 within the state.
    """

    low: float
    high: float
    states: int
    sweeps: int
    value: NDArray[np.float64]
    choice: NDArray[np.int64]

    @property
    def gain(self) -> float:
        """Middle of the bounds [reward/step]."""
        return 0.5 * (self.low + self.high)


def _check(process: Decisions) -> None:
    states = process.first_choice.size - 1
    choices, rows = process.reward.size, process.next_state.size
    if states > MOST_STATES:
        raise BadInput(
            Fault(
                "too many states to solve exactly",
                f"at most {MOST_STATES} states",
                value=f"{states}",
            )
        )
    begins = process.first_choice, process.first_next
    fits = (
        states >= 1
        and process.first_next.size == choices + 1
        and process.chance.size == rows
        and all(bool(np.all(np.diff(one) >= 1)) and int(one[0]) == 0 for one in begins)
        and int(process.first_choice[-1]) == choices
        and int(process.first_next[-1]) == rows
        and bool(np.all((process.next_state >= 0) & (process.next_state < states)))
    )
    if not fits:
        raise BadInput(
            Fault("tables do not fit together", "a choice in each state, and where it leads")
        )
    sums = np.add.reduceat(process.chance, process.first_next[:-1])
    sound = bool(np.all(process.chance >= 0)) and bool(np.all(np.abs(sums - 1.0) < 1e-9))
    if not sound or not bool(np.all(np.isfinite(process.reward))):
        raise BadInput(Fault("no such chance or reward", "chances that sum to 1, finite rewards"))


def best_average(process: Decisions, *, narrow: float = 1e-9) -> AverageReward:
    """Find the policy of the best average reward.

    Parameters
    ----------
    process : Decisions
        States, choices, rewards and chances.
    narrow : float
        Width of the bounds to stop at, as a share of the largest reward [1].

    Returns
    -------
    AverageReward
        Bounds on the gain, relative values and a best choice in each state.

    Raises
    ------
    BadInput
        When the tables do not fit together, there are too many states, or the bounds do not close
        (as when parts of the process never reach each other).

    Notes
    -----
    Relative value iteration on P' = 0.9 P + 0.1 I, which has the same gain and is never periodic.
    Each sweep encloses the gain: min(Tv - v) <= g <= max(Tv - v), if every state can be reached
    from every other under some policy. Source: Odoni 1969, Puterman 1994 chapter 8, MEMORY.
    """
    from clew.knots.policy.average_kernel import iterate

    _check(process)
    states = process.first_choice.size - 1
    scale = float(np.max(np.abs(process.reward)))
    if scale == 0.0:
        zero = np.zeros(states)
        return AverageReward(0.0, 0.0, states, 0, zero, zero.astype(np.int64))
    low, high, sweeps, value, taken = iterate(
        process.first_choice,
        process.reward,
        process.first_next,
        process.next_state,
        process.chance,
        _DAMPING,
        narrow * scale,
        max(1000, min(_MOST_SWEEPS, 20_000_000_000 // (50 * states))),
    )
    if high - low > 1e3 * narrow * scale:
        raise BadInput(
            Fault(
                "the bounds on the gain do not close",
                "a process in which every state can be reached",
                value=f"{low:g} to {high:g} after {sweeps} sweeps",
            )
        )
    choice = taken - process.first_choice[:-1]
    return AverageReward(float(low), float(high), states, int(sweeps), value, choice)
