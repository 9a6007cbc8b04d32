"""Shortest pieces: uniform spacings, and how far they hold where cones have a say."""

import numpy as np
import pytest

from clew.knots.law import knot_law
from clew.knots.monte_carlo import draw_balls
from clew.knots.pieces import mean_shortest_m, no_piece_under, within_limit
from clew.knots.sources import Sources


def test_one_join_keeps_clear_of_both_ends():
    assert no_piece_under(np.array([0.0, 1.0]), 200.0, 10.0) == pytest.approx([1.0, 0.9])


def test_pieces_that_do_not_fit_have_no_chance():
    """Nine joins make ten pieces; only those of a tenth or less fit."""
    chances = no_piece_under(np.array([9.0, 0.0, 0.0]), 200.0, 20.5)
    assert chances.tolist() == [0.0, 1.0, 1.0]
    assert no_piece_under(np.array([0.0]), 200.0, 201.0).tolist() == [0.0]


def test_mean_of_the_shortest_is_the_integral_of_its_chances():
    grid = np.linspace(0.0, 50.0, 5001)
    chances = np.array([no_piece_under(np.array([3.0]), 200.0, m)[0] for m in grid])
    assert np.trapezoid(chances, grid) == pytest.approx(
        mean_shortest_m(np.array([3.0]), 200.0)[0], rel=1e-5
    )


def test_drawn_balls_have_the_same_shortest_pieces_while_cones_are_longer_than_the_ball():
    sources = Sources(0.004, cone_length_m=3000.0, cone_cv=0.05)
    found = knot_law(sources, 200.0)
    drawn = draw_balls(sources, 200.0, balls=200_000, seed=2)
    for limit, least_m in [(0, 5.0), (1, 10.0), (2, 5.0), (30, 2.0)]:
        share = float(((drawn.joins <= limit) & (drawn.shortest_m >= least_m)).mean())
        expected = within_limit(found.pmf, 200.0, limit, least_m)
        assert share == pytest.approx(expected, abs=4.5 * 0.5 / np.sqrt(200_000))


def test_ties_a_cone_apart_leave_longer_pieces_than_uniform_ones():
    """The stated direction of the approximation: short cones, no breaks."""
    sources = Sources(cone_length_m=300.0, cone_cv=0.05)
    found = knot_law(sources, 1000.0)
    drawn = draw_balls(sources, 1000.0, balls=20_000, seed=2)
    assert float((drawn.shortest_m >= 20.0).mean()) > within_limit(found.pmf, 1000.0, 9, 20.0)


def test_a_limit_below_zero_lets_nothing_through():
    assert within_limit(np.array([0.9, 0.1]), 200.0, -1) == 0.0
    assert within_limit(np.array([0.9, 0.1]), 200.0, 5) == pytest.approx(1.0)
