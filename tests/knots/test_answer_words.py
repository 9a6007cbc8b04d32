"""How many such balls a year are told: the number, and the word that goes with it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.knots.answer import BuyerAnswer, ReturnedBall, answer_buyer
from clew.knots.answer_words import usual_sentence
from clew.knots.cutting import FirstRule
from clew.knots.price import Band
from clew.knots.sources import Sources


@pytest.fixture(scope="module")
def answer() -> BuyerAnswer:
    return answer_buyer(ReturnedBall(Sources(0.001), FirstRule(200.0, 2, 5.0, 0.1), 2))


@pytest.mark.parametrize(
    ("year", "words"),
    [
        (Band(1.0, 1.0, 1.0), "That is 1 ball a year as wound."),
        (Band(12.0, 12.0, 12.0), "That is 12 balls a year as wound."),
        (Band(0.4, 1.04, 2.6), "That is 1 ball a year as wound (0.4 to 2.6)."),
        (Band(0.4, 0.7, 1.0), "That is 0.7 balls a year as wound (0.4 to 1)."),
        (Band(8.0, 12.0, 340.0), "That is 12 balls a year as wound (8 to 340)."),
    ],
)
def test_only_one_ball_a_year_is_told_as_one(answer: BuyerAnswer, year: Band, words: str) -> None:
    assert usual_sentence(answer).endswith("many or more.")
    assert usual_sentence(replace(answer, exactly_a_year=year)).endswith(f" {words}")
