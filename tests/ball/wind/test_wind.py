"""A ball wound by turns or by length: what holds for every setting, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.wind.build import (
    FINE,
    Resolution,
    WindSetting,
    build,
    length_at,
    surfaces_at,
    tilt_at_turn,
    turns_at,
)
from clew.ball.wind.closed_forms import tilted_coil_on_cylinder_mm, tilted_coil_on_sphere_mm
from clew.faults import BadInput

SWEPT = WindSetting(30.0, 70.0, 20.3, (0.0, 50.0, 100.0), (20.0, 60.0, 20.0), tilt_repeats=True)
DK = 500.0 / 300.0
"""500 tex packed at 300 kg/m3 [mm2]."""

TILTS = st.lists(st.floats(0.0, 80.0), min_size=1, max_size=4)


@st.composite
def settings_of_winders(draw):
    """Any winder: thick or thin, wide or narrow, either way round, any schedule of tilt."""
    tilts = draw(TILTS)
    return WindSetting(
        mandrel_diameter_mm=draw(st.floats(10.0, 120.0)),
        mandrel_width_mm=draw(st.floats(10.0, 150.0)),
        wind_ratio=draw(st.floats(4.0, 60.0)) * draw(st.sampled_from([1.0, -1.0])),
        tilt_turns=tuple(40.0 * i for i in range(len(tilts))),
        tilt_deg=tuple(tilts),
        tilt_repeats=draw(st.booleans()),
        slip_friction=draw(st.floats(0.0, 0.6)),
    )


@settings(max_examples=60)
@given(settings_of_winders(), st.floats(0.2, 6.0), st.floats(1.0, 700.0))
def test_packed_volume_is_kept_and_the_slope_rule_holds(setting, area, turns):
    """Length times area is the volume under the surface; no yarn lies steeper than the rule."""
    ball = build(setting, area, turns=turns, resolution=Resolution(60))
    assert abs(ball.packed_volume_error) < 1e-9
    assert ball.turns == pytest.approx(turns, rel=1e-12)
    assert np.all(np.isfinite(ball.radius_mm)) and np.all(np.isfinite(ball.angle_of_wind_deg))
    assert np.all(ball.radius_mm >= ball.mandrel_radius_mm * (1.0 - 1e-12))
    step = math.radians(ball.latitude_deg[1] - ball.latitude_deg[0])
    covered = ball.radius_mm > ball.mandrel_radius_mm * (1.0 + 1e-9)
    rise = np.diff(np.log(ball.radius_mm)) / step
    over = np.abs(rise) > setting.slip_friction + 1e-6
    higher = np.where(rise > 0.0, covered[1:], covered[:-1])
    assert not np.any(over & higher)
    assert 0.0 <= ball.slid_frac <= 1.0 + 1e-9


@settings(max_examples=40)
@given(settings_of_winders(), st.floats(0.2, 6.0), st.floats(1.0, 400.0), st.floats(0.01, 50.0))
def test_more_turns_are_longer_and_part_of_a_ball_is_that_ball(setting, area, turns, more):
    """A ball wound a little longer holds the shorter one: same length at the same turns."""
    short = build(setting, area, turns=turns, resolution=Resolution(60))
    long = build(setting, area, turns=turns + more, resolution=Resolution(60))
    assert long.length_m > short.length_m
    whole = math.floor(turns)
    assert length_at(long, float(whole)) == pytest.approx(length_at(short, float(whole)), rel=1e-12)
    assert length_at(long, turns) == pytest.approx(short.length_m, rel=1e-9)


@settings(max_examples=40)
@given(settings_of_winders(), st.floats(0.5, 4.0), st.floats(1.1, 1.5))
def test_bulkier_yarn_never_lays_less_length_in_the_same_turns(setting, area, bulkier):
    """The elasticity of length to packed area is between none and the cylinder's limit of one.

    It is none where all the yarn slides off a narrow mandrel's rim and the coils do not grow; there
    so coarse a division is off by up to 0.007.
    """
    thin = build(setting, area, turns=500.0, resolution=Resolution(60)).length_m
    thick = build(setting, area * bulkier, turns=500.0, resolution=Resolution(60)).length_m
    elasticity = math.log(thick / thin) / math.log(bulkier)
    assert -1e-2 < elasticity < 1.0


def test_a_rim_without_friction_is_coarse_and_no_more():
    """Where the coarse division says that bulk shortens the strand, the finest says it does not."""
    rim = WindSetting(76.0, 10.0, 4.0, (0.0,), (11.0,), tilt_repeats=False, slip_friction=0.0)
    coarse, fine = (
        math.log(
            build(rim, 1.5, turns=500.0, resolution=one).length_m
            / build(rim, 1.0, turns=500.0, resolution=one).length_m
        )
        / math.log(1.5)
        for one in (Resolution(60), FINE)
    )
    assert 0.0 < fine < 0.01
    assert abs(coarse - fine) < 0.007


@pytest.mark.parametrize("length", [50.0, 200.0, 1000.0])
def test_on_an_ordinary_mandrel_bulk_counts_by_a_quarter_to_a_half(length):
    """A ball well over its mandrel takes 0.2 to 0.5 % more length for 1 % more area."""
    turns = build(SWEPT, DK, length_m=length).turns
    bulky = build(SWEPT, 1.01 * DK, turns=turns).length_m
    assert 0.002 < bulky / length - 1.0 < 0.005


@given(st.floats(0.5, 300.0))
def test_turns_and_length_undo_each_other(length):
    """A ball wound to a length has it; turns for a length and length for turns are inverse."""
    ball = build(SWEPT, DK, length_m=length, resolution=Resolution(60))
    assert ball.length_m == pytest.approx(length, rel=1e-12)
    assert ball.cumulative_length_m[-1] == pytest.approx(length, rel=1e-12)
    assert length_at(ball, ball.turns) == pytest.approx(length, rel=1e-12)
    part = 0.37 * length
    assert length_at(ball, turns_at(ball, part)) == pytest.approx(part, rel=1e-12)
    again = build(SWEPT, DK, turns=ball.turns, resolution=Resolution(60))
    assert again.length_m == pytest.approx(length, rel=1e-9)


def test_a_ball_has_its_own_length_when_it_is_full():
    """The whole length, also a rounding beyond it, is laid by all the turns."""
    ball = build(SWEPT, DK, length_m=40.0, resolution=Resolution(60))
    for whole in (ball.length_m, ball.length_m * (1.0 + 5e-13)):
        assert turns_at(ball, whole) == pytest.approx(ball.turns, rel=1e-9)
    with pytest.raises(BadInput, match="outside the ball"):
        turns_at(ball, ball.length_m * (1.0 + 1e-9))


@pytest.mark.parametrize(("length", "turns", "across", "width_at_60"), [
    (200.0, 949.8, 92.1, 69.7),
    (500.0, 1853.5, 124.1, 91.2),
    (1000.0, 3033.3, 155.8, 113.2),
])  # fmt: skip
def test_an_earlier_winding_by_points_and_sweeps_gave_the_same_balls(
    length, turns, across, width_at_60
):
    """Turns, diameter and width agree with a separate program to one per cent.

    It took every turn on the surface before it (half a turn of growth behind, hence a few turns
    more), let yarn slide by eight sweeps, and gave the width where the highest tilt lays yarn.
    """
    ball = build(replace(SWEPT, tilt_turns=(0.0, 12.5, 25.0)), DK, length_m=length)
    assert ball.turns == pytest.approx(turns, rel=0.005)
    assert ball.diameter_mm == pytest.approx(across, rel=0.01)
    latitude = np.radians(ball.latitude_deg)
    edge = np.interp(math.radians(60.0), latitude, ball.radius_mm) * math.sin(math.radians(60.0))
    assert 2.0 * edge == pytest.approx(width_at_60, rel=0.01)


def test_density_moves_the_ball_and_friction_hardly():
    """At 200 m: 200, 300, 400 kg/m3 and friction .15, .5 agree with the same separate program."""
    quick = replace(SWEPT, tilt_turns=(0.0, 12.5, 25.0))
    for density, across, turns in ((200.0, 105.6, 854.0), (400.0, 84.6, 1021.0)):
        ball = build(quick, 500.0 / density, length_m=200.0)
        assert ball.diameter_mm == pytest.approx(across, rel=0.01)
        assert ball.turns == pytest.approx(turns, rel=0.005)
    for friction, across in ((0.15, 91.9), (0.5, 94.0)):
        ball = build(replace(quick, slip_friction=friction), DK, length_m=200.0)
        assert ball.diameter_mm == pytest.approx(across, rel=0.015)


def test_the_standard_division_is_near_the_finest():
    """Bands of a degree give turns within 0.05 % and sizes within 0.1 % of quarter degrees."""
    coarse, fine = (build(SWEPT, DK, length_m=500.0, resolution=r) for r in (Resolution(), FINE))
    assert coarse.turns == pytest.approx(fine.turns, rel=5e-4)
    assert coarse.diameter_mm == pytest.approx(fine.diameter_mm, rel=1e-3)
    assert coarse.width_mm == pytest.approx(fine.width_mm, rel=1e-3)


@pytest.mark.parametrize("tilt", [0.0, 15.0, 30.0, 45.0, 60.0])
def test_the_first_turn_on_a_long_mandrel_is_the_tilted_ellipse(tilt):
    """With the ball at rest the first turn is a plane cut of the bare cylinder."""
    setting = WindSetting(30.0, 600.0, 1e9, (0.0,), (tilt,))
    turn = build(setting, DK, turns=1.0).turn_length_mm[0]
    assert turn == pytest.approx(tilted_coil_on_cylinder_mm(15.0, tilt), rel=3e-4)


@pytest.mark.parametrize("ratio", [20.3, -20.3, 8.0])
def test_without_friction_the_ball_is_round_and_grows_by_its_formula(ratio):
    """Once round, the turns between two diameters obey R^2 = r0^2 + a k n/(2 pi)."""
    setting = WindSetting(20.0, 20.0, ratio, (0.0,), (40.0,), slip_friction=0.0)
    ball = build(setting, DK, turns=1500.0)
    assert ball.width_mm == pytest.approx(ball.diameter_mm, rel=1e-4)
    k = tilted_coil_on_sphere_mm(1.0, 40.0, ratio)
    radius = 0.5 * ball.diameter_of_turn_mm[[500, 1400]]
    grown = radius[1] ** 2 - radius[0] ** 2
    assert grown == pytest.approx(DK * k * 900.0 / (2.0 * math.pi), rel=2e-5)
    lengths = ball.turn_length_mm[[500, 1400]]
    assert lengths == pytest.approx(k * radius, rel=2e-5)


def test_turning_with_the_flyer_shortens_the_turn():
    """Ball and flyer turning one way take 2 pi R cos(b)/r off a turn, the other way add it."""
    tilt = math.cos(math.radians(40.0))
    with_, against = (
        build(replace(SWEPT, wind_ratio=r, tilt_turns=(0.0,), tilt_deg=(40.0,)), DK, turns=1.0)
        for r in (20.3, -20.3)
    )
    mean = 0.5 * (with_.length_m + against.length_m)
    assert (against.length_m - with_.length_m) / mean == pytest.approx(2 * tilt / 20.3, rel=0.04)


def test_the_angle_of_wind_is_that_of_the_coil_and_marked_where_there_is_none():
    """At the equator tan = sin b/(cos b - 1/r); past the tilt nothing is crossed and it is zero."""
    ball = build(replace(SWEPT, tilt_turns=(0.0,), tilt_deg=(40.0,)), DK, turns=600.0)
    crossed = ball.crossed
    assert np.array_equal(crossed, np.abs(ball.latitude_deg) < 40.0)
    assert np.all(ball.angle_of_wind_deg[~crossed] == 0.0)
    assert np.all(ball.angle_of_wind_deg[crossed] > 0.0)
    middle = ball.angle_of_wind_deg[ball.latitude_deg.size // 2]
    tilt = math.radians(40.0)
    flat = math.degrees(math.atan2(math.sin(tilt), math.cos(tilt) - 1.0 / 20.3))
    assert middle == pytest.approx(flat, abs=1.5)
    assert ball.angle_of_wind_deg[ball.latitude_deg.size // 2 + 35] < middle


def test_the_tilt_schedule_holds_its_last_value_or_starts_again():
    """Between points the tilt is straight; after the last it is held, or the schedule repeats."""
    turns = np.array([0.0, 25.0, 50.0, 100.0, 125.0, 10050.0])
    again = tilt_at_turn(SWEPT, turns)
    held = tilt_at_turn(replace(SWEPT, tilt_repeats=False), turns)
    assert again.tolist() == [20.0, 40.0, 60.0, 20.0, 40.0, 60.0]
    assert held.tolist() == [20.0, 40.0, 60.0, 20.0, 20.0, 20.0]


def test_surfaces_can_be_read_again_at_any_turn():
    """Wound again, the ball passes through the mandrel at first and the final surface at last."""
    ball = build(SWEPT, DK, turns=150.5)
    half = ball.latitude_deg.size // 2
    found = surfaces_at(ball, np.array([0, 100, 151, 999]))
    assert found[0] == pytest.approx(ball.mandrel_radius_mm[half:], rel=1e-14)
    assert found[2] == pytest.approx(ball.radius_mm[half:], rel=1e-14)
    assert np.array_equal(found[3], found[2])
    assert np.all(found[1] <= found[2] * (1 + 1e-12))


def test_the_warnings_say_what_the_picture_cannot():
    """Tilt past the mandrel's edge, yarn over its ends, sliding and sideways bends are told."""
    assert build(SWEPT, DK, length_m=20.0).warnings == ()
    steep = replace(SWEPT, mandrel_diameter_mm=70.0, mandrel_width_mm=40.0)
    words = " ".join(build(steep, DK, length_m=150.0).warnings)
    assert "wraps round the mandrel's end" in words and "29.7°" in words
    assert "over the mandrel's edges" in words
    low = replace(SWEPT, wind_ratio=3.7, tilt_deg=(30.0, 30.0, 30.0))
    assert "friction of 0.41" in " ".join(build(low, DK, length_m=20.0).warnings)
    loose = WindSetting(30.0, 300.0, 20.3, (0.0,), (70.0,), slip_friction=0.05)
    assert "slid from where it was laid" in " ".join(build(loose, DK, turns=50.0).warnings)


