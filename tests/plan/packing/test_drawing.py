"""Pictures of a packing: all that is in it, nothing over the edge, nothing over another."""

from __future__ import annotations

import itertools

import pytest

from clew.mill.model import Mill
from clew.plan.packing.answer import PackAnswer, pack_answer
from clew.plan.packing.drawing import drawings_of


@pytest.fixture(scope="module")
def answer(demo_mill: Mill) -> PackAnswer:
    return pack_answer(demo_mill, "querl 100")


def test_drawings_show_every_bag_and_case(demo_mill: Mill, answer: PackAnswer) -> None:
    pallet = demo_mill.pack.pallet
    for one in answer.options:
        drawn = drawings_of(one, deck_mm=pallet.deck_mm, most_height_mm=pallet.most_height_mm)
        by_key = {drawing.key: drawing for drawing in drawn}
        assert len(by_key) == len(drawn)
        assert len(by_key["pallet_layer"].rects) == one.load.layer.number
        for drawing in drawn:
            for rect in drawing.rects:
                assert min(rect.x_mm, rect.y_mm) >= -1e-9
                assert rect.x_mm + rect.width_mm <= drawing.width_mm + 1e-6
                assert rect.y_mm + rect.height_mm <= drawing.height_mm + 1e-6
        layers = [drawing for key, drawing in by_key.items() if key.startswith("case_layer")]
        assert 0 < sum(len(drawing.rects) for drawing in layers) <= one.bags_per_case
        tops = [rect.y_mm + rect.height_mm for rect in by_key["pallet_side"].rects]
        assert max(tops) == pytest.approx(one.load.height_mm)


@pytest.mark.parametrize("ball", ["Querl 100", "Dunnow 50", "Querl 200", "Sallowe 100"])
def test_nothing_is_drawn_over_another(demo_mill: Mill, ball: str) -> None:
    """From above nothing overlaps; from the side what is hidden behind is not drawn."""
    pallet = demo_mill.pack.pallet
    for option in pack_answer(demo_mill, ball).options:
        for drawing in drawings_of(
            option, deck_mm=pallet.deck_mm, most_height_mm=pallet.most_height_mm
        ):
            for one, other in itertools.combinations(drawing.rects, 2):
                across = min(one.x_mm + one.width_mm, other.x_mm + other.width_mm) - max(
                    one.x_mm, other.x_mm
                )
                up = min(one.y_mm + one.height_mm, other.y_mm + other.height_mm) - max(
                    one.y_mm, other.y_mm
                )
                assert min(across, up) < 1e-6, (drawing.key, one, other)


def test_the_side_shows_as_much_as_stands_there(demo_mill: Mill, answer: PackAnswer) -> None:
    """Seen from the front, a layer covers just what its boxes cover, from whichever depth."""
    assert answer.best is not None
    drawn = drawings_of(answer.best, deck_mm=144.0, most_height_mm=2200.0)
    side = next(one for one in drawn if one.key == "pallet_side")
    low = [one for one in side.rects if one.kind == "case" and one.y_mm == 144.0]
    layer = answer.best.load.layer.placed
    for x in range(5, 1200, 10):
        seen = any(one.x_mm <= x <= one.x_mm + one.width_mm for one in low)
        stands = any(one.x_mm <= x <= one.x_mm + one.length_mm for one in layer)
        assert seen == stands, x
