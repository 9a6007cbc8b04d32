"""Drawn balls: same seed same balls, and edges."""

import numpy as np
import pytest

from clew.knots.monte_carlo import draw_balls
from clew.knots.sources import Sources


def test_the_seed_fixes_the_balls():
    sources = Sources(0.003, 1.0, 500.0, 0.1, 0.001)
    one = draw_balls(sources, 700.0, balls=500, seed=9)
    same = draw_balls(sources, 700.0, balls=500, seed=9)
    other = draw_balls(sources, 700.0, balls=500, seed=10)
    assert np.array_equal(one.joins, same.joins)
    assert np.array_equal(one.shortest_m, same.shortest_m)
    assert not np.array_equal(one.joins, other.joins)


def test_balls_without_joins_are_one_piece():
    drawn = draw_balls(Sources(), 200.0, balls=100, seed=1)
    assert drawn.share.tolist() == [1.0]
    assert set(drawn.shortest_m.tolist()) == {200.0}


def test_even_cones_from_their_start_are_no_matter_of_chance():
    """300 m balls on 1000 m cones: the fourth holds the tie, 100 m in."""
    drawn = draw_balls(Sources(cone_length_m=1000.0), 300.0, balls=50, seed=1, ball_number=4)
    assert set(drawn.joins.tolist()) == {1}
    assert drawn.shortest_m == pytest.approx(np.full(50, 100.0))


def test_a_tie_on_the_cut_is_in_neither_ball():
    for number in (20, 21):
        drawn = draw_balls(
            Sources(cone_length_m=4000.0), 200.0, balls=10, seed=1, ball_number=number
        )
        assert drawn.joins.sum() == 0
