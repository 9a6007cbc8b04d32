"""Crossings of the equator: the count of distinct places, cover, evenness, and better ratios."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.wind.coverage_kernel import chart_strokes, count_layers
from clew.ball.wind.crossings import (
    Stage,
    along_equator,
    cover_round,
    distinct_crossings,
    footprint_rev,
    nearest_even_ratio,
    nearest_simple_ratio,
    nominal_turns,
    passes_rule,
)

LATITUDES = 45


def held(tilt_deg=50.0, equator_mm=80.0, turns=2000):
    """A round ball at one diameter, wound at one tilt."""
    return Stage(
        turn=turns,
        equator_mm=equator_mm,
        radius_mm=np.full(LATITUDES, 0.5 * equator_mm),
        tilt_rad=np.full(turns, math.radians(tilt_deg)),
    )


def layers_at_one_tilt(bands, radius_mm, tilt_deg, turns, ratio, width_mm, cells):
    """Layers on a round ball wound at one tilt."""
    strokes = chart_strokes(np.array([math.radians(tilt_deg)]), bands, 1.0 / ratio)
    one = np.zeros(turns, dtype=np.int64)
    return count_layers(np.full(bands, radius_mm), strokes, one, 1.0 / ratio, width_mm, cells)


def places(ratio, turns):
    """Longitudes of every crossing of the equator, from the path itself [rev]."""
    t = math.pi * (np.arange(2 * turns) + 0.5)
    way = np.sign(np.sin(t)) * 0.25  # the flyer crosses at a quarter and at three quarters
    return np.mod(way - t / (2.0 * math.pi) / ratio, 1.0)


@pytest.mark.parametrize("ball_turns", range(1, 9))
def test_crossings_coincide_where_q_less_p_is_even(ball_turns):
    """Distinct places counted on the path are q or 2 q by the parity of q - p."""
    for flyer_turns in range(9, 42):
        if math.gcd(flyer_turns, ball_turns) == 1:
            found = np.round(places(flyer_turns / ball_turns, 3 * flyer_turns) * 1e7) % 1e7
            assert np.unique(found).size == distinct_crossings(flyer_turns, ball_turns)


RIBBONS = [
    (20.0, 0.623, 0.623, 0.78, 0.22),
    (20.01, 0.636, 0.735, 0.73, 0.10),
    (20.05, 0.688, 1.0, 0.17, 0.0),
    (20.3, 0.942, 1.0, 0.07, 0.0),
    (61.0 / 3.0, 0.951, 0.951, 0.14, 0.0),
    (20.382, 0.949, 1.0, 0.07, 0.0),
    (20.5, 0.859, 1.0, 0.24, 0.0),
    (20.618, 0.744, 1.0, 0.06, 0.0),
    (21.0, 0.327, 0.327, 0.75, 0.22),
]
"""Cover after one and four nominal covers, thickness CV and bare share after ten: a trial count."""


@pytest.mark.parametrize(("ratio", "first", "fourth", "uneven", "bare"), RIBBONS)
def test_the_trial_count_of_ribbons(ratio, first, fourth, uneven, bare):
    """A ball of 80 mm, strand 3 mm, tilt 50 degrees: covers to the last digit printed.

    The trial took the tilt for the angle of wind. Its thickness was counted on cells of its own,
    which smooth a ribbon: ours agree to 0.14.
    """
    footprint = 3.0 / math.sin(math.radians(50.0)) / (math.pi * 80.0)
    turns = math.ceil(1.0 / (2.0 * footprint))
    assert turns == 33
    step = 0.5 * (1.0 - 1.0 / ratio)
    assert cover_round(np.full(2 * turns, footprint), step)[0] == pytest.approx(first, abs=6e-4)
    assert cover_round(np.full(8 * turns, footprint), step)[0] == pytest.approx(fourth, abs=6e-4)
    layers = layers_at_one_tilt(LATITUDES, 40.0, 50.0, 10 * turns, ratio, 3.0, 180)
    reached = layers.mean(axis=1) >= 1.0
    area = np.cos(np.radians(np.arange(LATITUDES) * 4.0 - 88.0))[reached]
    squared = (layers.var(axis=1) / np.maximum(layers.mean(axis=1), 1e-9) ** 2)[reached]
    assert math.sqrt(np.dot(area, squared) / area.sum()) == pytest.approx(uneven, abs=0.14)
    open_share = np.dot(area, (layers[reached] <= 0.0).mean(axis=1)) / area.sum()
    assert open_share == pytest.approx(bare, abs=0.05)


@given(
    st.lists(st.floats(1e-3, 0.4), min_size=1, max_size=60),
    st.floats(0.0, 1.0, exclude_max=True),
)
def test_cover_of_a_circle_agrees_with_counting_points(widths, step):
    """Share covered and unevenness are those counted at ten thousand points of the circle."""
    found, uneven = cover_round(np.array(widths), step)
    points = (np.arange(10000) + 0.5) / 10000
    middle = np.arange(len(widths)) * step
    away = np.abs((points[:, None] - middle + 0.5) % 1.0 - 0.5)
    layers = np.sum(away < 0.5 * np.array(widths), axis=1)
    assert found == pytest.approx(np.mean(layers > 0), abs=2e-2)
    assert found <= min(1.0, sum(widths)) + 1e-9
    assert uneven == pytest.approx(layers.std() / max(layers.mean(), 1e-9), abs=0.03, rel=0.05)


@given(st.floats(2.0, 60.0), st.floats(5.0, 85.0), st.sampled_from([1.0, -1.0]))
@settings(max_examples=30)
def test_counted_layers_hold_the_area_of_the_yarn(size, tilt, way):
    """Layers times cell area, summed over a sphere, is length times width."""
    from clew.ball.wind.closed_forms import tilted_coil_on_sphere_mm

    ratio, radius, width, turns = way * size, 40.0, 2.0, 50
    layers = layers_at_one_tilt(90, radius, tilt, turns, ratio, width, 90)
    latitude = np.radians(np.arange(90) * 2.0 - 89.0)
    round_ = 2.0 * math.pi * radius * np.cos(latitude)
    area = float(np.dot(layers.mean(axis=1), round_ * radius * math.radians(2.0)))
    laid = turns * width * tilted_coil_on_sphere_mm(radius, tilt, ratio)
    assert area == pytest.approx(laid, rel=2e-3)


def test_a_footprint_is_the_width_over_the_sine_of_the_angle_of_wind():
    """At rest the angle is the tilt; a coil along the equator takes the whole circle."""
    tilt = np.radians([0.0, 30.0, 90.0])
    found = footprint_rev(tilt, 1e12, 3.0, 80.0)
    assert found == pytest.approx([1.0, 6.0 / (math.pi * 80.0), 3.0 / (math.pi * 80.0)])


def test_a_nominal_cover_adds_up_to_the_circumference():
    """The turns of a cover are the fewest whose footprints reach once round."""
    turns, footprint = nominal_turns(held(), 20.3, 3.0)
    assert 2.0 * footprint[:turns].sum() >= 1.0 > 2.0 * footprint[: turns - 1].sum()


@pytest.mark.parametrize("ratio", [20.0, 20.5, 21.0, 61.0 / 3.0, -20.0])
def test_simple_ratios_fail(ratio):
    """A simple ratio leaves gaps or stacks its strands, either way round."""
    _, fourth, uneven = along_equator(held(), ratio, 3.0)
    assert not passes_rule(fourth, uneven)


@pytest.mark.parametrize("ratio", [20.3, 20.382, 20.618, -20.3])
def test_ratios_off_the_simple_ones_pass(ratio):
    """They close the equator and stack less than strands thrown at random."""
    _, fourth, uneven = along_equator(held(), ratio, 3.0)
    assert passes_rule(fourth, uneven)


def test_the_same_ratio_closes_on_a_small_ball_and_opens_on_a_large_one():
    """61 places of 3 mm strand fill the equator at 60 mm diameter and not at 120 mm."""
    covers = [along_equator(held(equator_mm=d), 61.0 / 3.0, 3.0)[1] for d in (60.0, 120.0)]
    assert covers[0] == pytest.approx(1.0)
    assert covers[1] < 0.7


@pytest.mark.parametrize("ratio", [20.0, 20.5, 21.0, -20.0, 3.7])
def test_the_proposed_ratio_is_the_nearest_that_passes(ratio):
    """It passes at every stage with both neighbours, and none nearer does."""
    stages = tuple(held(equator_mm=d) for d in (50.0, 70.0, 80.0))
    step = 0.01

    def even(other):
        return all(passes_rule(*along_equator(stage, other, 3.0)[1:]) for stage in stages)

    found = nearest_even_ratio(stages, ratio, 3.0, reach=0.5, step=step)
    assert found is not None
    assert even(found) and even(found - step) and even(found + step)
    for k in range(1, round(abs(found - ratio) / step)):
        for other in (ratio + k * step, ratio - k * step):
            assert not (even(other) and even(other - step) and even(other + step))


def test_no_ratio_near_enough_is_said_to_be_none():
    """Within a hundredth of 20 there is none."""
    assert nearest_even_ratio((held(),), 20.0, 3.0, reach=0.01, step=0.005) is None


@pytest.mark.parametrize(("ratio", "simple"), [(20.01, (20, 1)), (20.33, (61, 3)), (20.49, (41, 2)),
                                               (-21.02, (21, 1)), (20.0, (20, 1))])  # fmt: skip
def test_the_simple_ratio_is_the_one_whose_pattern_returns(ratio, simple):
    """Near a fraction the pattern that repeats is that fraction's."""
    assert nearest_simple_ratio(held(), ratio, 3.0) == simple


