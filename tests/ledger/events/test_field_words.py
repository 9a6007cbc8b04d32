"""Settings as people say them."""

from __future__ import annotations

from clew.ledger.events.field_words import WITHOUT_UNIT, setting_words
from clew.ledger.events.kinds import KINDS


def test_a_setting_has_its_unit_behind_its_value() -> None:
    assert setting_words("target_g", "101.1") == ("mass aimed at", "101.1 g")
    assert setting_words("steam_c", "100") == ("steam", "100 °C")
    assert setting_words("counts", "1: 786") == ("counter setting, by winder", "1: 786")
    assert setting_words("weather", "fair") == ("weather", "fair")


def test_every_setting_has_words_without_a_bracket() -> None:
    for field in KINDS["run set"].fields:
        words, _ = setting_words(field.name, "1")
        assert words != field.name or field.name in field.words
        assert "[" not in words


def test_what_stands_without_its_unit_is_the_field_s_own_words() -> None:
    fields = {one.name: one for one in KINDS["run set"].fields}
    with_unit = {name: one.words.split(" [")[0] for name, one in fields.items() if "[" in one.words}
    assert with_unit == WITHOUT_UNIT
