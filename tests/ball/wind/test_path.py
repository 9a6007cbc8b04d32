"""The strand's path for drawing: on the ball, of the length laid, and the right way round."""

import math
from dataclasses import replace

import numpy as np
import pytest

from clew.ball.wind.build import Resolution, WindSetting, build, length_at
from clew.ball.wind.path import strand_path, surface_outline
from clew.faults import BadInput

HELD = WindSetting(30.0, 70.0, 20.3, (0.0,), (50.0,))
SLOW = WindSetting(30.0, 70.0, -20.3, (0.0, 500.0, 1000.0), (20.0, 60.0, 20.0), tilt_repeats=True)
DK = 500.0 / 300.0


@pytest.mark.parametrize(
    ("setting", "turns"), [(HELD, 37.4), (HELD, 900.0), (SLOW, 400.25), (SLOW, 1200.0)]
)
def test_the_path_has_the_length_that_was_laid(setting, turns):
    """Points joined by straight lines give the length found without any longitude."""
    ball = build(setting, DK, turns=turns)
    path = strand_path(setting, ball, last_turns=100, points_per_turn=360)
    drawn = np.linalg.norm(np.diff(path, axis=0), axis=1).sum() / 1000.0
    laid = ball.length_m - length_at(ball, max(ball.turns - 100.0, 0.0))
    assert drawn == pytest.approx(laid, rel=1.5e-3)


def test_the_path_ends_on_the_finished_surface():
    """The end of the strand lies on the outline at its latitude, at the flyer's angle."""
    ball = build(HELD, DK, turns=300.25)
    end = strand_path(HELD, ball, last_turns=5)[-1]
    latitude = math.degrees(math.asin(end[2] / np.linalg.norm(end)))
    on_surface = np.interp(latitude, ball.latitude_deg, ball.radius_mm)
    assert np.linalg.norm(end) == pytest.approx(on_surface, rel=1e-6)
    assert latitude == pytest.approx(0.0, abs=1e-6)  # a quarter turn after the lowest point


def test_the_path_stays_within_the_tilt_and_off_the_mandrel():
    """No point is above the tilt, nor inside the bare mandrel."""
    ball = build(HELD, DK, turns=200.0)
    path = strand_path(HELD, ball, last_turns=10_000, points_per_turn=24)
    assert path.shape == (200 * 24 + 1, 3)
    distance = np.linalg.norm(path, axis=1)
    latitude = np.degrees(np.arcsin(path[:, 2] / distance))
    assert np.abs(latitude).max() <= 50.0 + 1e-9
    bare = np.interp(latitude, ball.latitude_deg, ball.mandrel_radius_mm)
    assert np.all(distance >= bare * (1.0 - 2e-3))


@pytest.mark.parametrize(("ratio", "step"), [(20.3, 1.0 - 1.0 / 20.3), (-20.3, 1.0 + 1.0 / 20.3)])
def test_the_ball_turns_under_the_flyer(ratio, step):
    """From turn to turn the highest point moves back by 1/r of a revolution, or on by it."""
    setting = replace(HELD, wind_ratio=ratio)
    ball = build(setting, DK, turns=20.0)
    path = strand_path(setting, ball, last_turns=20, points_per_turn=40)
    longitude = np.arctan2(path[:, 1], path[:, 0]) / (2.0 * math.pi)
    moved = np.diff(longitude[20::40])  # half way through each turn the strand is highest
    assert np.mod(moved, 1.0) == pytest.approx(np.full(19, step % 1.0), abs=1e-9)


def test_the_outline_is_closed_and_as_large_as_the_ball():
    """The section closes on itself and spans the ball's diameter and the whole width."""
    ball = build(SLOW, DK, length_m=500.0, resolution=Resolution(360))
    x, z = surface_outline(ball)
    assert x.shape == z.shape == (2 * ball.radius_mm.size + 1,)
    assert (x[0], z[0]) == (x[-1], z[-1])
    assert x.max() - x.min() == pytest.approx(ball.diameter_mm, rel=1e-3)
    assert z.max() - z.min() == pytest.approx(ball.width_mm, rel=1e-3)


@pytest.mark.parametrize("more", [{"last_turns": 0}, {"points_per_turn": 4}, {"last_turns": 10**6}])
def test_a_path_that_is_none_or_endless_is_refused(more):
    """No turns, too few points to draw and too many to send are refused."""
    with pytest.raises(BadInput):
        strand_path(HELD, build(HELD, DK, turns=5.0), **more)
