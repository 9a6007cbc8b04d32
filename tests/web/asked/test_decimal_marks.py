"""Numbers are typed and shown with the reader's decimal mark; an address serves everybody."""

from __future__ import annotations

import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from clew.faults import BadInput
from clew.languages import LANGUAGES, speaking, spoken, tongue_of
from clew.mill.model import Mill
from clew.quantities import UnitSystem
from clew.web.asked.decimal_marks import with_any_point
from clew.web.asked.entries import Entry, read_entries
from clew.web.heat.page import FEED
from clew.web.wind.page import OF_BALL

STANDS_FOR = {"target_mass_g": 100.0, "target_length_m": 200.0}
COMMAS = [code for code in LANGUAGES if tongue_of(code).decimal == ","]


def entry_of(mill: Mill, key: str, text: str, units: UnitSystem = "metric") -> tuple[float, Entry]:
    tried, entries, _ = read_entries(
        OF_BALL, mill.ball[0], {key: text}, units, stands_for=STANDS_FOR
    )
    (asked,) = (one for one in OF_BALL if one.key == key)
    (entry,) = (one for one in entries if one.key == key)
    return getattr(tried, asked.field), entry


def test_there_are_readers_of_commas() -> None:
    assert "de" in COMMAS


@pytest.mark.parametrize("language", COMMAS)
@pytest.mark.parametrize("typed", ["101,5 g", "101.5 g", "101,5", "101.5", "0,1015 kg"])
def test_a_reader_of_commas_types_a_comma_and_sees_one(
    demo_mill: Mill, language: str, typed: str
) -> None:
    with speaking(language):
        mass_g, entry = entry_of(demo_mill, "target_mass", typed)
        assert spoken(entry.text) == ("0,1015 kg" if "kg" in typed else "101,5 g")
    assert mass_g == pytest.approx(101.5)
    assert not entry.fault


@pytest.mark.parametrize(
    ("typed", "mass_g"), [("101,5 g", 101.5), ("101,5", 101.5), ("0,125 kg", 125.0)]
)
def test_an_address_with_a_comma_is_read_by_who_writes_a_point(
    demo_mill: Mill, typed: str, mass_g: float
) -> None:
    found, entry = entry_of(demo_mill, "target_mass", typed)
    assert found == pytest.approx(mass_g)
    assert "." in entry.text
    assert not entry.fault


@pytest.mark.parametrize(("language", "typed"), [("de", "1.500 m"), ("en", "1,500 m")])
def test_a_number_that_can_be_read_two_ways_is_asked_about(
    demo_mill: Mill, language: str, typed: str
) -> None:
    with speaking(language):
        _, entry = entry_of(demo_mill, "target_length", typed)
        assert entry.fault
        assert spoken(entry.text) == typed


@pytest.mark.parametrize("typed", ["1.5,2 g", "1,2,3 g", "abc.def g"])
def test_what_cannot_be_read_stays_as_it_was_typed(demo_mill: Mill, typed: str) -> None:
    with speaking("de"):
        _, entry = entry_of(demo_mill, "target_mass", typed)
        assert spoken(entry.text) == typed
    assert entry.moved
    assert entry.fault


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("units", ["metric", "yard"])
def test_the_mill_files_own_text_moves_nothing_in_any_language(
    demo_mill: Mill, language: str, units: UnitSystem
) -> None:
    for written in LANGUAGES:
        for ball in demo_mill.ball:
            _, shown, _ = read_entries(OF_BALL, ball, {}, units, stands_for=STANDS_FOR)
            with speaking(written):
                typed = {one.key: spoken(one.mill_text) for one in shown}
            with speaking(language):
                tried, entries, faults = read_entries(
                    OF_BALL, ball, typed, units, stands_for=STANDS_FOR
                )
            assert tried == ball
            assert not faults
            assert not any(one.moved for one in entries)


@given(number=st.decimals(0, 99999, places=4, allow_nan=False), language=st.sampled_from(COMMAS))
def test_both_readers_read_a_comma_alike_or_the_english_one_is_asked(
    number: object, language: str
) -> None:
    plain = f"{number:f}".rstrip("0").rstrip(".")
    typed = plain.replace(".", ",")
    with speaking(language):
        assert with_any_point(typed) == plain
    assert with_any_point(typed) in (plain, typed)
    if "." in plain and len(plain.partition(".")[2]) != 3:
        assert with_any_point(typed) == plain


def test_thousands_are_never_guessed() -> None:
    assert with_any_point("1,500 m") == "1,500 m"
    assert with_any_point("1,500,000 m") == "1,500,000 m"
    with speaking("de"), pytest.raises(BadInput):
        with_any_point("1.500 m")


def test_a_page_writes_commas_into_its_fields_and_points_into_its_sliders(
    client: TestClient,
) -> None:
    client.cookies.set("clew_language", "de")
    page = client.get("/wind", params={"target_mass": "101,5 g", "wind_ratio": "20,25"}).text
    fields = {
        found["key"]: found[0]
        for found in re.finditer(r'<input type="text" id="(?P<key>\w+)"[^>]*>', unescape(page))
    }
    assert 'value="101,5 g"' in fields["target_mass"]
    assert 'value="20,25"' in fields["wind_ratio"]
    assert re.search(r'data-place="101\.5"', fields["target_mass"])
    steps = re.findall(r'data-(?:low|high|step|place)="([^"]*)"', " ".join(fields.values()))
    assert len(steps) == 4 * len(fields)
    assert all(float(one) >= 0.0 for one in steps)
    own = re.findall(r'data-mill="([^"]*)"', fields["wind_ratio"])
    assert "," in own[0]
    assert '<html lang="de" data-decimal=","' in page


def test_a_bare_number_of_a_reader_of_commas_gets_the_fields_unit(demo_mill: Mill) -> None:
    line = demo_mill.line[0]
    with speaking("de"):
        tried, (entry,), _ = read_entries((FEED,), line, {"feed_speed": "310,5"}, "metric")
        assert spoken(entry.text) == "310,5 m/min"
    assert getattr(tried, FEED.field) == pytest.approx(310.5 / 60.0)
