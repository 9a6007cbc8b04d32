"""Sizes of a ball: ranges where nothing was measured, and what bounds them."""

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.size.constants import NAMES, ShapeConstants, ShapeValues, Span
from clew.ball.size.pressing import Press
from clew.ball.size.shape import Range, WoundSize, ball_shape, sizes_at
from clew.faults import BadInput

STATED = ShapeConstants()
PRESS = Press(60.0)
WOUND = WoundSize(92.0, 70.0, 30.0, 60.0)


def all_ranges(shape):
    """Every range of a shape that is not what was put in."""
    parts = [shape.off_mandrel, shape.relaxed, *([shape.pressed] if shape.pressed else [])]
    return [getattr(part, field.name) for part in parts for field in dataclasses.fields(part)]


def test_without_measurements_no_single_number_is_given():
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, STATED, press=PRESS)
    assert not shape.measured
    assert "Trend only" in shape.caution
    for size in all_ranges(shape):
        assert size.central is None
        assert size.low < size.high


def test_what_was_wound_is_known():
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, STATED)
    assert shape.on_mandrel.diameter_mm == Range(92.0, 92.0, 92.0)
    assert shape.pressed is None


def in_range(name):
    span = STATED.span(name)
    return st.floats(span.low, span.high)


@settings(max_examples=40, deadline=None)
@given(st.fixed_dictionaries({name: in_range(name) for name in NAMES}))
def test_every_set_of_constants_within_the_stated_ranges_stays_within_the_sizes(values):
    """The corners that are computed do bound what lies between them (to 0.02 mm)."""
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, STATED, press=PRESS)
    ranges = [
        *(getattr(shape.off_mandrel, f.name) for f in dataclasses.fields(shape.off_mandrel)),
        *(getattr(shape.relaxed, f.name) for f in dataclasses.fields(shape.relaxed)),
        shape.slack_frac,
        *(getattr(shape.pressed, f.name) for f in dataclasses.fields(shape.pressed)),
    ]
    sizes = sizes_at(WOUND, ShapeValues(**values), PRESS)
    for size, span in zip(sizes, ranges, strict=True):
        assert span.low - 0.02 <= size <= span.high + 0.02


def test_a_ball_between_wound_and_off_the_mandrel_shrinks_its_bore():
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, STATED)
    assert shape.off_mandrel.bore_mm.high < 30.0
    assert shape.off_mandrel.diameter_mm.high <= 92.0


@pytest.mark.parametrize("name", NAMES)
def test_a_wider_range_of_a_constant_never_narrows_a_size(name):
    span = STATED.span(name)
    middle = (span.low * span.high) ** 0.5 if span.low > 0.0 else 0.5 * span.high
    narrow = dataclasses.replace(STATED, **{name: Span(middle, middle)})
    wide = ball_shape(92.0, 70.0, 30.0, 60.0, STATED, press=PRESS)
    tight = ball_shape(92.0, 70.0, 30.0, 60.0, narrow, press=PRESS)
    for outer, inner in zip(all_ranges(wide), all_ranges(tight), strict=True):
        assert outer.low <= inner.low + 1e-9
        assert outer.high >= inner.high - 1e-9


def test_constants_of_no_width_and_no_tension_leave_only_swelling_and_press():
    """An unstretched strand stays as wound; a swelling of 5 % of the wall adds to the outside."""
    point = ShapeConstants(
        swelling_frac=Span(0.05, 0.05), width_share=Span(1.0, 1.0), pressing_set_frac=Span(0.5, 0.5)
    )
    shape = ball_shape(92.0, 70.0, 30.0, 0.0, point, press=PRESS)
    swollen = 92.0 + 0.05 * 62.0
    assert shape.relaxed.diameter_mm.low == pytest.approx(swollen)
    assert shape.relaxed.width_mm.high == pytest.approx(70.0 * swollen / 92.0)
    assert shape.pressed.thickness_mm.low == pytest.approx(0.5 * (60.0 + swollen))


@pytest.mark.parametrize(
    ("sizes", "key"),
    [
        ((0.0, 70.0, 30.0, 60.0), "diameter_mm"),
        ((92.0, -70.0, 30.0, 60.0), "width_mm"),
        ((92.0, 70.0, 92.0, 60.0), "bore_mm"),
        ((92.0, 70.0, 30.0, float("nan")), "winding_stress_kpa"),
    ],
)
def test_an_impossible_ball_is_refused(sizes, key):
    with pytest.raises(BadInput) as refused:
        ball_shape(*sizes, STATED)
    assert refused.value.faults[0].key == key


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_the_width_takes_its_share_of_what_the_diameter_loses(share):
    """A strand that pulls makes the ball smaller; with the whole share it stays in proportion."""
    values = ShapeValues(2e4, 300.0, 3.0, 0.1, 0.04, share, 0.5)
    sizes = sizes_at(WOUND, values, None)
    for diameter, width in ((sizes[0], sizes[1]), (sizes[3], sizes[4])):
        assert width / 70.0 - 1.0 == pytest.approx(share * (diameter / 92.0 - 1.0), abs=1e-12)
    assert sizes[0] < 92.0 - 0.05
    still = sizes_at(dataclasses.replace(WOUND, winding_stress_kpa=0.0), values, None)
    assert still[:3] == pytest.approx([92.0, 70.0, 30.0])
