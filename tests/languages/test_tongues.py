"""Marks, plurals and dates are those of the Unicode CLDR; catalogues are sound."""

from __future__ import annotations

import io
import string
from datetime import datetime
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from clew.languages import (
    DEFAULT,
    LANGUAGES,
    figure,
    say,
    say_many,
    speaking,
    spoken,
    tongue,
    weekday,
)
from clew.languages.gather import CATALOGUES, SOURCE, template_of, updated, written

OTHERS = tuple(code for code in LANGUAGES if code != DEFAULT)


@pytest.mark.parametrize("code", OTHERS)
def test_a_decimal_comma_is_written(code: str) -> None:
    with speaking(code):
        assert spoken(figure("101.3 g")) == "101,3 g"
        assert spoken(say("{x:.2f}", x=0.25)) == "0,25"


@pytest.mark.parametrize(
    ("count", "written"),
    [
        (1, {"de": "1 Umdrehung", "fr": "1 tour", "es": "1 vuelta"}),
        (0, {"de": "0 Umdrehungen", "fr": "0 tour", "es": "0 vueltas"}),
        (1.5, {"de": "1,5 Umdrehungen", "fr": "1,5 tour", "es": "1,5 vueltas"}),
        (2.5, {"de": "2,5 Umdrehungen", "fr": "2,5 tours", "es": "2,5 vueltas"}),
        (float("inf"), {"de": "inf Umdrehungen", "fr": "inf tours", "es": "inf vueltas"}),
    ],
)
def test_a_part_of_a_thing_is_counted_as_the_language_does(
    count: float, written: dict[str, str]
) -> None:
    turns = say_many("{n:.4g} turn", "{n:.4g} turns", count)
    for code, text in written.items():
        with speaking(code):
            assert spoken(turns) == text


def test_the_language_is_given_back() -> None:
    assert tongue().code == DEFAULT
    with pytest.raises(ZeroDivisionError), speaking("de"):
        assert tongue().code == "de"
        raise ZeroDivisionError
    assert tongue().code == DEFAULT


def test_a_day_is_written_in_the_language() -> None:
    when = datetime(2026, 11, 26)
    assert weekday(when) == "Thu 26 Nov"
    with speaking("de"):
        assert spoken(weekday(when)) == "Do., 26. Nov."
    with speaking("fr"):
        assert spoken(weekday(when)) == "jeu. 26 nov."


def _places(message: str) -> set[str]:
    return {
        f"{name}:{spec}" if spec else name
        for _, name, spec, _ in string.Formatter().parse(message)
        if name is not None
    }


@pytest.mark.parametrize("code", OTHERS)
def test_every_translation_has_the_places_of_its_message(code: str) -> None:
    catalogue = read_po(io.BytesIO((CATALOGUES / f"{code}.po").read_bytes()), locale=code)
    for message in catalogue:
        if not message.id:
            continue
        english = message.id if isinstance(message.id, str) else message.id[1]
        told = [message.string] if isinstance(message.string, str) else list(message.string)
        for text in filter(None, told):
            lost = _places(english) ^ _places(text)
            assert lost <= ({"n"} if len(told) > 1 else set()), (english, text)


def test_the_catalogues_hold_what_the_program_says() -> None:
    """`python -m clew.languages.gather` was run after the last change of a message."""
    template = template_of(SOURCE)
    assert (CATALOGUES / "clew.pot").read_text("utf-8") == written(template)
    for code in OTHERS:
        text = (CATALOGUES / f"{code}.po").read_text("utf-8")
        assert text == written(updated(code, template, text)), code


def test_a_new_message_is_added_and_an_old_translation_kept(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text('say("Wind")\nsay_many("{n} ball", "{n} balls", 2)\n')
    first = written(updated("de", template_of(tmp_path), ""))
    first = first.replace('msgid "Wind"\nmsgstr ""', 'msgid "Wind"\nmsgstr "Wickeln"')
    (tmp_path / "a.py").write_text('say("Wind")\nsay("Dry")\n')
    (tmp_path / "b.html").write_text('{{ say("Steam") }}')
    second = updated("de", template_of(tmp_path), first)
    found = {one.id: one.string for one in second if one.id}
    assert found == {"Wind": "Wickeln", "Dry": "", "Steam": ""}


def test_a_message_that_is_counted_from_now_on_is_translated_anew(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text('say("{n} pulled", n=2)\n')
    first = written(updated("fr", template_of(tmp_path), ""))
    first = first.replace('msgid "{n} pulled"\nmsgstr ""', 'msgid "{n} pulled"\nmsgstr "{n} x"')
    (tmp_path / "a.py").write_text('say_many("{n} pulled", "{n} pulled", 2)\n')
    (counted,) = [one for one in updated("fr", template_of(tmp_path), first) if one.id]
    assert counted.id == ("{n} pulled", "{n} pulled")
    assert not any(counted.string)
