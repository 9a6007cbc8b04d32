"""Which balls are drawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.attributes.draw import draw_balls, shares_by_winder
from clew.faults import BadInput


@given(st.lists(st.integers(0, 400), min_size=1, max_size=12), st.data())
def test_every_winder_gives_its_share(sizes: list[int], data: st.DataObject) -> None:
    total = sum(sizes)
    if total == 0:
        return
    n = data.draw(st.integers(1, total))
    given_out = shares_by_winder(sizes, n)
    assert sum(given_out) == n
    for count, size in zip(given_out, sizes, strict=True):
        assert 0 <= count <= size
        assert abs(count - n * size / total) < 1


def test_the_draw_is_spread_over_winders_and_time() -> None:
    winder = np.tile(np.arange(6), 500)
    drawn = draw_balls(winder, 60, np.random.default_rng(3))
    assert len(set(drawn.tolist())) == 60
    assert np.all(np.diff(drawn) > 0)
    for one in range(6):
        places = drawn[winder[drawn] == one] // 6
        assert len(places) == 10
        assert (places // 50).tolist() == list(range(10))


def test_a_seed_draws_the_same_and_another_does_not() -> None:
    winder = np.tile(np.arange(6), 500)
    one, same, other = (
        draw_balls(winder, 60, np.random.default_rng(seed)).tolist() for seed in (3, 3, 4)
    )
    assert one == same
    assert one != other


def test_no_cone_is_drawn_from_twice_while_others_are_left() -> None:
    winder = np.zeros(120, dtype=int)
    cone = np.arange(120) // 9
    drawn = draw_balls(winder, 12, np.random.default_rng(1), cone=cone)
    assert len(set(cone[drawn].tolist())) == 12
    one_cone = draw_balls(winder, 12, np.random.default_rng(1), cone=np.zeros(120, dtype=int))
    assert len(one_cone) == 12


def test_every_ball_is_as_likely_as_any_other() -> None:
    rng = np.random.default_rng(5)
    winder = np.tile(np.arange(3), 20)
    seen = np.zeros(60)
    for _ in range(6000):
        seen[draw_balls(winder, 12, rng)] += 1
    assert seen / 6000 == pytest.approx(np.full(60, 0.2), abs=0.025)


def test_the_whole_lot_can_be_drawn_and_no_more() -> None:
    assert draw_balls([1, 2, 1], 3, np.random.default_rng(1)).tolist() == [0, 1, 2]
    with pytest.raises(BadInput, match="more balls to draw"):
        draw_balls([1, 2, 1], 4, np.random.default_rng(1))
    with pytest.raises(BadInput, match="cones that do not go"):
        draw_balls([1, 2, 1], 2, np.random.default_rng(1), cone=[1])
