"""Decimal commas are read, and never guessed at."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.quantities import LENGTH, MASS, read_quantity
from clew.quantities.marks import with_point


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("1,5 kg", "1.5 kg"),
        ("0,25", "0.25"),
        ("1.5 kg", "1.5 kg"),
        ("12", "12"),
        ("330 m", "330 m"),
        ("2.5000", "2.5000"),
        ("-3,25 %", "-3.25 %"),
        ("Nm 2,5", "Nm 2.5"),
        ("1,500 m", "1.500 m"),
        ("abc", "abc"),
        ("", ""),
    ],
)
def test_a_comma_is_a_decimal_mark(typed: str, read: str) -> None:
    assert with_point(typed, ",") == read


@pytest.mark.parametrize("typed", ["1.500 m", "12.345", "1.234.567"])
def test_what_can_be_read_two_ways_is_asked_about(typed: str) -> None:
    with pytest.raises(BadInput, match="two ways"):
        with_point(typed, ",")


@pytest.mark.parametrize(("typed", "plain"), [("1.234,5 g", "1234,5"), ("1,234,567", "1234,567")])
def test_marks_between_thousands_are_refused(typed: str, plain: str) -> None:
    with pytest.raises(BadInput, match=plain):
        with_point(typed, ",")


@given(st.text(max_size=30))
def test_a_reader_of_points_is_read_as_typed(typed: str) -> None:
    assert with_point(typed, ".") == typed


@given(st.integers(0, 99999), st.integers(1, 4))
def test_what_is_written_with_a_comma_reads_back(whole: int, places: int) -> None:
    value = whole / 10**places
    typed = f"{value:.{places}f}".replace(".", ",")
    assert read_quantity(f"{with_point(typed, ',')} g", MASS) == pytest.approx(value)
    assert read_quantity(f"{with_point(typed, ',')} m", LENGTH) == pytest.approx(value)
