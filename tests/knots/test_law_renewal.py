"""Cone ties as a renewal process: the lattice keeps what must be kept."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.knots.mixture import even_pieces, on_cones
from clew.knots.renewal import (
    Cones,
    cells_of,
    first_tie_after,
    first_tie_anywhere,
    stationary_ties,
    tie_density,
)


@given(mean_m=st.floats(50.0, 400.0), cv=st.floats(0.02, 0.5))
def test_the_lattice_keeps_the_mean_cone(mean_m, cv):
    cells = cells_of(Cones(mean_m, cv), 2.0, 4000)
    assert cells.cone.sum() == pytest.approx(1.0, abs=1e-9)
    assert 2.0 * float(cells.cone @ np.arange(4000)) == pytest.approx(mean_m, rel=1e-9)


@pytest.mark.parametrize("cv", [0.05, 0.2, 0.7, 1.0])
def test_the_lattice_gives_the_closed_form_of_ties(cv):
    """Without breaks the generating function must return the closed form."""
    cones = Cones(300.0, cv)
    closed = stationary_ties(cones, 1000.0)
    lattice = on_cones(cones, 1000.0, 0.0, 1.0)
    size = min(closed.size, lattice.size)
    assert lattice[:size] == pytest.approx(closed[:size], abs=2e-6)


def test_a_vanishing_spread_nears_even_cones():
    even = stationary_ties(Cones(300.0, 0.0), 1000.0)
    assert even == pytest.approx([0.0, 0.0, 0.0, 2.0 / 3.0, 1.0 / 3.0, 0.0], abs=1e-12)
    near = stationary_ties(Cones(300.0, 2e-5), 1000.0)
    assert near[:5] == pytest.approx(even[:5], abs=1e-4)


def test_first_tie_anywhere_falls_evenly_until_the_shortest_cone():
    cones = Cones(300.0, 0.05)
    first = first_tie_anywhere(cells_of(cones, 1.0, 200), cones)
    assert first[:150] == pytest.approx(np.full(150, 1.0 / 300.0), abs=1e-12)


def test_first_tie_after_a_cone_start_has_the_cones_mean():
    cones = Cones(300.0, 0.3)
    first = first_tie_after(cones, cells_of(cones, 1.0, 2000), 0)
    assert float(first @ (np.arange(2000) + 0.5)) == pytest.approx(300.0, abs=1e-6)


def test_tie_density_agrees_with_adding_up_cone_after_cone():
    cone = np.array([0.0, 0.2, 0.5, 0.3, 0.0, 0.0, 0.0, 0.0])
    first = np.array([0.1, 0.4, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0])
    expected = np.zeros(8)
    term = first.copy()
    for _ in range(9):
        expected += term
        term = np.convolve(term, cone)[:8]
    assert tie_density(first, cone, 8) == pytest.approx(expected, abs=1e-10)


@given(cone_m=st.floats(10.0, 5000.0), length_m=st.floats(1.0, 2000.0), number=st.integers(1, 300))
def test_even_pieces_fill_the_ball(cone_m, length_m, number):
    pieces = even_pieces(cone_m, length_m, number)
    assert sum(pieces) == pytest.approx(length_m, rel=1e-9, abs=1e-9 * number * length_m)
    assert min(pieces) > 0.0
    assert all(piece == pytest.approx(cone_m) for piece in pieces[1:-1])
