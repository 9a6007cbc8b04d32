"""Problems with printed answers, solved by the average-reward solver."""

from __future__ import annotations

import numpy as np
import pytest

from clew.knots.policy.average import AverageReward, Decisions, best_average

pytestmark = pytest.mark.kernel

Choice = tuple[list[float], list[float]]


def solved(states: list[list[Choice]]) -> AverageReward:
    """Solve a process given as chances and rewards of each transition."""
    choices = [choice for state in states for choice in state]
    chance = np.array([chances for chances, _ in choices])
    reward = np.array([np.dot(chances, rewards) for chances, rewards in choices])
    number = len(states)
    return best_average(
        Decisions(
            np.cumsum([0, *(len(state) for state in states)]),
            reward,
            number * np.arange(len(choices) + 1),
            np.tile(np.arange(number), len(choices)),
            chance.reshape(-1),
        )
    )


@pytest.mark.outside(
    document="R. A. Howard, Dynamic Programming and Markov Processes",
    edition="MIT Press 1960",
    section="the toymaker: gain 2 with advertising and research",
    mark="MEMORY",
)
def test_the_toymaker() -> None:
    found = solved(
        [
            [([0.5, 0.5], [9.0, 3.0]), ([0.8, 0.2], [4.0, 4.0])],
            [([0.4, 0.6], [3.0, -7.0]), ([0.7, 0.3], [1.0, -19.0])],
        ]
    )
    assert found.low <= 2.0 + 1e-7
    assert found.high >= 2.0 - 1e-7
    assert found.gain == pytest.approx(2.0, abs=1e-6)
    assert found.choice.tolist() == [1, 1]


@pytest.mark.outside(
    document="R. A. Howard, Dynamic Programming and Markov Processes",
    edition="MIT Press 1960",
    section="the taxicab: gain 13.34, wait at a stand in every town",
    mark="MEMORY",
)
def test_the_taxicab() -> None:
    found = solved(
        [
            [
                ([1 / 2, 1 / 4, 1 / 4], [10.0, 4.0, 8.0]),
                ([1 / 16, 3 / 4, 3 / 16], [8.0, 2.0, 4.0]),
                ([1 / 4, 1 / 8, 5 / 8], [4.0, 6.0, 4.0]),
            ],
            [
                ([1 / 2, 0.0, 1 / 2], [14.0, 0.0, 18.0]),
                ([1 / 16, 7 / 8, 1 / 16], [8.0, 16.0, 8.0]),
            ],
            [
                ([1 / 4, 1 / 4, 1 / 2], [10.0, 2.0, 8.0]),
                ([1 / 8, 3 / 4, 1 / 8], [6.0, 4.0, 2.0]),
                ([3 / 4, 1 / 16, 3 / 16], [4.0, 0.0, 8.0]),
            ],
        ]
    )
    assert found.gain == pytest.approx(13.34, abs=0.005)
    assert found.choice.tolist() == [1, 1, 1]
