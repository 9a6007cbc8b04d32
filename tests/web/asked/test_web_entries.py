"""Inputs to try are read by the mill file's own rules and shown with a slider that fits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.quantities import MASS, UnitSystem, read_quantity
from clew.web.asked.entries import Asked, mill_text, read_entries
from clew.web.creel.page import COUNT
from clew.web.heat.page import BELT, FEED, REGAIN
from clew.web.wind.page import OF_BALL

STANDS_FOR = {"target_mass_g": 100.0, "target_length_m": 200.0}


def test_nothing_typed_is_the_mill_files_value(demo_mill: Mill) -> None:
    ball = demo_mill.ball[0]
    tried, entries, faults = read_entries(OF_BALL, ball, {}, "metric", stands_for=STANDS_FOR)
    assert tried == ball
    assert not faults
    assert not any(entry.moved or entry.fault for entry in entries)
    assert [entry.text for entry in entries] == [entry.mill_text for entry in entries]


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize("typed_in", ["metric", "yard"])
def test_the_mill_files_own_text_in_either_system_changes_nothing(
    demo_mill: Mill, units: UnitSystem, typed_in: UnitSystem
) -> None:
    ball = demo_mill.ball[0]
    values = {one.field: getattr(ball, one.field) or STANDS_FOR[one.field] for one in OF_BALL}
    typed = {one.key: mill_text(one, values[one.field], typed_in) for one in OF_BALL}
    tried, entries, _ = read_entries(OF_BALL, ball, typed, units, stands_for=STANDS_FOR)
    assert tried == ball
    assert not any(entry.moved for entry in entries)


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_and_never_breaks(demo_mill: Mill, text: str) -> None:
    ball = demo_mill.ball[0]
    for one in OF_BALL:
        tried, entries, faults = read_entries(
            OF_BALL, ball, {one.key: text}, "metric", stands_for=STANDS_FOR
        )
        assert isinstance(tried, Ball)
        assert bool(faults) == any(entry.fault for entry in entries)


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_a_slider_holds_the_mill_files_value_and_writes_what_can_be_read(
    demo_mill: Mill, units: UnitSystem
) -> None:
    for ball in demo_mill.ball:
        _, entries, _ = read_entries(OF_BALL, ball, {}, units, stands_for=STANDS_FOR)
        for entry in entries:
            slider = entry.slider
            low, high, place = float(slider.low), float(slider.high), float(slider.place)
            assert low <= place <= high
            assert float(slider.step) > 0
            assert 20 <= (high - low) / float(slider.step) <= 2000
        mass = next(entry for entry in entries if entry.key == "target_mass").slider
        assert read_quantity(f"{mass.high} {mass.unit}", MASS) > ball.declared_mass_g


def test_a_fault_is_the_mill_files_own_words(demo_mill: Mill) -> None:
    """The page refuses a target below the declaration as the file does."""
    _, entries, faults = read_entries(
        OF_BALL, demo_mill.ball[0], {"target_mass": "99 g"}, "metric", stands_for=STANDS_FOR
    )
    assert faults[0].what == "a target below the declared mass"
    assert "100 g or more" in next(entry.fault for entry in entries if entry.fault)


@pytest.mark.parametrize(
    ("units", "typed", "m_per_s", "text"),
    [
        ("metric", "310", 310 / 60, "310 m/min"),
        ("metric", " 310. ", 310 / 60, "310. m/min"),
        ("yard", "310", 310 * 0.9144 / 60, "310 yd/min"),
        ("metric", "310 yd/min", 310 * 0.9144 / 60, "310 yd/min"),
        ("yard", "5 m/s", 5.0, "5 m/s"),
    ],
)
def test_a_bare_number_is_in_the_unit_that_the_field_shows(
    demo_mill: Mill, units: UnitSystem, typed: str, m_per_s: float, text: str
) -> None:
    tried, (entry,), faults = read_entries((FEED,), demo_mill.line[0], {"feed_speed": typed}, units)
    assert not faults
    assert getattr(tried, FEED.field) == pytest.approx(m_per_s)
    assert entry.text == text
    assert entry.moved


def test_a_clash_with_what_is_no_input_stands_beside_what_was_typed(demo_mill: Mill) -> None:
    typed = {"tension": "0 cN"}
    _, entries, (fault,) = read_entries(
        OF_BALL, demo_mill.ball[0], typed, "metric", stands_for=STANDS_FOR
    )
    assert (fault.key, fault.value) == ("tension", "'0 cN'")
    assert [one.key for one in entries if one.fault] == ["tension"]


def test_a_bare_number_of_the_mill_file_moves_nothing_and_a_bad_one_is_refused(
    demo_mill: Mill,
) -> None:
    line, yarn = demo_mill.line[0], demo_mill.yarn[0]
    tried, (entry,), _ = read_entries((FEED,), line, {"feed_speed": "300"}, "metric")
    assert tried == line
    assert not entry.moved
    _, _, (fault,) = read_entries((FEED,), line, {"feed_speed": "-5"}, "metric")
    assert fault.what == "a speed cannot be negative"
    counted, _, _ = read_entries((COUNT,), yarn, {"count": "410"}, "metric")
    assert getattr(counted, COUNT.field) == pytest.approx(410.0)
    ratio = next(one for one in OF_BALL if one.kind == "number")
    _, (plain,), _ = read_entries((ratio,), demo_mill.ball[0], {ratio.key: "20.5"}, "metric")
    assert plain.text == "20.5"


@pytest.mark.parametrize(
    ("asked", "section", "expected"),
    [
        (REGAIN, "yarn", "a regain such as 9.5 %"),
        (BELT, "line", "a speed such as 1.1 m/min"),
        (FEED, "line", "a speed such as 300 m/min"),
        (COUNT, "yarn", "a count such as 400 tex"),
    ],
)
def test_the_example_in_a_fault_is_the_fields_own_value(
    demo_mill: Mill, asked: Asked, section: str, expected: str
) -> None:
    have = getattr(demo_mill, section)[0]
    _, _, (fault,) = read_entries((asked,), have, {asked.key: "dry"}, "metric")
    assert (fault.what, fault.expected) == ("not a quantity", expected)
