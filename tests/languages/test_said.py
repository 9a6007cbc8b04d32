"""What is said is English text, and can be said again."""

from __future__ import annotations

import copy
import json
import pickle
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pseudo import Bracketed

from clew.languages import (
    figure,
    first_lower,
    first_upper,
    joined,
    say,
    say_many,
    speaking,
    spoken,
    told_again,
    weekday_moment,
)


def test_english_is_the_text_itself() -> None:
    words = say("Winder {winder} runs {mass} heavy", winder=4, mass=figure("1.8 g"))
    assert words == "Winder 4 runs 1.8 g heavy"
    assert json.dumps({"words": words}) == '{"words": "Winder 4 runs 1.8 g heavy"}'
    assert {words: 1}["Winder 4 runs 1.8 g heavy"] == 1


def test_it_is_said_again_with_all_it_holds() -> None:
    turns = say_many("{n} turn", "{n} turns", 13)
    mass = figure("1.8 g")
    words = say("Take off {turns}: {mass} of {share:.1f} %", turns=turns, mass=mass, share=2.5)
    with speaking(Bracketed()):
        assert spoken(words) == "⟦Take off ⟦⟦13⟧ turns⟧: ⟦1,8 g⟧ of ⟦2,5⟧ %⟧"


@pytest.mark.parametrize(("count", "words"), [(1, "1 cone"), (0, "0 cones"), (2, "2 cones")])
def test_one_and_many(count: int, words: str) -> None:
    assert say_many("{n} cone", "{n} cones", count) == words


def test_added_text_and_joined_texts_are_kept() -> None:
    words = "A: " + say("b") + ", " + joined(" and ", [say("c"), "d"])
    assert words == "A: b, c and d"
    with speaking(Bracketed()):
        assert spoken(words) == "A: ⟦b⟧, ⟦c⟧ and d"


def test_the_first_letter_is_put_after_the_language() -> None:
    with speaking(Bracketed()):
        assert spoken(first_upper(say("dry"))) == "⟦dry⟧"
    assert first_upper(say("dry")) == "Dry"
    assert first_lower(say("Dry")) == "dry"


def test_nouns_stay_large_where_the_language_writes_them_so() -> None:
    class Noun(Bracketed):
        def message(self, english: str) -> str:
            return "Spule"

    with speaking(Noun()):
        assert spoken(first_lower(say("Cone"))) == "Spule"


def test_only_pieces_are_changed_never_messages() -> None:
    words = say("{low} to {high}", low=figure("1 g"), high=figure("2 g"))
    changed = told_again(words, lambda part: part.replace(" ", "_"))
    assert changed == "1_g to 2_g"


@pytest.mark.parametrize(
    "text",
    [
        say("{a} of {b:.1f}", a="x", b=1.5),
        say_many("{n} ball", "{n} balls", 2),
        figure("1.5 g"),
        joined("; ", ["a", say("b")]),
        first_upper(say("b")),
        weekday_moment(datetime(2026, 11, 26, 5, 40)),
    ],
)
def test_it_survives_copies_and_other_processes(text: str) -> None:
    for again in (copy.deepcopy(text), pickle.loads(pickle.dumps(text))):
        assert again == text
        with speaking(Bracketed()):
            assert spoken(again) == spoken(text)


@given(st.text(), st.text())
def test_what_fills_a_place_is_never_read_as_a_message(name: str, value: str) -> None:
    words = say("{name}: {value}", name=name, value=value)
    assert words == f"{name}: {value}"
    with speaking(Bracketed()):
        assert spoken(words) == f"⟦{name}: {value}⟧"


def test_plain_text_is_left_alone() -> None:
    with speaking(Bracketed()):
        assert spoken("Querl 100") == "Querl 100"
        assert spoken(1.5) == 1.5


def test_a_place_cannot_reach_into_what_fills_it() -> None:
    with pytest.raises(KeyError):
        say("{a.__class__}", b="x")
