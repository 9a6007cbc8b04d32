"""The line of corrections: exact on a line, refused where there is none."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.check_weights import correction_line
from clew.faults import BadInput


@given(st.floats(-1, 1), st.floats(-0.01, 0.01), st.floats(0, 200))
def test_points_on_a_line_give_it_back(start: float, slope: float, about: float) -> None:
    readings = [0.0, 50.0, 100.0, 200.0]
    line = correction_line(readings, [start + slope * x for x in readings], about=about)
    correction, u = line.at(120.0)
    assert correction == pytest.approx(start + slope * 120.0, abs=1e-9)
    assert u == pytest.approx(0.0, abs=1e-9)


def test_doubt_is_least_at_the_middle_of_the_standards() -> None:
    line = correction_line([0.0, 50.0, 100.0, 150.0], [0.0, 0.1, -0.1, 0.05], about=0.0)
    middle = line.at(75.0)[1]
    assert middle == pytest.approx(line.sd / math.sqrt(4))
    assert middle < line.at(0.0)[1] < line.at(300.0)[1]


@pytest.mark.parametrize(
    ("readings", "corrections"),
    [
        ([1.0, 2.0], [0.0, 0.1]),
        ([1.0, 2.0, 3.0], [0.0, 0.1]),
        ([1.0, 1.0, 1.0], [0.0, 0.1, 0.2]),
        ([1.0, 2.0, math.nan], [0.0, 0.1, 0.2]),
    ],
)
def test_no_line_without_three_points_over_a_range(readings, corrections) -> None:
    with pytest.raises(BadInput):
        correction_line(readings, corrections, about=0.0)
