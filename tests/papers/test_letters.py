"""Characters the PDF's letters lack are written by code, and long words may be broken."""

from __future__ import annotations

import pytest

from clew.papers.letters import printable


@pytest.mark.parametrize(
    "text",
    [
        "Querl 100",
        "Łódź, Žižkov, Ørsted",
        "Пряжа",
        "Νήμα",
        "צמר",
        "صوف",
        '#*$[]{}"\\@<>&',
        "20 °C ± 1",
        "Combien\u00a0: 1\u202f840\u00a0€\u202f?",
    ],
)
def test_what_the_letters_have_is_left_alone(text: str) -> None:
    assert printable(text) == text


def test_a_missing_character_is_written_by_its_code() -> None:
    assert printable("藍-207") == "[U+85CD]-207"
    assert printable("Wool 🧶") == "Wool [U+1F9F6]"


def test_two_names_in_missing_characters_stay_apart() -> None:
    assert printable("藍 1") != printable("紅 1")


def test_a_long_text_of_missing_characters_keeps_its_length_in_boxes() -> None:
    assert printable("藍" * 9).replace("\u200b", "") == "□" * 9


def test_a_long_word_may_be_broken_and_a_short_one_not() -> None:
    assert printable("x" * 24) == "x" * 24
    assert printable("x" * 25) == "x" * 12 + "\u200b" + "x" * 12 + "\u200b" + "x"


def test_line_breaks_and_direction_marks_are_shown_and_not_obeyed() -> None:
    assert printable("a\nb\u202ec") == "a[U+000A]b[U+202E]c"