@pytest.mark.parametrize("ratio", [20.05, 20.3, 20.5, 2.5, -3.7, 5.3])
def test_unevenness_is_that_counted_between_all_edges_of_strands(ratio):
    """Strands taken from the path itself: all of them, or those going one way, against chance."""
    stage = held()
    turns, footprint = nominal_turns(stage, ratio, 3.0)
    width, middles = footprint[0], places(ratio, 10 * turns)

    def variation(at):
        starts, ends = (at - 0.5 * width) % 1.0, (at + 0.5 * width) % 1.0
        edge = np.concatenate(([0.0], np.sort(np.concatenate((starts, ends))), [1.0]))
        piece, point = np.diff(edge), 0.5 * (edge[1:] + edge[:-1])
        layers = np.sum((point[:, None] - starts) % 1.0 < width, axis=1)
        mean = np.dot(piece, layers)
        assert mean == pytest.approx(at.size * width)
        return math.sqrt(np.dot(piece, (layers - mean) ** 2)) / mean

    def by_chance(strands):
        return math.sqrt((1.0 - width) / (strands * width))

    counted = [
        variation(middles) / by_chance(middles.size),
        *(variation(middles[way::2]) / by_chance(middles.size // 2) for way in (0, 1)),
    ]
    assert along_equator(stage, ratio, 3.0)[2] == pytest.approx(max(counted), rel=1e-6)
