"""Equal boxes in a layer: inside, apart, and as many as a naive search finds."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.plan.packing.layer import Layer, best_layer
from clew.plan.packing.layer_exact import search_layer
from clew.plan.packing.layer_points import (
    bar_waste,
    most_boxes,
    normal_points,
    raster_points,
    reduced,
)


def most_by_trying(length: int, width: int, a: int, b: int) -> int:
    """Fill a grid of unit squares in every way: the first free square is covered or left bare."""
    best = 0

    def fill(taken: int, square: int, count: int) -> None:
        nonlocal best
        while square < length * width and taken >> square & 1:
            square += 1
        if square == length * width:
            best = max(best, count)
            return
        bare = length * width - square - (taken >> square).bit_count()
        if count + bare // (a * b) <= best:
            return
        x, y = square % length, square // length
        for wide, deep in {(a, b), (b, a)}:
            if x + wide > length or y + deep > width:
                continue
            mask = sum(((1 << wide) - 1) << (square + row * length) for row in range(deep))
            if not taken & mask:
                fill(taken | mask, square + 1, count + 1)
        fill(taken | 1 << square, square + 1, count)

    fill(0, 0, 0)
    return best


def sound(layer: Layer, box: tuple[float, float]) -> None:
    for one in layer.placed:
        assert sorted((one.length_mm, one.width_mm)) == pytest.approx(sorted(box), abs=0.011)
        assert min(one.x_mm, one.y_mm) >= -1e-9
        assert one.x_mm + one.length_mm <= layer.length_mm + 1e-6
        assert one.y_mm + one.width_mm <= layer.width_mm + 1e-6
    for one, other in itertools.combinations(layer.placed, 2):
        apart_x = min(one.x_mm + one.length_mm, other.x_mm + other.length_mm) - max(
            one.x_mm, other.x_mm
        )
        apart_y = min(one.y_mm + one.width_mm, other.y_mm + other.width_mm) - max(
            one.y_mm, other.y_mm
        )
        assert min(apart_x, apart_y) <= 1e-6, "two boxes in one place"


@settings(max_examples=60)
@given(st.integers(1, 8), st.integers(1, 7), st.integers(1, 5), st.integers(1, 4))
def test_as_many_as_trying_everything(length: int, width: int, a: int, b: int) -> None:
    layer = best_layer(length, width, (a, b))
    most = most_by_trying(length, width, a, b)
    assert layer.number == most
    assert layer.bound >= most
    sound(layer, (a, b))


@settings(max_examples=80)
@given(st.integers(1, 9), st.integers(1, 8), st.integers(1, 5), st.integers(1, 4))
def test_the_bound_is_never_below(length: int, width: int, a: int, b: int) -> None:
    a, b = max(a, b), min(a, b)
    assert most_boxes(length, width, a, b) >= most_by_trying(length, width, a, b)


@settings(max_examples=40)
@given(
    st.floats(200.0, 1300.0),
    st.floats(200.0, 1100.0),
    st.floats(110.0, 600.0),
    st.floats(90.0, 400.0),
)
def test_real_pallets_are_sound(length: float, width: float, a: float, b: float) -> None:
    layer = best_layer(length, width, (a, b), effort=0.0)
    sound(layer, (a, b))
    sound(layer.mirrored(), (a, b))
    assert layer.number <= layer.bound
    long, wide, one, other = length - 0.02, width - 0.02, a + 0.02, b + 0.02
    assert layer.number >= max(long // one * (wide // other), long // other * (wide // one))


@given(st.integers(1, 40), st.integers(1, 7), st.integers(1, 7))
def test_points(length: int, a: int, b: int) -> None:
    points = normal_points(length, a, b)
    every = {
        i * a + j * b
        for i in range(length + 1)
        for j in range(length + 1)
        if i * a + j * b <= length
    }
    assert set(points) == every
    assert reduced(length, a, b) == max(every)
    assert set(raster_points(length, a, b)) <= every


@given(st.integers(1, 7), st.integers(1, 6), st.integers(2, 4))
def test_bars_leave_so_much_bare(length: int, width: int, bar: int) -> None:
    laid = most_by_trying(length, width, bar, 1)
    bare, waste = length * width - bar * laid, bar_waste(length, width, bar)
    assert bare >= waste
    assert bare == waste or min(length, width) < bar


def test_a_pinwheel_is_found_where_no_cut_from_wall_to_wall_does() -> None:
    layer = best_layer(5, 5, (3, 2), effort=0.0)
    assert layer.number == 4 and layer.proven


def test_a_search_cut_short_proves_nothing() -> None:
    blocks = best_layer(43, 26, (7, 3), effort=0.0)
    assert (blocks.number, blocks.bound, blocks.proven) == (52, 53, False)
    assert search_layer(43, 26, 7, 3, known=52, bound=53, effort=1e-6) == (None, 53)


def test_search_proves_that_no_more_can_be() -> None:
    # the area of 8 by 4 would allow three 3 by 3 boxes
    found, most = search_layer(8, 4, 3, 3, known=2, bound=3, effort=5.0)
    assert found is None and most == 2


def test_small_units_do_not_change_the_number() -> None:
    assert best_layer(22, 16, (5, 3)).number == best_layer(22.009, 16.004, (4.999, 3.0)).number
    assert best_layer(22, 16, (5.01, 3)).number < 23


def test_many_small_boxes_lie_in_rows() -> None:
    layer = best_layer(1200, 800, (60, 45))
    assert layer.number > 120
    sound(layer, (60, 45))


def test_a_size_of_nothing_is_refused() -> None:
    with pytest.raises(BadInput) as bad:
        best_layer(0.0, 100.0, (10.0, float("nan")))
    assert [fault.key for fault in bad.value.faults] == ["length_mm", "box width"]


def test_nothing_fits() -> None:
    layer = best_layer(10, 10, (20, 5))
    assert (layer.number, layer.bound, layer.used_frac) == (0, 0, 0.0)
