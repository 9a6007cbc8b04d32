"""Wind in parts: what follows the hand and what follows at rest are together the whole page."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient
from tests.web.live_parts import live_parts

from clew.mill import Mill
from clew.web.wind.page import open_wind

TRIED = [
    {"target_mass": "101 g"},
    {"ball": "Querl 200", "tension": "30 cN", "pack_density": "160 kg/m3"},
    {"ball": "Dunnow 50", "wind_ratio": "20"},
    {"target_mass": "1 g"},
]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("asked", TRIED)
def test_the_parts_put_together_are_the_whole_page(
    client: TestClient, asked: dict[str, str], language: str
) -> None:
    """The answer while a slider moves, and the rest of it at rest, say what the whole page says."""
    said = {"Accept-Language": language, "Clew-Draws": "charts"}
    quick = client.get("/wind", params={**asked, "part": "answer"}, headers=said)
    rest = client.get("/wind", params={**asked, "part": "price"}, headers=said)
    whole = client.get("/wind", params=asked, headers=said)
    assert quick.status_code == rest.status_code == whole.status_code
    seen = live_parts(whole.text)
    assert {"words", "ball-drawn", "ball-still", "winders", "mini", "answer", "more"} < seen.keys()
    assert live_parts(quick.text) | live_parts(rest.text) == seen
    if whole.status_code == 200:
        assert {"more", "ball-drawn"} == live_parts(rest.text).keys()
        assert not live_parts(rest.text).keys() & live_parts(quick.text).keys()


def test_what_waits_for_rest_is_marked_and_the_answer_is_not(client: TestClient) -> None:
    """Only the drawing for paper and the rest of the card wait; what names them says so."""
    page = client.get("/wind").text
    waiting = re.findall(r'id="([\w-]+)" data-live data-later', page)
    assert sorted(waiting) == ["ball-drawn", "more"]


def test_the_answer_in_parts_is_that_of_the_card(demo_mill: Mill) -> None:
    """Settings, ball, call-out and the rule on ribbons are the same with the card and without."""
    asked = {"ball": "Querl 100", "wind_ratio": "20.1"}
    quick = open_wind(demo_mill, asked, "metric", whole=False)
    whole = open_wind(demo_mill, asked, "metric")
    assert quick.card is None
    assert quick.ball is not None
    assert whole.card is not None
    for name in ("terms", "settings", "call_out_mass_g", "call_out_length_m", "call_out_scale_g"):
        assert getattr(quick.ball, name) == getattr(whole.card, name)
    assert quick.ball.answer.turns == whole.card.answer.turns
    for name in ("ribbon", "words", "nearest_safe_ratio", "unevenness", "diameters_mm"):
        assert getattr(quick.ball.coverage, name) == getattr(whole.card.coverage, name)
