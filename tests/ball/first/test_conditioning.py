"""Conditioning on a noisy observation, and its limit when the noise goes away."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.first.conditioning import Floats, narrowed, settled


def some_covariance(seed: int, size: int = 4) -> Floats:
    root = np.random.default_rng(seed).normal(0.0, 0.02, (size, size))
    return root @ root.T


@given(st.integers(0, 10_000))
def test_narrowed_is_the_textbook_formula(seed: int) -> None:
    covariance = some_covariance(seed)
    rows = np.random.default_rng(seed + 1).normal(size=(2, 4))
    noise = np.array([[3e-5, 1e-5], [1e-5, 4e-5]])
    after, gain = narrowed(covariance, rows, noise)
    inverse = np.linalg.inv(rows @ covariance @ rows.T + noise)
    np.testing.assert_allclose(gain, covariance @ rows.T @ inverse, rtol=1e-8, atol=1e-10)
    np.testing.assert_allclose(after, covariance - gain @ rows @ covariance, rtol=0, atol=1e-14)
    assert np.array_equal(after, after.T)


def test_settled_is_the_limit_of_endless_balls() -> None:
    """A million observations of one row come to the floor from above, and to one in 1e5 of it."""
    covariance = some_covariance(3)
    rows = np.array([[1.0, 0.3, 0.0, 0.3], [1.0, 1.3, 0.0, 1.3]])
    noise = np.array([[3e-5, 1e-5], [1e-5, 4e-5]])
    floor = settled(covariance, rows)
    many, _ = narrowed(covariance, rows, noise / 1e6)
    assert (np.diag(many) >= np.diag(floor)).all()
    np.testing.assert_allclose(many, floor, rtol=0, atol=1e-9)


def test_settled_leaves_nothing_unknown_in_what_is_known() -> None:
    covariance = some_covariance(7)
    rows = np.array([[1.0, 2.0, 0.0, -1.0]])
    after = settled(covariance, rows)
    assert abs(float((rows @ after @ rows.T)[0, 0])) < 1e-17


def test_settled_takes_the_same_thing_said_twice() -> None:
    covariance = some_covariance(9)
    row = np.array([[1.0, 2.0, 0.0, -1.0]])
    once = settled(covariance, row)
    twice = settled(covariance, np.concatenate([row, 2.0 * row]))
    np.testing.assert_allclose(once, twice, rtol=0, atol=1e-15)


def test_settled_of_what_is_already_known_changes_nothing() -> None:
    covariance = np.diag([0.0, 1e-4])
    assert settled(covariance, np.array([[1.0, 0.0]])) == pytest.approx(covariance)
