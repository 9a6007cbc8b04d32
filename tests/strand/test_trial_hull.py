"""The region of the trials: a convex hull, also when it is a line or a point."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.strand.trial_hull import convex_hull, inside

WHOLE = st.tuples(st.integers(0, 40), st.integers(90, 110)).map(
    lambda p: (float(p[0]), float(p[1]))
)


@given(points=st.lists(WHOLE, min_size=1, max_size=12))
def test_every_point_lies_in_the_hull_of_all(points) -> None:
    corners = convex_hull(points)
    assert all(inside(point, corners) for point in points)


@given(points=st.lists(WHOLE, min_size=1, max_size=12), seed=st.integers(0, 999))
def test_every_mixture_of_points_lies_in_the_hull(points, seed: int) -> None:
    weights = np.random.default_rng(seed).dirichlet(np.ones(len(points)))
    mixed = weights @ np.array(points)
    assert inside((float(mixed[0]), float(mixed[1])), convex_hull(points))


@given(points=st.lists(WHOLE, min_size=3, max_size=12), probe=WHOLE)
def test_a_point_is_outside_exactly_when_a_line_parts_it_from_all(points, probe) -> None:
    """Naive check: look for a parting line along and across every pair of points."""
    every = np.array([*points, probe])
    parted = False
    for a in every:
        for b in every:
            for normal in ((b - a)[::-1] * (1, -1), b - a):
                reach = (np.array(points) - probe) @ normal
                parted = parted or bool((reach > 1e-9).all())
    assert inside(probe, convex_hull(points)) is not parted


def test_the_hot_corner_that_was_never_steamed_is_outside() -> None:
    corners = convex_hull([(5.0, 95.0), (40.0, 95.0), (5.0, 105.0), (15.0, 105.0)])
    assert not inside((40.0, 105.0), corners)
    assert inside((15.0, 105.0), corners)


@pytest.mark.parametrize(
    ("probe", "answer"), [((20.0, 100.0), True), ((20.0, 100.1), False), ((41.0, 100.0), False)]
)
def test_one_temperature_answers_at_that_temperature_alone(probe, answer: bool) -> None:
    corners = convex_hull([(5.0, 100.0), (40.0, 100.0), (10.0, 100.0)])
    assert inside(probe, corners) is answer


def test_a_point_between_two_corners_is_no_corner() -> None:
    square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
    between = [(2.0, 0.0), (4.0, 1.0), (3.0, 4.0), (0.0, 2.0)]
    assert convex_hull([*square, *between]) == tuple(square)
    assert convex_hull([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]) == ((0.0, 0.0), (2.0, 2.0))


@pytest.mark.parametrize("along", [1e-5, 1.0, 1e5])
@pytest.mark.parametrize("across", [1e-5, 1.0, 1e5])
def test_the_unit_of_an_axis_changes_nothing(along: float, across: float) -> None:
    """Just beyond the slanted edge is outside, and on the edge is inside, in any two units."""
    corners = convex_hull([(0.0, 0.0), (along, 0.0), (0.0, across)])
    for part in (0.1, 0.3, 0.7):
        assert inside((part * along, (1.0 - part) * across), corners)
        assert not inside((part * along, (1.0 - part + 1e-6) * across), corners)
