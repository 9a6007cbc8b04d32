"""Laws of inputs: their widths by integration, their draws, what they refuse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.distributions import (
    Law,
    from_readings,
    normal,
    rectangular,
    student_t,
    trapezoidal,
    triangular,
    u_shaped,
)
from clew.faults import BadInput

BOUNDED = [
    rectangular(5.0, 2.0),
    triangular(5.0, 2.0),
    u_shaped(5.0, 2.0),
    trapezoidal(5.0, 2.0, 0.3),
]


@pytest.mark.parametrize("law", [*BOUNDED, normal(5.0, 2.0)], ids=lambda law: law.shape)
def test_draws_have_the_mean_and_spread_of_the_law(law: Law) -> None:
    drawn = law.draw(np.random.default_rng(1), 400_000)
    assert drawn.mean() == pytest.approx(5.0, abs=0.015)
    assert drawn.std() == pytest.approx(law.standard_uncertainty, rel=0.006)


@pytest.mark.parametrize("law", BOUNDED, ids=lambda law: law.shape)
def test_bounded_laws_keep_within_their_limits_and_reach_them(law: Law) -> None:
    drawn = law.draw(np.random.default_rng(2), 200_000)
    assert 3.0 <= drawn.min() < 3.1
    assert 6.9 < drawn.max() <= 7.0


def test_a_trapezoid_lies_between_triangle_and_rectangle() -> None:
    for share, other in ((0.0, triangular(0.0, 1.0)), (1.0, rectangular(0.0, 1.0))):
        found = trapezoidal(0.0, 1.0, share).standard_uncertainty
        assert found == pytest.approx(other.standard_uncertainty, rel=1e-12)


def test_students_law_is_wider_than_its_scale() -> None:
    law = student_t(0.0, 1.0, 5.0)
    assert law.standard_uncertainty == 1.0
    drawn = law.draw(np.random.default_rng(3), 400_000)
    assert drawn.std() == pytest.approx(math.sqrt(5.0 / 3.0), rel=0.02)
    assert student_t(0.0, 1.0, math.inf).shape == "normal"


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=20), st.floats(-50, 50))
def test_readings_shift_with_their_mean(readings: list[float], by: float) -> None:
    first, moved = from_readings(readings), from_readings([one + by for one in readings])
    assert moved.value == pytest.approx(first.value + by, abs=1e-9)
    assert moved.spread == pytest.approx(first.spread, abs=1e-7)
    assert first.df == len(readings) - 1


@pytest.mark.parametrize(
    "make",
    [
        lambda: normal(0.0, -1.0),
        lambda: normal(math.nan, 1.0),
        lambda: rectangular(0.0, math.inf),
        lambda: student_t(0.0, 1.0, 0.0),
        lambda: trapezoidal(0.0, 1.0, 1.1),
        lambda: from_readings([1.0]),
        lambda: from_readings([1.0, math.nan]),
    ],
)
def test_what_is_no_law_is_refused(make) -> None:
    with pytest.raises(BadInput):
        make()


def test_a_law_without_spread_is_its_value() -> None:
    assert set(u_shaped(3.0, 0.0).draw(np.random.default_rng(4), 5)) == {3.0}
