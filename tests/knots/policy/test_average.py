"""The average-reward solver against every policy in turn."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.policy.average import Decisions, best_average

pytestmark = pytest.mark.kernel


def long_run(chance: np.ndarray, reward: np.ndarray) -> float:
    """Average reward of one fixed policy by its stationary chances."""
    states = reward.size
    rows = np.vstack([chance.T - np.eye(states), np.ones(states)])
    stationary = np.linalg.lstsq(rows, np.append(np.zeros(states), 1.0), rcond=None)[0]
    return float(stationary @ reward)


def tables(chance: np.ndarray, reward: np.ndarray) -> Decisions:
    states, choices = reward.shape
    return Decisions(
        choices * np.arange(states + 1),
        reward.reshape(-1),
        states * np.arange(states * choices + 1),
        np.tile(np.arange(states), states * choices),
        chance.reshape(-1),
    )


@pytest.mark.parametrize("seed", range(8))
def test_no_policy_brings_more(seed: int) -> None:
    random = np.random.default_rng(seed)
    chance = random.dirichlet(np.ones(4), (4, 3))
    reward = random.normal(size=(4, 3))
    found = best_average(tables(chance, reward))
    every = {
        policy: long_run(chance[np.arange(4), list(policy)], reward[np.arange(4), list(policy)])
        for policy in itertools.product(range(3), repeat=4)
    }
    best = max(every.values())
    assert found.low - 1e-9 <= best <= found.high + 1e-9
    assert found.high - found.low < 1e-8
    assert every[tuple(found.choice.tolist())] == pytest.approx(best, abs=1e-8)


def test_a_cycle_is_no_trouble() -> None:
    """Three states in a ring: periodic, and plain value iteration would never settle."""
    ring = np.roll(np.eye(3), 1, axis=1)[:, None, :]
    found = best_average(tables(ring, np.array([[1.0], [2.0], [6.0]])))
    assert found.gain == pytest.approx(3.0, abs=1e-7)


def test_parts_that_never_meet_are_refused() -> None:
    with pytest.raises(BadInput, match="do not close"):
        best_average(tables(np.eye(2)[:, None, :], np.array([[1.0], [2.0]])))


def test_tables_that_do_not_fit_are_refused() -> None:
    good = tables(np.eye(2)[:, None, :], np.array([[1.0], [2.0]]))
    for bad in (
        Decisions(
            good.first_choice, good.reward, good.first_next, good.next_state + 1, good.chance
        ),
        Decisions(
            good.first_choice[:-1], good.reward, good.first_next, good.next_state, good.chance
        ),
        Decisions(
            good.first_choice, good.reward, good.first_next, good.next_state, good.chance / 2
        ),
    ):
        with pytest.raises(BadInput):
            best_average(bad)
