"""The small model against every policy in turn, its own simulation and the rule without cells."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.policy.average import Decisions, best_average
from clew.knots.policy.exact import (
    BeltModel,
    count_states,
    exact_policy,
    follow_exact,
    small_model,
)
from clew.knots.policy.thumb import thumb_rule

pytestmark = pytest.mark.kernel

Wound = tuple[int, ...]
State = tuple[Wound, tuple[int, ...], bool]


def price(ball: Wound, model: BeltModel) -> float:
    """The rule as it is spoken, on the cells of a full ball."""
    joins = [place for place, join in enumerate(ball) if join]
    edges = [-1, *joins, len(ball)]
    pieces = [after - before - 1 for before, after in itertools.pairwise(edges)]
    good = len(joins) <= model.limit and min(pieces) >= model.min_piece_cells
    return model.first if good else model.second


def step(model: BeltModel, state: State, action: str) -> tuple[float, list[tuple[float, State]]]:
    """One cell further: wind it, part and wind it, or drop it from the head."""
    ball, belt, gap = state
    reward = 0.0
    if action == "part":
        reward -= model.parting + model.waste_per_cell * len(ball)
        ball = ()
    if action == "drop":
        reward -= model.waste_per_cell + (0.0 if gap else model.parting)
    after: list[tuple[float, State]] = []
    for new, chance in ((0, 1.0 - model.join_chance), (1, model.join_chance)):
        line = (*belt, new)
        if action == "drop":
            after.append((chance, ((), line[1:], True)))
            continue
        longer = (*ball, line[0])
        full = len(longer) == model.ball_cells
        if full:
            reward += chance * price(longer, model)
        after.append((chance, (() if full else longer, line[1:], False)))
    return reward, after


def actions(state: State) -> list[str]:
    return ["wind", "part"] if state[0] else ["wind"]


def states_of(model: BeltModel, with_drop: bool) -> list[State]:
    found: list[State] = [((), (0,) * model.look_ahead_cells, False)]
    for state in found:
        for action in [*actions(state), *(["drop"] if with_drop and not state[0] else [])]:
            for _, other in step(model, state, action)[1]:
                if other not in found:
                    found.append(other)
    return found


TINY = [
    BeltModel(3, 0, 0, 1, 0.3, 5.0, 2.0, 0.1, 0.05),
    BeltModel(3, 0, 0, 0, 0.4, 5.0, 1.0, 0.1, 0.0),
    BeltModel(3, 1, 1, 0, 0.4, 5.0, 0.5, 0.05, 0.1),
    BeltModel(2, 0, 0, 2, 0.35, 4.0, 1.0, 0.0, 0.2),
]


@pytest.mark.parametrize("model", TINY)
def test_every_policy_in_turn(model: BeltModel) -> None:
    """All cells of the ball are kept as state here: nothing is lumped, every policy is tried."""
    states = states_of(model, False)
    number = {state: place for place, state in enumerate(states)}
    best = -math.inf
    rows: list[list[tuple[np.ndarray, float]]] = []
    for state in states:
        row = []
        for action in actions(state):
            reward, after = step(model, state, action)
            chance = np.zeros(len(states))
            for share, other in after:
                chance[number[other]] += share
            row.append((chance, reward))
        rows.append(row)
    assert len(list(itertools.product(*rows))) <= 70_000
    for chosen in itertools.product(*rows):
        chance = np.array([one[0] for one in chosen])
        whole = np.vstack([chance.T - np.eye(len(states)), np.ones(len(states))])
        share = np.linalg.solve(whole.T @ whole, whole.T @ np.append(np.zeros(len(states)), 1.0))
        best = max(best, float(share @ np.array([one[1] for one in chosen])))
    found = exact_policy(model).answer
    assert found.gain == pytest.approx(best, abs=1e-7)


@pytest.mark.parametrize(
    "model",
    [
        BeltModel(4, 1, 0, 3, 0.3, 5.0, 1.0, 0.05, 0.3),
        BeltModel(5, 1, 1, 2, 0.3, 5.0, 1.0, 0.05, 0.3),
        BeltModel(4, 0, 0, 6, 0.2, 5.0, 2.0, 0.0, 0.0),
    ],
)
def test_dropping_from_the_head_brings_nothing_more(model: BeltModel) -> None:
    """A third choice, with a gap that is paid once: the best gain stays the same."""
    states = states_of(model, True)
    number = {state: place for place, state in enumerate(states)}
    first_choice, rewards, following, chances = [0], [], [], []
    for state in states:
        for action in [*actions(state), *([] if state[0] else ["drop"])]:
            reward, after = step(model, state, action)
            rewards.append(reward)
            following += [number[other] for _, other in after]
            chances += [share for share, _ in after]
        first_choice.append(len(rewards))
    rich = best_average(
        Decisions(
            np.array(first_choice), np.array(rewards), 2 * np.arange(len(rewards) + 1),
            np.array(following), np.array(chances),
        )
    )  # fmt: skip
    assert exact_policy(model).answer.gain == pytest.approx(rich.gain, abs=1e-7)


@pytest.mark.parametrize(
    "model",
    [
        BeltModel(6, 0, 0, 0, 0.15, 5.0, 2.5, 0.04, 0.05),
        BeltModel(6, 1, 1, 5, 0.15, 5.0, 2.5, 0.04, 0.05),
        BeltModel(5, 0, 0, 8, 0.10, 5.0, 1.0, 0.0, 0.0),
    ],
)
def test_its_own_policy_earns_the_gain(model: BeltModel) -> None:
    policy = exact_policy(model)
    random = np.random.default_rng(4)
    earned = [follow_exact(policy, random.random(8000) < model.join_chance) for _ in range(25)]
    error = np.std(earned, ddof=1) / 5.0
    assert abs(np.mean(earned) - policy.answer.gain) < 4.0 * error + 5e-4


def test_a_longer_belt_is_worth_more() -> None:
    model = BeltModel(6, 1, 1, 0, 0.15, 5.0, 2.0, 0.02, 0.05)
    gains = [exact_policy(replace(model, look_ahead_cells=cells)).answer for cells in range(9)]
    for shorter, longer in itertools.pairwise(gains):
        assert longer.high >= shorter.low
    assert gains[-1].gain > gains[0].gain * 1.01


@pytest.mark.parametrize(
    ("breaks_per_km", "gain"), [(0.5, 0.47996), (1.0, 0.46099), (2.0, 0.42657)]
)
def test_cells_shrink_to_the_rule_without_cells(breaks_per_km: float, gain: float) -> None:
    """No limit but zero, nothing ahead: the best policy is the rule of thumb."""
    rule, prices = FirstRule(200.0, 0, 0.0, 1e-6), CutPrices(5.0, 2.5, 0.002, 0.05)
    without = thumb_rule(breaks_per_km / 1000.0, rule, prices).value_per_km
    values = []
    for cells in (10, 40, 160):
        model = small_model(
            breaks_per_km / 1000.0, rule, prices, look_ahead_m=0.0, ball_cells=cells
        )
        found = exact_policy(model).answer.gain
        if cells == 10:
            assert found == pytest.approx(gain, abs=1e-5)
        values.append(found * cells * 5.0)
    errors = [abs(value - without) for value in values]
    assert errors[0] > 2.0 * errors[1] > 4.0 * errors[2]
    # a cell too much is dropped at a join: the error is of first order, and can be taken out
    assert (4.0 * values[2] - values[1]) / 3.0 == pytest.approx(without, rel=1e-4)


def test_too_large_a_model_says_how_large() -> None:
    model = BeltModel(20, 1, 1, 30, 0.1, 5.0, 2.0)
    with pytest.raises(BadInput, match=str(count_states(model))):
        exact_policy(model)
    with pytest.raises(BadInput) as caught:
        exact_policy(BeltModel(0, -1, 0, 2, 1.5, 1.0, 2.0))
    assert {fault.key for fault in caught.value.faults} == {
        "ball_cells", "limit", "join_chance", "second",
    }  # fmt: skip
