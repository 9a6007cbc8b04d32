"""Answers for programs: the agreed keys, plain values, units in every key, nothing too long."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from clew.ball.from_mill import terms_of
from clew.ball.plain import MOST_POINTS, turns_plain, yarn_plain
from clew.ball.turns import TurnsAnswer, set_turns
from clew.ball.yarn_answer import yarn_answer
from clew.mill.model import Mill

AGREED = {
    "turns", "mass_g", "length_m", "binding", "mass_g_interval", "length_m_interval",
    "length_per_turn_mm_first", "length_per_turn_mm_last",
}  # fmt: skip
WITHOUT_UNIT = {
    "turns", "turn", "turns_for_mass", "turns_for_length", "confidence", "cones", "category",
    "category_near", "intraclass_correlation", "sample_balls_of_one_cone", "sample_worth_balls",
}  # fmt: skip
UNIT = re.compile(
    r"_(g|kg|m|mm|mm2|mm3|tex|frac|deg|cn|share|sd|elasticity|per_100g)(_interval|_first|_last)?$"
    r"|_m_per_100g$"
)


@pytest.fixture(scope="module")
def answer(demo_mill: Mill) -> TurnsAnswer:
    terms = terms_of(demo_mill, "Querl 100", "SL-207")
    return set_turns(terms.strand, terms.promise, terms.winding)


def numbers(plain: Any, key: str = "") -> list[tuple[str, float]]:
    if isinstance(plain, dict):
        return [found for name, value in plain.items() for found in numbers(value, name)]
    if isinstance(plain, list):
        return [found for value in plain for found in numbers(value, key)]
    is_number = isinstance(plain, int | float) and not isinstance(plain, bool)
    return [(key, float(plain))] if is_number else []


def test_the_agreed_keys_are_there_with_the_answers_values(answer: TurnsAnswer) -> None:
    plain = turns_plain(answer)
    assert set(plain) >= AGREED
    assert plain["turns"] == answer.turns
    assert plain["mass_g_interval"] == [answer.mass_g_interval.low, answer.mass_g_interval.high]
    assert plain["binding"] in ("mass", "length")
    assert plain["length_per_turn_mm_last"] == answer.length_per_turn_mm_last


def test_it_is_json_and_every_number_says_its_unit(answer: TurnsAnswer, demo_mill: Mill) -> None:
    yarn = demo_mill.yarn[0]
    for plain in (
        turns_plain(answer),
        yarn_plain(yarn_answer(yarn, demo_mill.find_blend(yarn.blend))),
    ):
        assert json.loads(json.dumps(plain, allow_nan=False)) == plain
        for key, _ in numbers(plain):
            assert key in WITHOUT_UNIT or UNIT.search(key), key


def test_arrays_are_thinned_and_keep_their_ends(answer: TurnsAnswer) -> None:
    build = turns_plain(answer)["build"]
    assert len(build["turn"]) == len(build["turn_length_mm"]) <= MOST_POINTS
    assert build["turn"][0] == 1
    assert build["turn"][-1] == answer.turns
    assert build["turn_length_mm"][0] == answer.length_per_turn_mm_first
    assert build["turn_length_mm"][-1] == answer.length_per_turn_mm_last
    assert len(build["latitude_deg"]) == len(build["radius_mm"]) <= MOST_POINTS


def test_a_latitude_that_no_strand_crosses_has_no_angle(answer: TurnsAnswer) -> None:
    build = turns_plain(answer)["build"]
    assert build["angle_of_wind_deg"][0] is None
    middle = build["angle_of_wind_deg"][len(build["angle_of_wind_deg"]) // 2]
    assert 0.0 < middle < 90.0
