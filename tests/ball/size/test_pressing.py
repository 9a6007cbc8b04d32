"""A ball between plates: volume, girth, springback."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.size.pressing import Press, press_ball
from clew.faults import BadInput


def flat_round_area(height, breadth, points=20001):
    """Area between two flats joined by half-rounds, by adding up strips."""
    x = np.linspace(-breadth / 2.0, breadth / 2.0, points)
    flat = (breadth - height) / 2.0
    over = np.clip(np.abs(x) - flat, 0.0, height / 2.0)
    chord = 2.0 * np.sqrt(np.maximum(height**2 / 4.0 - over**2, 0.0))
    return float(np.trapezoid(chord, x))


@given(
    st.floats(50.0, 150.0),
    st.floats(0.05, 0.6),
    st.floats(0.4, 1.1),
    st.floats(0.0, 1.0),
)
def test_packed_volume_stays(diameter, bore_share, gap_share, set_frac):
    """Net cross-section times length is the same before and after, by a count of strips."""
    bore = diameter * bore_share
    flat = press_ball(diameter, 70.0, bore, set_frac, Press(diameter * gap_share))
    flattened = diameter - flat.thickness_mm
    assert flat.bore_mm == pytest.approx(max(0.0, bore - flattened), abs=1e-9)
    hollow_breadth = flat.bore_mm + math.pi / 2.0 * (bore - flat.bore_mm)
    after = flat_round_area(flat.thickness_mm, flat.breadth_mm)
    if flat.bore_mm > 1e-6:
        after -= flat_round_area(flat.bore_mm, hollow_breadth)
    before = math.pi / 4.0 * (diameter**2 - bore**2) * 70.0
    assert after * flat.length_mm == pytest.approx(before, rel=1e-4)


@given(st.floats(50.0, 150.0), st.floats(0.3, 1.0), st.floats(0.0, 1.0))
def test_free_girth_does_not_stretch(diameter, gap_share, set_frac):
    flat = press_ball(diameter, 70.0, 20.0, set_frac, Press(diameter * gap_share))
    girth = math.pi * flat.thickness_mm + 2.0 * (flat.breadth_mm - flat.thickness_mm)
    assert girth == pytest.approx(math.pi * diameter, rel=1e-12)


def test_a_gap_wider_than_the_ball_presses_nothing():
    flat = press_ball(90.0, 70.0, 25.0, 0.8, Press(95.0))
    assert tuple(map(float, flat)) == pytest.approx((90.0, 90.0, 70.0, 25.0))


def test_no_set_springs_back_and_full_set_keeps_the_gap():
    assert press_ball(90.0, 70.0, 25.0, 0.0, Press(60.0)).thickness_mm == pytest.approx(90.0)
    assert press_ball(90.0, 70.0, 25.0, 1.0, Press(60.0)).thickness_mm == pytest.approx(60.0)


def test_length_waits_until_the_hollow_is_shut():
    """While the hollow gives way the length stays; after that the ball grows longer."""
    lengths = [
        float(press_ball(90.0, 70.0, 25.0, 1.0, Press(g)).length_mm) for g in (80, 65, 50, 40)
    ]
    assert lengths[:2] == pytest.approx([70.0, 70.0])
    assert 70.0 < lengths[2] < lengths[3]


def test_side_plates_narrow_and_lengthen():
    free = press_ball(90.0, 70.0, 25.0, 0.7, Press(60.0))
    boxed = press_ball(90.0, 70.0, 25.0, 0.7, Press(60.0, side_gap_mm=85.0))
    assert boxed.thickness_mm == pytest.approx(float(free.thickness_mm))
    assert boxed.breadth_mm < free.breadth_mm
    assert boxed.length_mm > free.length_mm


@pytest.mark.parametrize(
    ("gaps", "key"),
    [
        ((0.0, None), "plate_gap_mm"),
        ((60.0, 50.0), "side_gap_mm"),
        ((60.0, math.nan), "side_gap_mm"),
    ],
)
def test_plates_that_cannot_shut_are_refused(gaps, key):
    with pytest.raises(BadInput) as refused:
        Press(*gaps)
    assert refused.value.faults[0].key == key
