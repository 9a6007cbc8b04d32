"""Bags of balls, bags in a case, a case made to size."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.plan.packing.bag import Bag, bags_of, three_factors
from clew.plan.packing.case_fit import (
    best_fit,
    fit_bags,
    free_case,
    longer_by,
    most_bags,
    outer_of,
    slotted_board_m2,
)

SIDES = st.tuples(st.integers(1, 3), st.integers(1, 3), st.integers(1, 3))


def most_by_trying(room: tuple[int, int, int], box: tuple[int, int, int]) -> int:
    """Fill unit cubes in every way: the first free cube is covered or left bare."""
    long, wide, high = room
    cubes = list(itertools.product(range(high), range(wide), range(long)))
    best = 0

    def fill(taken: frozenset[tuple[int, int, int]], at: int, count: int) -> None:
        nonlocal best
        best = max(best, count)
        while at < len(cubes) and cubes[at] in taken:
            at += 1
        if count + (len(cubes) - at) // math.prod(box) <= best:
            return
        z, y, x = cubes[at]
        for a, b, c in set(itertools.permutations(box)):
            if x + a > long or y + b > wide or z + c > high:
                continue
            mine = frozenset(itertools.product(range(z, z + c), range(y, y + b), range(x, x + a)))
            if not mine & taken:
                fill(taken | mine, at + 1, count + 1)
        fill(taken, at + 1, count)

    fill(frozenset(), 0, 0)
    return best


@settings(max_examples=40)
@given(st.tuples(st.integers(1, 4), st.integers(1, 3), st.integers(1, 3)), SIDES)
def test_never_more_than_there_is_room_for(
    room: tuple[int, int, int], box: tuple[int, int, int]
) -> None:
    most = most_by_trying(room, box)
    fit = fit_bags(Bag((1, 1, 1), box), room)
    assert fit.number <= most <= fit.bound
    straight = max(
        math.prod(side // one for side, one in zip(room, turned, strict=True))
        for turned in itertools.permutations(box)
    )
    assert fit.number >= straight
    assert sum(one.thickness_mm for one in fit.layers) <= room[fit.along] + 1e-6


def test_layers_of_two_kinds_share_a_case() -> None:
    # two flat layers of 4 leave 20 mm, in which the boxes stand on no other side
    fit = fit_bags(Bag((1, 1, 1), (20.0, 10.0, 7.0)), (20.0, 40.0, 24.0))
    kinds = sorted(one.thickness_mm for one in fit.layers)
    assert kinds == [7.0, 7.0, 10.0]
    assert fit.number == 4 + 4 + 5 == fit.bound


def test_layers_are_stacked_along_whichever_side_holds_most() -> None:
    fit = fit_bags(Bag((1, 1, 1), (3.0, 3.0, 2.0)), (5.0, 3.0, 3.0))
    assert (fit.number, fit.bound) == (2, 2)


@given(st.integers(1, 60))
def test_every_product_of_three(number: int) -> None:
    triples = {
        triple
        for triple in itertools.product(range(1, number + 1), repeat=3)
        if math.prod(triple) == number
    } if number <= 16 else set(three_factors(number))  # fmt: skip
    assert set(three_factors(number)) == triples
    assert all(math.prod(one) == number for one in three_factors(number))
    assert (1, number, 1) in triples


def test_a_bag_is_its_balls_pressed_and_its_film() -> None:
    bags = bags_of(10, (100.0, 110.0, 80.0), squeeze_frac=0.1, film_mm=3.0)
    sides = {bag.counts: bag.sides_mm for bag in bags}
    assert sides[1, 2, 5] == pytest.approx((103.0, 223.0, 363.0))
    assert len(sides) == 9 and all(bag.balls == 10 for bag in bags)
    skins = [a * b + b * c + a * c for a, b, c in (bag.sides_mm for bag in bags)]
    assert skins == sorted(skins)


def test_the_bag_that_lets_most_in_is_taken() -> None:
    bags = bags_of(4, (10.0, 10.0, 10.0))
    assert bags[0].counts == (1, 2, 2)
    best = best_fit(bags, (40.0, 10.0, 10.0))
    assert (best.number, best.bag.counts) == (1, (1, 1, 4))
    assert best_fit(bags, (39.0, 10.0, 10.0)).number == 0


def test_how_much_longer() -> None:
    bags = bags_of(2, (10.0, 10.0, 10.0))
    assert longer_by(bags, (19.0, 20.0, 10.0), 2) == (("length", 1), ("height", 10), ("width", 20))
    assert longer_by(bags, (9.0, 9.0, 9.0), 1) == ()
    assert most_bags((20.0, 10.0, 10.0), (19.0, 20.0, 10.0)) == 1


def test_the_case_of_least_board() -> None:
    bags = bags_of(1, (100.0, 100.0, 100.0))
    made = free_case(bags, 8, 0.0)
    every = {
        2.0 * (max(a, b) + min(a, b)) * (c + min(a, b)) / 100.0 for a, b, c in three_factors(8)
    }
    assert made.board_m2 == pytest.approx(min(every))
    made = free_case(bags, 2, 5.0)
    assert made.outer_mm == outer_of(made.inner_mm, 5.0)
    assert sorted(made.inner_mm) == [100.0, 100.0, 200.0]
    assert slotted_board_m2((200.0, 100.0, 100.0)) == pytest.approx(2 * 0.3 * 0.2)
    fit = fit_bags(made.bag, made.inner_mm)
    assert fit.number == 2
