"""Pallet loading instances whose best number is published."""

from __future__ import annotations

import pytest

from clew.plan.packing.layer import best_layer
from clew.plan.packing.layer_points import most_boxes


@pytest.mark.outside(
    document="Birgin, Lobato, Morabito, An effective recursive partitioning approach for the "
    "packing of identical rectangles in a rectangle (J. Oper. Res. Soc.)",
    edition="2010, as quoted in a public validation note",
    section="instances 42 x 39 of 9 x 4: 45, and 43 x 26 of 7 x 3: 53",
    mark="READ",
)
@pytest.mark.parametrize(("size", "most"), [((42, 39, 9, 4), 45), ((43, 26, 7, 3), 53)])
def test_published_optimum_reached_and_proven(size: tuple[int, ...], most: int) -> None:
    length, width, a, b = size
    layer = best_layer(length, width, (a, b))
    assert (layer.number, layer.bound, layer.proven) == (most, most, True)


@pytest.mark.outside(
    document="A public validation note on loading equal boxes",
    edition="as read",
    section="layers of 365 x 245: 9 and 271 x 201: 15 and 208 x 165: 27 on 1200 x 800, "
    "330 x 220: 15 on 1200 x 1000",
    mark="READ",
)
@pytest.mark.parametrize(
    ("size", "most"),
    [
        ((1200, 800, 365, 245), 9),
        ((1200, 800, 271, 201), 15),
        ((1200, 800, 208, 165), 27),
        ((1200, 1000, 330, 220), 15),
        ((1200, 800, 300, 200), 16),
    ],
)
def test_layers_of_a_common_pallet(size: tuple[int, ...], most: int) -> None:
    length, width, a, b = size
    layer = best_layer(length, width, (a, b))
    assert (layer.number, layer.proven) == (most, True)


@pytest.mark.outside(
    document="Pallet loading instances of the literature (Bischoff and Dowsland; Nelissen; "
    "Lins, Lins and Morabito)",
    edition="numbers from memory; reached here, and no more by the bound",
    section="22 x 16 of 5 x 3: 23; 86 x 52 of 15 x 11: 26; 40 x 25 of 7 x 3: 47; "
    "52 x 33 of 9 x 4: 47; 56 x 52 of 12 x 5: 48",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("size", "most"),
    [
        ((22, 16, 5, 3), 23),
        ((86, 52, 15, 11), 26),
        ((40, 25, 7, 3), 47),
        ((52, 33, 9, 4), 47),
        ((56, 52, 12, 5), 48),
    ],
)
def test_remembered_optima_are_confirmed(size: tuple[int, ...], most: int) -> None:
    length, width, a, b = size
    layer = best_layer(length, width, (a, b), effort=0.0)
    assert (layer.number, most_boxes(length, width, a, b)) == (most, most)


@pytest.mark.outside(
    document="Lins, Lins, Morabito, An L-approach for packing (l, w)-rectangles",
    edition="2003, number from memory",
    section="57 x 34 of 7 x 4: 69, which needs an L-shaped cut",
    mark="MEMORY",
)
def test_what_is_not_proven_is_not_called_so() -> None:
    layer = best_layer(57, 34, (7, 4), effort=0.0)
    assert (layer.number, layer.bound, layer.proven) == (68, 69, False)
