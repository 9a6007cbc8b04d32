"""The count systems: round trips, order, and one mass and length seen through each of them."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.quantities import SYSTEMS, convert_count, count_system

COUNTS_TEX = st.floats(1e-3, 1e5)
SYSTEM_NAMES = [system.name for system in SYSTEMS]
PAIRS = [(a, b) for a in SYSTEM_NAMES for b in SYSTEM_NAMES]


@pytest.mark.parametrize(("unit", "to_unit"), PAIRS)
@settings(max_examples=20)
@given(count_tex=COUNTS_TEX)
def test_every_pair_of_units_comes_back(unit: str, to_unit: str, count_tex: float) -> None:
    value = convert_count(count_tex, "tex", unit)
    there = convert_count(value, unit, to_unit)
    assert convert_count(there, to_unit, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("system", SYSTEMS, ids=SYSTEM_NAMES)
@given(count_tex=COUNTS_TEX, thicker=st.floats(1.001, 100.0))
def test_a_thicker_yarn_has_a_larger_direct_and_a_smaller_indirect_count(
    system, count_tex: float, thicker: float
) -> None:
    thin, thick = system.from_tex(count_tex), system.from_tex(count_tex * thicker)
    assert thick > thin if system.direct else thick < thin


@pytest.mark.parametrize(
    ("unit", "length_m", "mass_g", "value"),
    [
        ("tex", 1000.0, 1.0, 1.0),
        ("dtex", 10_000.0, 1.0, 1.0),
        ("ktex", 1000.0, 1000.0, 1.0),
        ("mtex", 1000.0, 0.001, 1.0),
        ("den", 9000.0, 1.0, 1.0),
        ("Nm", 1.0, 1.0, 1.0),
        ("Ne", 840 * 0.9144, 453.59237, 1.0),
        ("NeK", 560 * 0.9144, 453.59237, 1.0),
        ("run", 1600 * 0.9144, 453.59237, 1.0),
        ("lea", 300 * 0.9144, 453.59237, 1.0),
        ("cut", 300 * 0.9144, 453.59237, 1.0),
        ("NeS", 256 * 0.9144, 453.59237, 1.0),
        ("gr", 120 * 0.9144, 453.59237 / 7000, 1.0),
        ("jute", 14_400 * 0.9144, 453.59237, 1.0),
        ("yd/lb", 0.9144, 453.59237, 1.0),
        ("m/kg", 1.0, 1000.0, 1.0),
    ],
)
def test_each_system_by_its_definition(unit, length_m, mass_g, value) -> None:
    """Count 1 is the mass on the length that the definition names."""
    assert convert_count(1000.0 * mass_g / length_m, "tex", unit) == pytest.approx(value, rel=1e-14)


def test_the_definitions_cover_every_system() -> None:
    marks = test_each_system_by_its_definition.pytestmark
    named = {row[0] for mark in marks if mark.name == "parametrize" for row in mark.args[1]}
    assert named == set(SYSTEM_NAMES)


def test_500_tex_in_the_words_of_the_trade() -> None:
    assert convert_count(500, "tex", "Nm") == 2.0
    assert convert_count(500, "tex", "yd/lb") == pytest.approx(992.109, abs=5e-4)


def test_names_and_aliases_name_one_system_each() -> None:
    words = [word for system in SYSTEMS for word in (system.name, *system.aliases)]
    for word in words:
        assert word in (count_system(word).name, *count_system(word).aliases)
    assert len(set(words)) == len(words)


@pytest.mark.parametrize("value", [0.0, -3.0, math.nan, math.inf])
def test_a_count_that_cannot_be_is_refused(value: float) -> None:
    with pytest.raises(BadInput, match="more than 0"):
        convert_count(value, "tex", "Nm")


def test_an_unknown_system_is_refused_with_the_known_ones() -> None:
    with pytest.raises(BadInput, match=r"no such count system.*tex, dtex"):
        convert_count(1.0, "tex", "furlong")
