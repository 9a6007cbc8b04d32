"""A drawn strand against the law of joins and against itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.faults import BadInput
from clew.knots.law import knot_law
from clew.knots.sources import Sources, sources_after_steam
from clew.knots.strand_draw import KINDS, draw_strand

MANY = sources_after_steam(
    breaks_per_km=0.8,
    dispersion=1.2,
    cone_length_m=3000.0,
    cone_cv=0.05,
    line_breaks_per_km=0.1,
    colour_ties_per_km=0.05,
)


def test_each_kind_comes_as_often_as_its_source_says() -> None:
    length_m = 4e6
    drawn = draw_strand(MANY, length_m, seed=4)
    found = {kind: drawn.kinds.count(kind) for kind in KINDS}
    for kind, rate in zip(KINDS, MANY.intensities_per_m.values(), strict=True):
        mean = rate * length_m
        # ties hardly vary; breaks vary by m + m^2 (cone)/a, both inside four of these
        spread = math.sqrt(mean * (1.0 + 2400 / 1.2 / 1000))
        assert abs(found[kind] - mean) < 4.0 * spread
    assert np.all(np.diff(drawn.positions_nm) > 0)
    assert len(drawn.kinds) == drawn.positions_nm.size


def test_balls_cut_from_a_drawn_strand_follow_the_law() -> None:
    length_m, ball_m = 2e7, 200.0
    drawn = draw_strand(MANY, length_m, seed=11)
    joins = np.bincount(
        (drawn.positions_m // ball_m).astype(np.int64), minlength=round(length_m / ball_m)
    )
    law = knot_law(MANY, ball_m)
    for number in range(4):
        share = float(np.mean(joins == number))
        chance = float(law.pmf[number])
        # balls of one cone are alike: the spread is that of fewer balls, 15 to a cone
        assert abs(share - chance) < 4.0 * math.sqrt(15 * chance * (1 - chance) / joins.size)


def test_even_cones_are_a_cone_apart_and_the_start_is_anywhere() -> None:
    even = Sources(cone_length_m=1000.0)
    firsts = [draw_strand(even, 10_000.0, seed=seed).positions_m for seed in range(200)]
    for ends in firsts:
        assert np.allclose(np.diff(ends), 1000.0)
        assert ends.size in (9, 10)
    assert abs(np.mean([ends[0] for ends in firsts]) - 500.0) < 4 * 289 / math.sqrt(200)


def test_uneven_cones_leave_a_residual_longer_than_half_a_cone() -> None:
    uneven = Sources(cone_length_m=1000.0, cone_cv=0.8)
    firsts = np.array(
        [draw_strand(uneven, 50_000.0, seed=seed).positions_m[0] for seed in range(2000)]
    )
    expected = 500.0 * (1.0 + 0.8**2)
    assert abs(firsts.mean() - expected) < 4.0 * firsts.std() / math.sqrt(firsts.size)


def test_one_seed_one_strand() -> None:
    one, two = draw_strand(MANY, 1e5, seed=3), draw_strand(MANY, 1e5, seed=3)
    assert one.kinds == two.kinds
    assert np.array_equal(one.positions_nm, two.positions_nm)
    other = draw_strand(MANY, 1e5, seed=4)
    assert not np.array_equal(one.positions_nm, other.positions_nm)


def test_no_source_no_join() -> None:
    assert draw_strand(Sources(), 1e6, seed=1).kinds == ()


@pytest.mark.parametrize("length_m", [0.0, -1.0, math.nan, 2e9])
def test_a_length_that_is_none_is_refused(length_m: float) -> None:
    with pytest.raises(BadInput):
        draw_strand(MANY, length_m, seed=1)


def test_too_many_joins_are_refused() -> None:
    with pytest.raises(BadInput, match="too many joins"):
        draw_strand(sources_after_steam(breaks_per_km=1e4), 1e8, seed=1)
