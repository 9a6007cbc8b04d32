"""Tare: the handbook's two and five, the doubt of the mean, how many to weigh."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from clew.checks.instruments.tare import (
    range_ratio,
    tare_doubt,
    tares_needed,
    tares_to_open,
    unused_dry_tare,
)
from clew.faults import BadInput


def test_two_alike_stand_whatever_comes_after() -> None:
    found = unused_dry_tare([2.1, 2.1, 9.9], 0.1)
    assert (found.tare_g, found.used, found.more) == (2.1, 2, 0)


@pytest.mark.parametrize(("weighed", "more"), [(1, 1), (2, 3), (3, 2), (4, 1)])
def test_it_says_how_many_are_missing(weighed: int, more: int) -> None:
    found = unused_dry_tare([2.1, 2.3, 2.2, 2.2][:weighed], 0.1)
    assert (found.tare_g, found.more) == (None, more)


def test_a_difference_of_one_division_can_be_measured() -> None:
    assert unused_dry_tare([2.1, 2.2], 0.1).more == 3
    assert unused_dry_tare([2.10, 2.19], 0.1).more == 0


def test_doubt_of_the_mean_and_of_a_ball() -> None:
    tares = [2.1, 2.2, 2.1, 2.0, 2.2]
    found = tare_doubt(tares, limit_g=0.1)
    mean = sum(tares) / 5
    sd = math.sqrt(sum((one - mean) ** 2 for one in tares) / 4)
    assert found.mean_doubt_g == pytest.approx(student.ppf(0.975, 4) * sd / math.sqrt(5))
    assert found.ball_doubt_g == pytest.approx(student.ppf(0.975, 4) * sd * math.sqrt(1.2))
    assert not found.enough


@given(st.floats(0.001, 1.0), st.floats(0.005, 1.0))
def test_the_number_to_weigh_is_the_least_that_does(sd: float, limit: float) -> None:
    needed = tares_needed(sd, limit)
    assert needed is not None

    def doubt(n: int) -> float:
        return float(student.ppf(0.975, n - 1)) * sd / math.sqrt(n)

    assert doubt(needed) <= limit * (1 + 1e-8)
    if needed > 2:
        assert doubt(needed - 1) > limit * (1 - 1e-8)


def test_tares_alike_need_no_more_and_a_hopeless_limit_is_said() -> None:
    assert tare_doubt([2.0, 2.0], limit_g=0.01).needed == 2
    assert tares_needed(1.0, 1e-6) is None


def test_the_used_route_gives_the_ratio_and_refuses() -> None:
    assert range_ratio([-0.5, 1.0, 0.1], [2.0, 2.3, 2.1]) == pytest.approx(5.0)
    assert range_ratio([1.0, 2.0], [2.0, 2.0]) is None
    with pytest.raises(BadInput, match=r"Rc/Rt is 5; .*Table 2-3"):
        tares_to_open(5.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: unused_dry_tare([], 0.1),
        lambda: unused_dry_tare([-1.0, 2.0], 0.1),
        lambda: unused_dry_tare([2.0, math.nan], 0.1),
        lambda: unused_dry_tare([2.0, 2.0], 0.0),
        lambda: tare_doubt([2.0], limit_g=0.1),
        lambda: tare_doubt([2.0, 2.1], limit_g=0.0),
        lambda: tare_doubt([2.0, 2.1], limit_g=0.1, confidence=1.0),
        lambda: range_ratio([1.0], [2.0]),
    ],
)
def test_what_is_no_tare_is_refused(make) -> None:
    with pytest.raises(BadInput):
        make()


def test_tares_that_show_alike_are_not_known_better_than_half_a_division() -> None:
    found = tare_doubt([2.1, 2.1], limit_g=0.1, division_g=0.1)
    assert (found.mean_doubt_g, found.ball_doubt_g, found.enough) == (0.05, 0.05, True)
    coarse = tare_doubt([2.0, 2.0, 2.0], limit_g=0.1, division_g=1.0)
    assert not coarse.enough
    assert coarse.needed is None
    with pytest.raises(BadInput, match="a division"):
        tare_doubt([2.0, 2.0], limit_g=0.1, division_g=-1.0)
