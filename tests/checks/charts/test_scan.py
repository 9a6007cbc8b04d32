"""Forgetting sums against the loop they stand for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.scan import decayed_sum, decayed_sum_by

KEEP = st.floats(0.0, 0.999)


@given(st.lists(st.floats(-10, 10), min_size=1, max_size=80), KEEP)
def test_one_factor(x: list[float], keep: float) -> None:
    y, expected = 0.0, []
    for value in x:
        y = keep * y + value
        expected.append(y)
    assert decayed_sum(np.array(x), keep) == pytest.approx(expected, abs=1e-9)


@given(st.lists(st.tuples(st.floats(-10, 10), KEEP), min_size=1, max_size=80))
def test_a_factor_a_step(steps: list[tuple[float, float]]) -> None:
    y, expected = 0.0, []
    for value, keep in steps:
        y = keep * y + value
        expected.append(y)
    x, keep_each = np.array(steps).T
    assert decayed_sum_by(x, keep_each) == pytest.approx(expected, abs=1e-9)


def test_what_goes_in_is_left_alone() -> None:
    x, keep = np.ones(5), np.full(5, 0.5)
    decayed_sum(x, 0.5)
    decayed_sum_by(x, keep)
    assert (x == 1.0).all()
    assert (keep == 0.5).all()
