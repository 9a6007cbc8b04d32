"""Faults that come in cones."""

from __future__ import annotations

from itertools import product
from math import comb

import numpy as np
import pytest
from scipy.special import beta as beta_function
from scipy.stats import binom

from clew.checks.attributes.clumps import (
    balls_needed,
    clumped_chance,
    design_effect,
    intraclass_of,
)
from clew.faults import BadInput


def test_what_a_sample_is_worth() -> None:
    found = design_effect([4] * 20, 0.25)
    assert found.design_effect == pytest.approx(1.75)
    assert found.worth == pytest.approx(80 / 1.75)
    assert design_effect([1] * 80, 0.9).worth == 80
    assert design_effect([80], 1.0).worth == pytest.approx(1.0)
    assert balls_needed(80, 4, 0.25) == 140
    assert balls_needed(80, 1, 0.25) == 80


def test_unequal_cones_are_weighed_by_their_balls() -> None:
    """Of ten balls nine have eight fellows and one has none: 8.2 balls a cone."""
    found = design_effect([9, 1], 0.5)
    assert found.balls_per_cone == pytest.approx(8.2)
    assert found.design_effect == pytest.approx(1 + 7.2 * 0.5)


def test_three_cones_by_every_number_of_bad_balls() -> None:
    share, rho, each = 0.2, 0.3, 3
    a, b = share * (1 - rho) / rho, (1 - share) * (1 - rho) / rho
    one = [
        comb(each, k) * beta_function(a + k, b + each - k) / beta_function(a, b)
        for k in range(each + 1)
    ]
    for accept in range(10):
        counted = sum(
            one[i] * one[j] * one[k]
            for i, j, k in product(range(4), repeat=3)
            if i + j + k <= accept
        )
        assert float(clumped_chance(3, each, accept, share, rho)) == pytest.approx(counted)


def test_the_ends_are_independent_balls_and_whole_cones() -> None:
    shares = np.array([0.0, 0.03, 0.2, 1.0])
    assert clumped_chance(20, 4, 3, shares, 0.0) == pytest.approx(binom.cdf(3, 80, shares))
    assert clumped_chance(20, 4, 3, shares, 1e-8) == pytest.approx(
        binom.cdf(3, 80, shares), abs=1e-5
    )
    assert clumped_chance(20, 4, 3, shares, 1.0) == pytest.approx(binom.cdf(0, 20, shares))
    assert clumped_chance(20, 4, 3, shares, 1 - 1e-7) == pytest.approx(
        binom.cdf(0, 20, shares), abs=1e-5
    )


def test_bad_lots_pass_more_often_where_faults_come_in_cones() -> None:
    free, clumped = (float(clumped_chance(20, 4, 2, 0.08, rho)) for rho in (0.0, 0.3))
    assert clumped > 1.5 * free


def test_the_correlation_is_found_again_in_drawn_cones() -> None:
    rng = np.random.default_rng(4)
    share, rho = 0.1, 0.3
    rates = rng.beta(share * (1 - rho) / rho, (1 - share) * (1 - rho) / rho, 20_000)
    found = intraclass_of(rng.binomial(5, rates).tolist(), [5] * 20_000)
    assert found == pytest.approx(rho, abs=0.02)
    even = intraclass_of(rng.binomial(5, share, 20_000).tolist(), [5] * 20_000)
    assert even == pytest.approx(0.0, abs=0.01)


def test_cones_wholly_good_or_bad_correlate_fully() -> None:
    assert intraclass_of([5, 0, 5, 0], [5, 5, 5, 5]) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("bad", "drawn", "match"),
    [
        ([1], [5], "too little"),
        ([1, 0], [1, 1], "too little"),
        ([0, 0], [5, 5], "all balls alike"),
        ([6, 0], [5, 5], "more bad balls"),
    ],
)
def test_what_tells_nothing(bad: list[int], drawn: list[int], match: str) -> None:
    with pytest.raises(BadInput, match=match):
        intraclass_of(bad, drawn)


def test_no_correlation_above_one() -> None:
    with pytest.raises(BadInput, match="intraclass"):
        design_effect([4], 1.1)
    with pytest.raises(BadInput, match="no balls"):
        design_effect([], 0.1)
    with pytest.raises(BadInput, match="not a share"):
        clumped_chance(2, 2, 0, -0.1, 0.1)
