"""The judgement of a wind ratio over a build: measures per stage, words, and the picture."""

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.wind.build import WindSetting, build
from clew.ball.wind.coverage import _over_surface, coverage
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


def test_the_surface_is_summed_by_hand():
    """The equator counts its area whole, 60 degrees half; what has less than a layer, nothing."""
    layers = np.zeros((45, 4))
    layers[22] = [1.0, 3.0, 3.0, 1.0]  # mean 2, variance 1, nothing bare
    layers[37] = [0.0, 8.0, 8.0, 0.0]  # at 60 degrees: mean 4, variance 16, half bare
    layers[30] = [0.0, 0.0, 0.0, 3.9]
    uneven = (1.0 * 2.0 * (1.0 / 4.0) + 0.5 * 4.0 * (16.0 / 16.0)) / (1.0 * 2.0 + 0.5 * 4.0)
    found = _over_surface(layers)
    assert found == pytest.approx((math.sqrt(uneven), 0.5 * 0.5 / 1.5))
    layers[30, 0] = 0.1  # one layer in the mean, at 32 degrees
    assert _over_surface(layers)[1] > found[1]
    assert _over_surface(0.2 * layers) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("ratio", "said"), [(20.5, "times as uneven as by chance"), (20.0, "% of the equator is still")]
)
def test_the_words_name_what_fails_and_how_far(ratio, said):
    """A ribbon that closes is called uneven, one that leaves gaps bare, each with its number."""
    found = judged(replace(HELD, wind_ratio=ratio))
    stage = found.cover_fourth_frac.index(min(found.cover_fourth_frac))
    if min(found.cover_fourth_frac) >= 0.99:
        stage = found.unevenness.index(max(found.unevenness))
        number = f"{found.unevenness[stage]:.2f}"
    else:
        number = f"{100.0 * (1.0 - found.cover_fourth_frac[stage]):.0f}"
    assert found.ribbon
    assert f"At {found.diameters_mm[stage]:.0f} mm diameter" in found.words
    assert f"{number} {said}" in found.words


@pytest.mark.parametrize(
    ("ratio", "length_m", "searched", "said"),
    [
        (20.0, 200.0, 0.01, ("20 is the simple ratio 20,", "No wind ratio within 0.01 covers")),
        (20.01, 200.0, 0.5, ("20.01 is 0.01 from the simple ratio 20,", "at 40 places")),
        (61.0 / 3.0, 20.0, 0.5, ("evenly from", ", although it is the simple ratio 61/3.")),
        (20.25, 20.0, 0.5, ("evenly from", "; the nearest simple ratio is 20, 0.25 away.")),
    ],
)
def test_the_words_say_how_near_a_simple_ratio_it_is(ratio, length_m, searched, said):
    """On the ratio or beside it, whether that harms or not, and where nothing near is better."""
    setting = replace(HELD, wind_ratio=ratio)
    ball = build(setting, DK, length_m=length_m)
    found = coverage(setting, ball, 3.0, ratio_range=searched, stages=3)
    assert found.ribbon == ("evenly from" not in said)
    assert all(part in found.words for part in said)
    assert found.searched_range == searched
