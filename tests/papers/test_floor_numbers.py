"""Numbers on the card: the places a hand can use, in either system, and no loss beyond them."""

from __future__ import annotations

from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.papers import floor_numbers as floor
from clew.quantities import LENGTH, MASS, read_quantity

Units = Literal["metric", "yard"]


@given(st.floats(0.5, 2000.0))
def test_a_mass_reads_back_to_half_its_last_place(mass_g: float) -> None:
    assert read_quantity(floor.mass(mass_g, "metric"), MASS) == pytest.approx(mass_g, abs=0.0501)
    assert read_quantity(floor.mass(mass_g, "yard"), MASS) == pytest.approx(
        mass_g, abs=0.00501 * 28.35
    )


@given(st.floats(0.5, 5000.0))
def test_a_length_reads_back_to_half_its_last_place(length_m: float) -> None:
    assert read_quantity(floor.length(length_m, "metric"), LENGTH) == pytest.approx(
        length_m, abs=0.0501
    )
    assert read_quantity(floor.length(length_m, "yard"), LENGTH) == pytest.approx(
        length_m, abs=0.0501
    )


def test_figures_of_a_column_keep_their_noughts() -> None:
    assert floor.mass(100.0, "metric") == "100.0 g"
    assert floor.mass(100.0, "yard") == "3.53 oz"
    assert floor.length(182.88, "yard") == "200.0 yd"
    assert floor.mass_range(94.04, 108.96, "metric") == "94.0 to 109.0 g"
    assert floor.length_range(190.0, 210.0, "metric") == "190.0 to 210.0 m"


def test_a_negative_is_written_with_a_minus_and_a_nought_without() -> None:
    assert floor.mass(-1.26, "metric") == "−1.3 g"
    assert floor.mass(-0.01, "metric") == "0.0 g"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (floor.temperature(100.0, "yard"), "212 °F"),
        (floor.temperature(95.0, "metric"), "95 °C"),
        (floor.speed(5.0, "metric"), "300 m/min"),
        (floor.speed(5.0, "yard"), "328 yd/min"),
        (floor.belt_length(1.4, "yard"), "4.6 ft"),
        (floor.pressure(40.0, "metric"), "40 kPa"),
        (floor.pitch(1.84, "metric"), "1.84 mm"),
        (floor.tension(40.0, "metric"), "40 cN"),
        (floor.percent(0.25, 1), "25.0 %"),
        (floor.seconds(76.4), "76 s"),
        (floor.longest(150.9), "150 s"),
        (floor.longest(150.0), "150 s"),
        (floor.size_figure(85.6, "metric"), "86"),
        (floor.size_figure(25.4, "yard"), "1.00"),
        (floor.lift(12_000.0, "metric"), "12 kg"),
        (floor.lift(12_499.0, "metric"), "12.4 kg"),
    ],
)
def test_settings_are_printed_in_a_few_figures(text: str, expected: str) -> None:
    assert text == expected
