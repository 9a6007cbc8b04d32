"""Balls into groups, against numpy group by group."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.charts.grouping import consecutive, group_balls
from clew.faults import BadInput


@given(
    st.lists(st.lists(st.floats(50, 150), min_size=1, max_size=6), min_size=1, max_size=12),
    st.randoms(use_true_random=False),
)
def test_sums_are_those_of_each_group(groups: list[list[float]], random) -> None:  # type: ignore[no-untyped-def]
    balls = [(place, value) for place, values in enumerate(groups) for value in values]
    random.shuffle(balls)
    found = group_balls(np.array([v for _, v in balls]), np.array([p for p, _ in balls]))
    for place, values in enumerate(groups):
        assert found.sizes[place] == len(values)
        assert found.means[place] == pytest.approx(np.mean(values), rel=1e-12)
        if len(values) > 1:
            assert found.sds[place] == pytest.approx(np.std(values, ddof=1), abs=1e-9)
            assert found.ranges[place] == max(values) - min(values)
        else:
            assert np.isnan([found.sds[place], found.ranges[place]]).all()
    assert found.mean == pytest.approx(np.mean([v for _, v in balls]), rel=1e-12)


def test_a_large_mean_does_not_eat_the_spread() -> None:
    values = 1e9 + np.array([0.1, 0.2, 0.3, 0.1, 0.2, 0.3])
    found = group_balls(values, np.array([0, 0, 0, 1, 1, 1]))
    assert found.sds == pytest.approx([0.1, 0.1], rel=2e-6)


def test_equal_balls_have_no_spread_at_all() -> None:
    found = group_balls(np.full(30, 100.1), np.arange(30) // 5)
    assert (found.sds == 0.0).all()
    assert (found.means == found.mean).all()


def test_a_group_is_charted_when_it_is_whole() -> None:
    places, left = consecutive(13, 5)
    assert places.tolist() == [0] * 5 + [1] * 5
    assert left == 3
    places, left = consecutive(3, 5)
    assert places.tolist() == [0, 0, 0]
    assert left == 0


@pytest.mark.parametrize("values", [[], [1.0, float("nan")], [1.0, float("inf")]])
def test_nothing_and_no_number_are_refused(values: list[float]) -> None:
    with pytest.raises(BadInput):
        group_balls(np.array(values), np.zeros(len(values), dtype=np.int64))
