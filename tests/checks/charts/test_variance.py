"""Spread between cones and within them, and what a group's mean varies by."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.variance import cone_spread, cones_repeat, lag_one
from clew.faults import BadInput


def codes(*cones: int) -> np.ndarray:
    return np.array(cones, dtype=np.int32)


def drawn(
    rng: np.random.Generator, cones: int, balls: int, cone_sd: float
) -> tuple[np.ndarray, np.ndarray]:
    cone = np.repeat(np.arange(cones), balls).astype(np.int32)
    return rng.normal(0, cone_sd, cones)[cone] + rng.normal(0, 1, cone.size), cone


def test_equal_numbers_by_hand() -> None:
    values = np.array([1.0, 3.0, 5.0, 7.0, 2.0, 4.0])
    found = cone_spread(values, np.array([0, 0, 0, 1, 1, 1]), codes(0, 0, 1, 1, 2, 2))
    assert found.within_sd == pytest.approx(math.sqrt(2.0))  # (2 + 2 + 2) / 3
    between = 2.0 * ((2 - 11 / 3) ** 2 + (6 - 11 / 3) ** 2 + (3 - 11 / 3) ** 2) / 2.0
    assert found.cone_sd == pytest.approx(math.sqrt((between - 2.0) / 2.0))
    assert found.likeness == pytest.approx([5 / 9, 5 / 9])
    assert found.cones == 3


@given(st.lists(st.integers(1, 5), min_size=2, max_size=8).filter(lambda n: max(n) > 1))
def test_unequal_numbers_against_sums_cone_by_cone(counts: list[int]) -> None:
    rng = np.random.default_rng(counts)
    cone = np.repeat(np.arange(len(counts)), counts).astype(np.int32)
    values = rng.normal(0, 2, len(counts))[cone] + rng.normal(0, 1, cone.size)
    found = cone_spread(values, np.arange(cone.size) // 3, cone)
    n, k = cone.size, len(counts)
    ssw = sum(((values[cone == c] - values[cone == c].mean()) ** 2).sum() for c in range(k))
    ssb = sum(m * (values[cone == c].mean() - values.mean()) ** 2 for c, m in enumerate(counts))
    n0 = (n - sum(m * m for m in counts) / n) / (k - 1)
    assert found.within_sd**2 == pytest.approx(ssw / (n - k), abs=1e-12)
    expected = max(0.0, (ssb / (k - 1) - ssw / (n - k)) / n0)
    assert found.cone_sd**2 == pytest.approx(expected, abs=1e-9)


def test_the_spread_of_a_mean_against_drawn_lots() -> None:
    """Groups of four: all of one cone, two and two, each its own."""
    rng = np.random.default_rng(5)
    groups = codes(0, 0, 0, 0, 1, 1, 2, 2, 3, 4, 5, 6)
    places = np.arange(12) // 4
    truth, cone = drawn(rng, 400, 25, 1.5)
    spread = cone_spread(truth, np.arange(truth.size) // 5, cone)
    assert spread.cone_sd == pytest.approx(1.5, rel=0.08)
    assert spread.within_sd == pytest.approx(1.0, rel=0.03)
    small = cone_spread(rng.normal(size=12), places, groups)
    means = np.zeros((20_000, 3))
    for cones_of, column in zip(groups.reshape(3, 4), range(3), strict=True):
        effects = rng.normal(0, 1.5, (20_000, 7))[:, cones_of]
        means[:, column] = (effects + rng.normal(0, 1, effects.shape)).mean(axis=1)
    expected = np.sqrt(1.5**2 * small.likeness + 1.0 / 4)
    assert means.std(axis=0) == pytest.approx(expected, rel=0.02)


def test_limits_of_means_from_shared_cones_hold_what_they_should() -> None:
    """Near limits call far too often, cone limits about once in 370."""
    rng = np.random.default_rng(8)
    values, cone = drawn(rng, 2000, 10, 1.0)
    places = np.arange(values.size) // 5
    spread = cone_spread(values, places, cone)
    means = np.bincount(places, values) / 5
    sd = spread.mean_sd(np.full(means.size, 5))
    assert (np.abs(means - values.mean()) > 3 * sd).mean() < 0.008
    near = spread.within_sd / math.sqrt(5)
    assert (np.abs(means - values.mean()) > 3 * near).mean() > 0.15


def test_a_level_that_moves_does_not_widen_the_limits() -> None:
    rng = np.random.default_rng(2)
    values, cone = drawn(rng, 60, 8, 0.5)
    still = cone_spread(values, np.arange(480) // 4, cone)
    moved = cone_spread(values + 4.0 * (np.arange(480) >= 240), np.arange(480) // 4, cone)
    assert not still.drifting
    assert still.limits_cone_sd == still.cone_sd
    assert moved.drifting
    assert moved.cone_sd > 3.0 * still.cone_sd
    assert moved.limits_cone_sd < 1.5 * still.cone_sd


def test_independent_cones_are_seldom_taken_to_drift() -> None:
    rng = np.random.default_rng(11)
    calls = 0
    for _ in range(400):
        values, cone = drawn(rng, 20, 3, 1.0)
        calls += cone_spread(values, np.arange(60) // 3, cone).drifting
    assert 6 <= calls <= 36  # 5 % of 400, within three and a half sd


def test_neighbours_by_hand() -> None:
    values = np.array([0.0, 0.0, 4.0, 4.0, 0.0, 0.0])
    found = cone_spread(values, np.zeros(6, dtype=np.int64), codes(0, 0, 1, 1, 2, 2))
    assert found.within_sd == 0.0
    assert found.neighbour_sd == pytest.approx(math.sqrt(32.0 / 4.0))


def test_cones_in_any_order_of_names() -> None:
    values, cone = drawn(np.random.default_rng(4), 12, 4, 1.0)
    renamed = (11 - cone).astype(np.int32)
    one = cone_spread(values, np.arange(48) // 4, cone)
    other = cone_spread(values, np.arange(48) // 4, renamed)
    assert one.neighbour_sd == pytest.approx(other.neighbour_sd)
    assert one.cone_sd == pytest.approx(other.cone_sd)


def test_balls_without_a_cone_count_as_cones_of_their_own() -> None:
    values = np.array([1.0, 2.0, 3.0, 4.0])
    found = cone_spread(values, np.zeros(4, dtype=np.int64), codes(0, 0, -1, -1))
    assert found.unnamed == 2
    assert found.cones == 1
    assert found.likeness == pytest.approx([(2**2 + 1 + 1) / 16])


def test_one_cone_a_group_is_told() -> None:
    values, cone = drawn(np.random.default_rng(1), 5, 4, 1.0)
    assert cone_spread(values, cone.astype(np.int64), cone).cones_are_groups
    assert not cone_spread(values, np.arange(20) // 5, cone).cones_are_groups


@pytest.mark.parametrize("cones", [(), (0, 0, 0), (0, 1, 2), (-1, -1)])
def test_cones_that_tell_nothing_are_refused(cones: tuple[int, ...]) -> None:
    assert not cones_repeat(codes(*cones))
    with pytest.raises(BadInput, match="cones cannot be told"):
        cone_spread(np.zeros(len(cones)), np.zeros(len(cones), dtype=np.int64), codes(*cones))


def test_lag_one_of_a_stair_and_of_nothing() -> None:
    assert lag_one(np.array([1.0, 2.0, 3.0, 4.0])) == pytest.approx(0.25)
    assert lag_one(np.full(9, 0.1)) == 0.0
    assert lag_one(np.array([1.0])) == 0.0
