"""The joint normal distribution against closed forms, and chances of balls by drawing lines."""

from __future__ import annotations

import numpy as np
import pytest

from clew.line.tracker.joint import Sight, covariance, joint_of
from clew.line.tracker.landing import normal_below, normal_quantile
from clew.line.tracker.terms import TrackDoubt


def test_nothing_seen_is_what_was_known_before() -> None:
    doubt = TrackDoubt(content_sd_m=30.0, feed_cv=0.01)
    mean, sd = joint_of(500.0, 1.25, doubt, []).between(1, 1000.0, 400.0)
    assert mean == pytest.approx(1000.0 + 500.0 - 500.0)
    assert sd == pytest.approx(np.hypot(30.0, 10.0))


def test_one_sight_of_the_content_is_weighed_by_precision() -> None:
    """Source: normal mean with known variances; c 30 m, sight 10 m: 0.9 of the way, sd 9.49."""
    joint = joint_of(500.0, 1.0, TrackDoubt(content_sd_m=30.0), [Sight(1, 0.0, 0.0, 520.0, 10.0)])
    mean, sd = joint.between(1, 100.0, 50.0)
    assert mean == pytest.approx(100.0 + 500.0 + 0.9 * 20.0 - 50.0)
    assert sd == pytest.approx(30.0 * 10.0 / np.hypot(30.0, 10.0))
    assert joint.between(2, 100.0, 50.0)[1] == pytest.approx(30.0)


def test_two_sights_far_apart_learn_the_slip() -> None:
    """Feed 2 % slow: D falls short by 0.02 a; content is learned at the start, slip at the end."""
    doubt = TrackDoubt(content_sd_m=50.0, feed_cv=0.02)
    seen = [Sight(1, 0.0, 0.0, 500.0, 0.1), Sight(1, 9000.0, 9000.0, 500.0 - 180.0, 0.1)]
    joint = joint_of(500.0, 1.0, doubt, seen)
    slip, sd = joint.slip(1)
    assert slip == pytest.approx(-0.02, abs=2e-4)
    assert sd < 1e-4
    mean, _ = joint.between(1, 12000.0, 11500.0)
    assert mean == pytest.approx(12000.0 * 0.98 + 500.0 - 11500.0, abs=2.0)
    assert joint.slip(2) == pytest.approx((0.0, 0.02))


def test_shrink_is_learned_for_all_lanes_turns_for_one() -> None:
    seen = [Sight(1, 5000.0, 5000.0, 450.0, 0.1)]
    shared = joint_of(500.0, 1.0, TrackDoubt(shrink_cv=0.01), seen)
    assert shared.between(2, 5000.0, 5000.0) == pytest.approx((450.0, 0.1), abs=0.01)
    alone = joint_of(500.0, 1.0, TrackDoubt(turn_cv=0.01), seen)
    assert alone.between(2, 5000.0, 5000.0) == pytest.approx((500.0, 50.0))


def test_a_sensor_that_is_off_by_the_same_each_time_does_not_average_out() -> None:
    doubt = TrackDoubt(content_sd_m=100.0)
    many = [Sight(1, 0.0, 0.0, 500.0, 1.0, "dry", 5.0) for _ in range(100)]
    alike = joint_of(500.0, 1.0, doubt, many).between(1, 0.0, 0.0)[1]
    fresh = [Sight(1, 0.0, 0.0, 500.0, 5.1) for _ in range(100)]
    assert alike == pytest.approx(5.0, abs=0.05)
    assert joint_of(500.0, 1.0, doubt, fresh).between(1, 0.0, 0.0)[1] < 0.6


def test_the_covariance_is_that_of_drawn_lines() -> None:
    """Draw slip, shrink, turns, content and walks, and lay them out as the module's D says."""
    doubt = TrackDoubt(
        content_sd_m=20.0, feed_cv=0.01, feed_walk_m=5.0, shrink_cv=0.006, turn_cv=0.008,
        wind_walk_m=7.0,
    )  # fmt: skip
    k, draws = 1.3, 60_000
    rng = np.random.default_rng(5)
    lanes = np.array([1.0, 1.0, 1.0, 2.0])
    fed = np.array([-300.0, 800.0, 2000.0, 1500.0])
    wound = np.array([100.0, 500.0, 900.0, 700.0])
    shrink = rng.normal(0.0, doubt.shrink_cv, draws)
    found = np.zeros((4, draws))
    for lane in (1.0, 2.0):
        content = rng.normal(0.0, doubt.content_sd_m, draws)
        slip = rng.normal(0.0, doubt.feed_cv, draws)
        turn = rng.normal(0.0, doubt.turn_cv, draws)
        before = rng.normal(0.0, doubt.feed_walk_m * np.sqrt(0.3), draws)
        walk_f, walk_w = np.zeros(draws), np.zeros(draws)
        at_f = at_w = 0.0
        for place in np.flatnonzero(lanes == lane):
            raw = k * wound[place]
            walk_w = walk_w + rng.normal(
                0.0, doubt.wind_walk_m * np.sqrt((raw - at_w) / 1e3), draws
            )
            at_w = raw
            if fed[place] < 0.0:
                fed_walk = before
            else:
                step = doubt.feed_walk_m * np.sqrt((fed[place] - at_f) / 1e3)
                walk_f = walk_f + rng.normal(0.0, step, draws)
                at_f, fed_walk = fed[place], walk_f
            found[place] = fed[place] * slip + fed_walk + content - raw * (shrink + turn) - walk_w
    places = (lanes, fed, wound)
    stated = covariance(places, places, doubt, k)
    sd = np.sqrt(np.diag(stated))
    assert np.abs(np.cov(found) - stated).max() < 0.02 * np.outer(sd, sd).max()


@pytest.mark.parametrize("share", [0.001, 0.3, 0.5, 0.975])
def test_the_normal_distribution_both_ways(share: float) -> None:
    assert normal_below(normal_quantile(share)) == pytest.approx(share)
