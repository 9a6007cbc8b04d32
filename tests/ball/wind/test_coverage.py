"""The judgement of a wind ratio over a build: measures per stage, words, and the picture."""

from dataclasses import replace

import numpy as np
import pytest

from clew.ball.wind.build import WindSetting, build
from clew.ball.wind.coverage import coverage
from clew.faults import BadInput

HELD = WindSetting(30.0, 70.0, 20.3, (0.0,), (50.0,))
SWEPT = WindSetting(30.0, 70.0, 20.3, (0.0, 100.0, 200.0), (20.0, 60.0, 20.0), tilt_repeats=True)
DK = 500.0 / 300.0


def judged(setting, **more):
    return coverage(setting, build(setting, DK, length_m=200.0), 3.0, **more)


def test_an_even_ratio_is_left_alone():
    """A ratio that passes is its own nearest, and the words name the diameters and the pattern."""
    found = judged(HELD)
    assert not found.ribbon
    assert found.nearest_safe_ratio == 20.3
    assert min(found.cover_fourth_frac) > 0.99
    assert found.simple_ratio == (61, 3)
    assert found.distance == pytest.approx(20.3 - 61.0 / 3.0)
    assert "evenly" in found.words and "61/3" in found.words


@pytest.mark.parametrize("setting", [HELD, SWEPT])
@pytest.mark.parametrize("ratio", [20.0, 21.0])
def test_a_whole_ratio_lays_ribbons_at_any_schedule_of_tilt(setting, ratio):
    """Sweeping the tilt does not help the equator; the ratio proposed passes when wound."""
    found = judged(replace(setting, wind_ratio=ratio))
    assert found.ribbon
    assert found.words.startswith("Ribbons: wind ratio")
    assert found.nearest_safe_ratio is not None
    assert f"{found.nearest_safe_ratio:g}" in found.words
    again = judged(replace(setting, wind_ratio=found.nearest_safe_ratio))
    assert not again.ribbon


def test_the_parity_of_the_ratio_shows_in_the_cover():
    """21 crosses at 21 places and covers about half of what 20 does with its 40."""
    twenty, twenty_one = (judged(replace(HELD, wind_ratio=r)) for r in (20.0, 21.0))
    assert (twenty.distinct_crossings, twenty_one.distinct_crossings) == (40, 21)
    share = twenty_one.cover_fourth_frac[-1] / twenty.cover_fourth_frac[-1]
    assert share == pytest.approx(21.0 / 40.0, abs=0.01)
    assert twenty.closes_to_diameter_mm > twenty_one.closes_to_diameter_mm


def test_the_pattern_opens_beyond_the_diameter_to_which_it_closes():
    """A closed ratio covers the stages below that diameter and leaves those above it open."""
    found = judged(replace(HELD, wind_ratio=20.0))
    for diameter, cover in zip(found.diameters_mm, found.cover_fourth_frac, strict=True):
        assert (cover > 0.999) == (diameter < found.closes_to_diameter_mm)


def test_stages_grow_and_end_with_the_finished_ball():
    """The last stage is the whole build, at the diameter of its equator."""
    ball = build(SWEPT, DK, length_m=200.0)
    found = coverage(SWEPT, ball, 3.0, stages=5)
    assert len(found.diameters_mm) == len(found.unevenness) == len(found.thickness_cv) == 5
    assert list(found.stage_turns) == sorted(found.stage_turns)
    assert found.stage_turns[-1] == ball.turn_length_mm.size
    middle = ball.radius_mm.size // 2
    assert found.diameters_mm[-1] == pytest.approx(2.0 * ball.radius_mm[middle], rel=1e-12)


def test_ribbons_show_in_the_picture_and_in_the_thickness():
    """A ribbon leaves bare cells and uneven layers; an even ratio neither."""
    even, ribbon = judged(HELD), judged(replace(HELD, wind_ratio=21.0))
    assert even.picture_layers.shape == (45, 90)
    assert even.picture_latitude_deg[[0, -1]].tolist() == [-88.0, 88.0]
    assert even.picture_longitude_deg[[0, -1]].tolist() == [-178.0, 178.0]
    assert np.all(even.picture_layers[np.abs(even.picture_latitude_deg) > 54.0] == 0.0)
    assert even.bare_frac[-1] == 0.0 and ribbon.bare_frac[-1] > 0.1
    assert ribbon.thickness_cv[-1] > 5.0 * even.thickness_cv[-1]
    equator = 22
    for found in (even, ribbon):
        assert found.picture_layers[equator].mean() == pytest.approx(10.0, rel=0.05)
    assert ribbon.picture_layers[equator].max() > 2.0 * even.picture_layers[equator].max()


def test_a_short_ball_and_a_tilt_of_nothing_can_be_judged():
    """Two turns, or coils along the equator, give numbers and words, never a division by nought."""
    short = coverage(SWEPT, build(SWEPT, DK, turns=2.0), 3.0)
    assert np.all(np.isfinite(short.thickness_cv))
    flat = replace(HELD, tilt_deg=(0.0,))
    found = coverage(flat, build(flat, DK, turns=50.0), 3.0)
    assert not found.ribbon
    assert found.cover_first_frac[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("width", "more"),
    [
        (0.0, {}),
        (float("nan"), {}),
        (3.0, {"ratio_range": 0.0}),
        (3.0, {"ratio_step": 0.0}),
        (3.0, {"stages": 0}),
    ],
)
def test_what_cannot_be_judged_is_refused(width, more):
    """A strand without width, no range and no stages are refused in words."""
    with pytest.raises(BadInput):
        coverage(HELD, build(HELD, DK, turns=20.0), width, **more)
