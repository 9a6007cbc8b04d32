"""Quantities as people write them: read, refused, printed, read back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew import quantities as q
from clew.faults import BadInput


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("200 g", q.MASS, 200.0),
        ("7.05 oz", q.MASS, 7.05 * 28.349523125),
        ("1.6kg", q.MASS, 1600.0),
        ("330 m", q.LENGTH, 330.0),
        ("361 yd", q.LENGTH, 361 * 0.9144),
        (" 30 mm ", q.LENGTH, 0.03),
        ("1e3 m", q.LENGTH, 1000.0),
        ("20 %", q.FRACTION, 0.2),
        ("18.25%", q.GAIN, 0.1825),
        ("85 °C", q.TEMPERATURE, 85.0),
        ("212 °F", q.TEMPERATURE, 100.0),
        ("373.15 K", q.TEMPERATURE, 100.0),
        ("-5 °C", q.TEMPERATURE, -5.0),
        ("300 m/min", q.SPEED, 5.0),
        ("0.12 g/cm3", q.DENSITY, 120.0),
        ("8 gf", q.FORCE, 8 * 0.980665),
        ("45°", q.ANGLE, 45.0),
        ("0.4 per km", q.PER_LENGTH, 0.4),
        ("40 /100 km", q.PER_LENGTH, 0.4),
        ("4 tpi", q.TWIST, 4 / 0.0254),
        ("8 h", q.TIME, 28800.0),
        ("0.2 bar", q.PRESSURE, 20.0),
        ("84 dB(A)", q.NOISE, 84.0),
    ],
)
def test_reads_what_people_write(text: str, kind: q.Kind, value: float) -> None:
    assert q.read_quantity(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("200", q.MASS, "a number without a unit"),
        (200, q.MASS, "a number without a unit"),
        (True, q.MASS, "not a quantity"),
        (None, q.MASS, "not a quantity"),
        ("", q.MASS, "not a quantity"),
        ("heavy", q.MASS, "not a quantity"),
        ("nan g", q.MASS, "not a number"),
        ("inf g", q.MASS, "not a number"),
        ("1e999 g", q.MASS, "too large a number"),
        ("-3 m", q.LENGTH, "a length cannot be negative"),
        ("3 kg", q.LENGTH, "kg is a mass, not a length"),
        ("3 tex", q.LENGTH, "tex is a count, not a length"),
        ("3 furlongs", q.LENGTH, "no such unit of length"),
        ("1,5 kg", q.MASS, "a comma in a number"),
        ("1,000 m", q.LENGTH, "a comma in a number"),
        ("120 %", q.FRACTION, "a fraction above 100 %"),
        ("-1 %", q.FRACTION, "a fraction cannot be negative"),
        ("-300 °C", q.TEMPERATURE, "a temperature below -273.15 °C"),
        ("٣ g", q.MASS, "not a quantity"),
        ("3 g\x00", q.MASS, "not a quantity"),
        ("3 4 g", q.MASS, "no such unit of mass"),
    ],
)
def test_refuses_nonsense_in_one_plain_line(text: object, kind: q.Kind, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        q.read_quantity(text, kind)
    (fault,) = caught.value.faults
    assert fault.what.startswith(words)
    assert "such as" in fault.expected
    assert "\n" not in str(fault)


@pytest.mark.parametrize(
    ("text", "count_tex"),
    [
        ("400 tex", 400.0),
        ("Nm 2.5", 400.0),
        ("2.5 Nm", 400.0),
        ("0.4 ktex", 400.0),
        ("3600 den", 400.0),
    ],
)
def test_reads_counts_before_or_after_their_system(text: str, count_tex: float) -> None:
    assert q.read_count(text) == pytest.approx(count_tex, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["400", "0 tex", "-3 Nm", "400 g", "Nm", "tex tex", 400, "1e400 tex", "1e-320 Nm"]
)
def test_refuses_counts_that_cannot_be(text: object) -> None:
    with pytest.raises(BadInput):
        q.read_count(text)


@pytest.mark.parametrize("text", ["-0.0000000001 g", "-1e-300 kg", "-0.0000000001 m"])
def test_however_little_below_zero_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="cannot be negative"):
        q.read_quantity(text, q.LENGTH if text.endswith("m") else q.MASS)


@pytest.mark.parametrize(
    ("text", "kind", "end"),
    [
        ("-459.67 °F", q.TEMPERATURE, -273.15),
        ("0 K", q.TEMPERATURE, -273.15),
        ("-3.141592653589793 rad", q.ANGLE, -180.0),
        ("-0 m", q.LENGTH, 0.0),
        ("1000 ‰", q.FRACTION, 1.0),
    ],
)
def test_what_rounding_leaves_beyond_an_end_lies_on_it(text: str, kind: q.Kind, end: float) -> None:
    found = q.read_quantity(text, kind)
    assert found == end and math.copysign(1.0, found) == math.copysign(1.0, end)


@given(st.sampled_from(q.KINDS), st.data())
def test_every_unit_of_every_kind_prints_and_reads_back(kind: q.Kind, data: st.DataObject) -> None:
    low = max(kind.low, -1e6)
    value = data.draw(st.floats(low, min(kind.high, 1e6), allow_nan=False))
    unit = data.draw(st.sampled_from(sorted(kind.units)))
    printed = q.show(value, kind, unit=unit, digits=15)
    try:
        back = q.read_quantity(printed, kind)
    except BadInput:
        # a value on the edge of what can be meant may be rounded over it
        assert math.isclose(value, kind.low, abs_tol=1e-6) or math.isclose(
            value, kind.high, rel_tol=1e-6
        )
        return
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.text(max_size=40))
def test_no_text_is_a_traceback(text: str) -> None:
    for kind in (q.MASS, q.FRACTION, q.TEMPERATURE):
        try:
            assert math.isfinite(q.read_quantity(text, kind))
        except BadInput as bad:
            assert "\n" not in str(bad.faults[0])
    try:
        assert q.read_count(text) > 0
    except BadInput as bad:
        assert "\n" not in str(bad.faults[0])


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (200.0, 4, "200"),
        (0.2, 4, "0.2"),
        (1234567.0, 4, "1234567"),
        (7.0547923, 4, "7.055"),
        (0.0, 4, "0"),
        (-0.00001, 2, "-0.00001"),
        (99.996, 4, "100"),
    ],
)
def test_numbers_are_written_without_exponents(value: float, digits: int, text: str) -> None:
    assert q.number(value, digits) == text


def test_both_systems_print() -> None:
    assert q.show(200.0, q.MASS) == "200 g"
    assert q.show(200.0, q.MASS, "yard", digits=3) == "7.05 oz"
    assert q.show(330.0, q.LENGTH, "yard", digits=3) == "361 yd"
    assert q.show(0.2, q.FRACTION) == "20 %"
    assert q.show(85.0, q.TEMPERATURE, "yard") == "185 °F"
    assert q.show_count(500.0, "Nm") == "2 Nm"
