"""Monte Carlo: same seed, same answer; intervals; when it stops."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.budget import Input, make_budget
from clew.checks.instruments.distributions import normal, rectangular
from clew.checks.instruments.propagate import (
    propagate,
    propagate_until_stable,
    shortest_interval,
    validate,
)
from clew.faults import BadInput

ONE = (Input("a", "a", "1", normal(10.0, 1.0)),)


def test_the_seed_decides() -> None:
    first, again, other = (propagate(lambda a: a, ONE, draws=5000, seed=seed) for seed in (5, 5, 6))
    assert first == again
    assert first.value != other.value


def test_a_skewed_law_has_a_shorter_interval_at_its_steep_side() -> None:
    found = propagate(lambda a: np.exp(a - 10.0), ONE, draws=200_000, seed=7)
    assert found.shortest[1] - found.shortest[0] < found.symmetric[1] - found.symmetric[0]
    assert found.shortest[0] < found.symmetric[0]


@given(st.lists(st.floats(-1e3, 1e3), min_size=20, max_size=60), st.floats(0.3, 0.9))
def test_no_interval_of_as_many_draws_is_shorter(values: list[float], share: float) -> None:
    drawn = np.sort(np.array(values))
    low, high = shortest_interval(drawn, share)
    holds = int(np.floor(share * drawn.size + 0.5))
    naive = min(drawn[i + holds] - drawn[i] for i in range(drawn.size - holds))
    assert high - low == pytest.approx(naive)


def test_it_draws_until_nothing_moves() -> None:
    found = propagate_until_stable(lambda a: a, ONE, digits=2, seed=8)
    finer = propagate_until_stable(lambda a: a, ONE, digits=2, finer=10.0, seed=8)
    assert found.stable and finer.stable
    assert finer.draws > found.draws
    assert found.tolerance == pytest.approx(0.05)
    assert abs(found.symmetric[0] - (10 - 1.95996)) < 0.05


def test_it_says_so_when_it_may_draw_no_more() -> None:
    found = propagate_until_stable(lambda a: a, ONE, digits=4, most_draws=130_000, seed=9)
    assert not found.stable
    assert found.draws == 130_000


def test_a_constant_is_still_at_once() -> None:
    fixed = (Input("a", "a", "1", normal(3.0, 0.0)),)
    found = propagate_until_stable(lambda a: a, fixed, seed=10)
    assert (found.value, found.u, found.stable) == (3.0, 0.0, True)


@pytest.mark.parametrize(("confidence", "draws"), [(0.95, 10_000), (0.998, 50_000)])
def test_a_round_is_long_enough_to_see_the_tails(confidence: float, draws: int) -> None:
    """A hundred draws beyond the interval, 10 000 at least; a constant needs one round."""
    fixed = (Input("a", "a", "1", normal(3.0, 0.0)),)
    found = propagate_until_stable(lambda a: a, fixed, confidence=confidence, seed=16)
    assert found.draws == pytest.approx(draws, abs=1)


def test_correlated_normal_inputs() -> None:
    inputs = (*ONE, Input("b", "b", "1", normal(0.0, 2.0)))
    found = propagate(
        lambda a, b: a + b, inputs, correlations={("a", "b"): -0.5}, draws=300_000, seed=11
    )
    assert found.u == pytest.approx(np.sqrt(1 + 4 - 2), rel=0.01)


def test_a_correlated_rectangle_is_refused() -> None:
    inputs = (*ONE, Input("b", "b", "1", rectangular(0.0, 2.0)))
    with pytest.raises(BadInput, match="not normal"):
        propagate(lambda a, b: a + b, inputs, correlations={("a", "b"): 0.5}, seed=12)


def test_draws_the_model_cannot_take_are_refused() -> None:
    with np.errstate(invalid="ignore"), pytest.raises(BadInput, match="cannot take"):
        propagate(lambda a: np.log(a - 10.0), ONE, seed=13)


@pytest.mark.parametrize("draws", [10, 10**9])
def test_too_few_or_too_many_draws(draws: int) -> None:
    with pytest.raises(BadInput):
        propagate(lambda a: a, ONE, draws=draws, seed=14)


def test_validation_needs_one_confidence() -> None:
    budget = make_budget(lambda a: a, ONE)
    with pytest.raises(BadInput):
        validate(budget, propagate(lambda a: a, ONE, confidence=0.9, seed=15))