def test_a_bad_setting_is_refused_with_all_its_faults():
    """Every fault comes at once, each with its key, and never a traceback."""
    bad = WindSetting(-30.0, math.nan, 0.5, (0.0, 5.0, 5.0), (20.0, 95.0, 20.0), slip_friction=2.0)
    with pytest.raises(BadInput) as caught:
        build(bad, 0.0, turns=10.0, length_m=10.0, resolution=Resolution(7))
    assert {fault.key for fault in caught.value.faults} == {
        "mandrel_diameter_mm",
        "mandrel_width_mm",
        "wind_ratio",
        "tilt_turns",
        "tilt_deg",
        "slip_friction",
        "area_mm2",
        "turns, length_m",
        "latitude_bands",
    }


@pytest.mark.parametrize(
    "points, tilts",
    [((), ()), ((1.0,), (20.0,)), ((0.0, 9.0), (20.0,)), ((0.0, math.nan), (20.0, 30.0))],
)
def test_a_schedule_that_is_none_is_refused(points, tilts):
    """No points, a late first point, unequal numbers and NaN are no schedule."""
    with pytest.raises(BadInput):
        build(replace(SWEPT, tilt_turns=points, tilt_deg=tilts), DK, turns=1.0)


@pytest.mark.parametrize("wanted", [{"turns": 0.0}, {"turns": math.inf}, {"length_m": -1.0}, {}])
def test_nothing_to_wind_is_refused(wanted):
    """No turns, endless turns, a negative length or neither are refused."""
    with pytest.raises(BadInput):
        build(SWEPT, DK, **wanted)


def test_questions_beyond_the_ball_are_refused():
    """Length and turns are read only inside the ball."""
    ball = build(SWEPT, DK, turns=10.0)
    for question in (lambda: length_at(ball, 10.5), lambda: turns_at(ball, ball.length_m + 0.1)):
        with pytest.raises(BadInput, match="outside the ball"):
            question()
    with pytest.raises(BadInput, match="more than 200000 turns"):
        build(WindSetting(1.0, 1.0, 20.3, (0.0,), (0.0,)), 1e-3, length_m=9e5)
