"""The mill is frozen, keeps units in its names, and holds together however it is made."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from clew.faults import BadInput
from clew.mill import Mill, mill_from_text
from clew.mill.balls import Packing, TiltPoint
from clew.mill.fields import file_key
from clew.mill.lines import Winder
from clew.mill.lots import Cielab
from clew.mill.yarns import FibreBlend, FibreShare

SOUND = (Path(__file__).parent / "sound.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def mill() -> Mill:
    return mill_from_text(SOUND)


@pytest.mark.parametrize(
    ("field", "key"),
    [
        ("declared_mass_g", "declared_mass"),
        ("mandrel_width_mm", "mandrel_width"),
        ("feed_speed_m_per_s", "feed_speed"),
        ("pack_density_kg_m3", "pack_density"),
        ("modulus_cn_per_tex", "modulus"),
        ("regain_out_sd_frac", "regain_out_sd"),
        ("breaks_per_km", "breaks"),
        ("count_spun_cv", "count_spun_cv"),
        ("turns_per_count", "turns_per_count"),
        ("name", "name"),
    ],
)
def test_a_key_in_the_file_is_the_fields_name_without_its_unit(field: str, key: str) -> None:
    assert file_key(field) == key


def test_a_price_for_a_kilogram_keeps_its_unit_in_the_key(mill: Mill) -> None:
    assert mill.prices.yarn_per_kg == 18.0


def test_quantities_are_kept_in_the_inside_unit(mill: Mill) -> None:
    line, ball = mill.line[0], mill.ball[0]
    assert line.feed_speed_m_per_s == pytest.approx(5.0)
    assert line.belt_width_mm == 500.0
    assert line.crew_break_s == 900.0
    assert ball.mandrel_diameter_mm == 30.0
    assert ball.tilt[1] == TiltPoint(turn=160, tilt="46°")
    assert ball.packing == Packing(balls_per_bag=10, bags_per_case=8, cases_per_pallet=1)
    assert line.winder[1] == Winder(number=2, lane=2, counter_on="ball", turns_per_count=0.1)
    assert mill.safety.first_aid == "your first-aider"


def test_a_quantity_may_be_written_in_either_system() -> None:
    yards = (
        SOUND.replace('"210 m"', '"230 yd"')
        .replace('"2 kg"', '"4.4 lb"')
        .replace('"100 °C"', '"212 °F"')
    )
    read = mill_from_text(yards)
    assert read.ball[0].declared_length_m == pytest.approx(230 * 0.9144)
    assert read.yarn[1].cone_mass_g == pytest.approx(4.4 * 453.59237)
    assert read.line[0].steam_temperature_c == pytest.approx(100.0)


def test_nothing_changes_after_reading(mill: Mill) -> None:
    holders: list[tuple[Any, str]] = [
        (mill, "yarn"),
        (mill.ball[0], "declared_mass_g"),
        (mill.line[0].winder[0], "lane"),
    ]
    for holder, name in holders:
        with pytest.raises(ValidationError, match="frozen"):
            setattr(holder, name, 1)
    assert isinstance(mill.ball, tuple)
    assert hash(mill) == hash(mill_from_text(SOUND))


def test_a_section_made_by_hand_must_hold_together_too() -> None:
    """What a reader of files refuses, no other way of making a section lets through."""
    half = FibreShare(fibre="cotton", share="50 %")
    with pytest.raises(ValidationError, match="shares that do not fill the blend"):
        FibreBlend(name="half", fibres=(half,))
    with pytest.raises(ValidationError, match="a fibre named twice"):
        FibreBlend(name="halves", fibres=(half, half))
    with pytest.raises(ValidationError, match="counter_in"):
        Winder(number=1, lane=1, counter_in="flyer")
    assert Cielab(lightness=50, a=0, b=0).lightness == 50.0


def test_a_mill_without_colours_and_orders_is_a_mill() -> None:
    start, end = SOUND.index("[[colour]]"), SOUND.index("[prices]")
    read = mill_from_text(SOUND[:start] + SOUND[end:])
    assert (read.colour, read.order) == ((), ())


def test_entries_are_found_by_name_whatever_the_capitals(mill: Mill) -> None:
    assert mill.find_ball(" fell 100 ").name == "Fell 100"
    assert mill.find_yarn("MERE").name == "Mere"
    assert mill.find_blend("pure cotton").fibres[0].fibre == "cotton"
    assert mill.find_line("").name == "Line 1"
    colour, lot = mill.find_dye_lot("so-11")
    assert (colour.name, lot.lot) == ("Soot", "SO-11")


def test_what_is_not_there_is_told_with_what_is(mill: Mill) -> None:
    finders: list[tuple[Any, str]] = [
        (mill.find_ball, "one of Fell 100, Mere 50"),
        (mill.find_yarn, "one of Fell, Mere"),
        (mill.find_blend, "one of wool and nylon, pure cotton"),
        (mill.find_line, "one of Line 1"),
        (mill.find_dye_lot, "one of LI-01, LI-02, SO-11"),
    ]
    for find, expected in finders:
        with pytest.raises(BadInput) as bad:
            find("Nobody")
        (fault,) = bad.value.faults
        assert (fault.value, fault.expected) == ("'Nobody'", expected)


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ('shrink_sd = "0.5 %"', 'shrink_sd = "18 %"', "shrink_sd", "too wide to mean"),
        ('tension_sd = "3 cN"', 'tension_sd = "30 cN"', "tension_sd", "varies down to nothing"),
        ('pack_density_cv = "2 %"', 'pack_density_cv = "25 %"', "pack_density_cv", "too large"),
        ('regain_in = "9 %"', 'regain_in = "300 %"', "regain_in", "above 150 %"),
    ],
)
def test_a_spread_or_a_regain_that_cannot_be_meant_is_refused(
    demo_text: str, old: str, new: str, key: str, words: str
) -> None:
    with pytest.raises(BadInput) as caught:
        mill_from_text(demo_text.replace(old, new, 1))
    (fault,) = caught.value.faults
    assert fault.key == key
    assert words in fault.what
