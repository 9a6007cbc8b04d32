"""Laws of inputs: their widths by integration, their draws, what they refuse."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.instruments.distributions import Law, normal, rectangular, student_t
from clew.faults import BadInput


@pytest.mark.parametrize(
    "law", [rectangular(5.0, 2.0), normal(5.0, 2.0)], ids=lambda law: law.shape
)
def test_draws_have_the_mean_and_spread_of_the_law(law: Law) -> None:
    drawn = law.draw(np.random.default_rng(1), 400_000)
    assert drawn.mean() == pytest.approx(5.0, abs=0.015)
    assert drawn.std() == pytest.approx(law.standard_uncertainty, rel=0.006)


def test_a_rectangular_law_keeps_within_its_limits_and_reaches_them() -> None:
    drawn = rectangular(5.0, 2.0).draw(np.random.default_rng(2), 200_000)
    assert 3.0 <= drawn.min() < 3.1
    assert 6.9 < drawn.max() <= 7.0


def test_students_law_is_wider_than_its_scale() -> None:
    law = student_t(0.0, 1.0, 5.0)
    assert law.standard_uncertainty == 1.0
    drawn = law.draw(np.random.default_rng(3), 400_000)
    assert drawn.std() == pytest.approx(math.sqrt(5.0 / 3.0), rel=0.02)
    assert student_t(0.0, 1.0, math.inf).shape == "normal"


@pytest.mark.parametrize(
    "make",
    [
        lambda: normal(0.0, -1.0),
        lambda: normal(math.nan, 1.0),
        lambda: rectangular(0.0, math.inf),
        lambda: student_t(0.0, 1.0, 0.0),
    ],
)
def test_what_is_no_law_is_refused(make) -> None:
    with pytest.raises(BadInput):
        make()


def test_a_law_without_spread_is_its_value() -> None:
    assert set(rectangular(3.0, 0.0).draw(np.random.default_rng(4), 5)) == {3.0}
