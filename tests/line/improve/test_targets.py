"""Feed speeds and buffers that reach an output: found, doubted, or out of reach."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from clew.faults import BadInput
from clew.line.improve.changes import with_buffer
from clew.line.improve.paired import Tried, all_measures, side_by_side
from clew.line.improve.targets import Target, buffer_for, feed_for
from clew.line.layout import Layout
from clew.line.simulate.answer import Estimate


def balls(layout: Layout, name: str, replications: int, seed: int) -> Estimate:
    found = side_by_side([Tried(layout, all_measures)], replications=replications, seed=seed)
    return found.estimate(0, name)


@pytest.fixture(scope="module")
def wanted(demo_layout: Layout) -> float:
    """A little less than a shift gives now, so that a slower feed will do."""
    return 0.97 * balls(demo_layout, "balls", 40, 1).mean


@pytest.fixture(scope="module")
def feed(demo_layout: Layout, wanted: float) -> Target:
    return feed_for(demo_layout, wanted, replications=40, seed=1)


def test_the_feed_found_reaches_it_on_the_same_shifts(
    demo_layout: Layout, wanted: float, feed: Target
) -> None:
    assert feed.at is not None
    assert feed.gives is not None
    assert feed.gives.mean >= wanted
    assert feed.at < demo_layout.feed_m_per_s
    slower = replace(demo_layout, feed_m_per_s=feed.at - 0.1 / 60.0)
    assert balls(slower, "balls", 40, 1).mean < wanted


def test_the_ends_of_the_interval_are_settings_that_were_looked_at(
    demo_layout: Layout, wanted: float, feed: Target
) -> None:
    assert feed.low is not None
    assert feed.high is not None
    misses, reaches = (
        balls(replace(demo_layout, feed_m_per_s=one), "balls", 40, 1)
        for one in (feed.low, feed.high)
    )
    assert misses.high < wanted <= reaches.low


def test_what_is_found_has_the_digits_that_are_printed(
    demo_layout: Layout, wanted: float, feed: Target
) -> None:
    kept = 1.0 - demo_layout.shrink_frac
    held = buffer_for(demo_layout, wanted, replications=10, seed=1)
    for value, digits in (
        *((one and 60.0 * one, 4) for one in (feed.at, feed.low, feed.high)),
        *((one and kept * one, 3) for one in (held.at, held.low, held.high)),
    ):
        assert value is not None
        assert value == pytest.approx(float(f"{value:.{digits}g}"), rel=1e-9)


def test_other_shifts_agree_within_the_interval(
    demo_layout: Layout, wanted: float, feed: Target
) -> None:
    assert feed.low is not None
    assert feed.at is not None
    assert feed.high is not None
    assert feed.low < feed.at <= feed.high
    assert feed.high - feed.low < 0.02 * feed.at
    slow, fast = (
        balls(replace(demo_layout, feed_m_per_s=one), "balls", 400, 77)
        for one in (feed.low, feed.high)
    )
    assert slow.low <= wanted <= fast.high


def test_an_interval_is_about_the_root_as_often_as_it_says(small: Layout) -> None:
    """20 seeds: fewer than 15 hits of a 95 % interval come about 3 times in 10 000."""
    aim = 0.95 * balls(small, "balls", 4000, 999).mean
    truth = feed_for(small, aim, replications=600, seed=999)
    assert truth.at is not None
    hits = 0
    for seed in range(20):
        one = feed_for(small, aim, replications=20, seed=seed)
        hits += (one.low or 0.0) <= truth.at <= (one.high or 100.0)
    assert hits >= 15


def test_the_least_buffer(demo_layout: Layout) -> None:
    aim = 0.98 * balls(demo_layout, "balls", 30, 1).mean
    found = buffer_for(demo_layout, aim, replications=30, seed=1)
    assert found.at is not None
    assert found.gives is not None
    assert found.gives.mean >= aim
    assert found.tried_low < found.at < demo_layout.buffer_m
    printed_m = found.at * (1.0 - demo_layout.shrink_frac)
    step_m = 10.0 ** (math.floor(math.log10(printed_m)) - 2)
    less_m = (printed_m - step_m) / (1.0 - demo_layout.shrink_frac)
    assert balls(with_buffer(demo_layout, less_m), "balls", 30, 1).mean < aim


def test_first_quality_balls_where_they_are_asked_for(demo_layout: Layout) -> None:
    aim = 0.98 * balls(demo_layout, "first_balls", 20, 1).mean
    found = feed_for(demo_layout, aim, output="first_balls", replications=20, seed=1)
    assert found.at is not None
    assert found.gives is not None
    assert found.gives.mean >= aim
    fewer = feed_for(demo_layout, aim, replications=20, seed=1)
    assert fewer.at is not None
    assert fewer.at < found.at
    assert fewer.second_balls is not None
    assert fewer.second_balls.mean > 0.0


def test_out_of_reach_says_the_most_and_why(demo_layout: Layout) -> None:
    fed = feed_for(demo_layout, 3000.0, replications=10, seed=1)
    assert (fed.at, fed.low, fed.high, fed.gives) == (None, None, None, None)
    assert fed.most_gives.mean < 3000.0
    assert fed.most_gives.mean >= fed.now_gives.mean
    assert "hand" in fed.stands
    held = buffer_for(demo_layout, 3000.0, replications=10, seed=1)
    assert held.at is None
    assert held.most_gives.mean >= held.now_gives.mean
    assert "feed" in held.stands


def test_any_feed_will_do_for_little(small: Layout) -> None:
    found = feed_for(small, 1.0, replications=5, seed=1)
    assert found.at == found.high == found.tried_low
    assert found.low is None


def test_one_seed_one_answer(small: Layout) -> None:
    one, two = (feed_for(small, 120.0, replications=10, seed=6, cores=cores) for cores in (1, 2))
    assert one == two


@pytest.mark.parametrize(
    ("key", "asked"),
    [
        ("wanted", {"wanted": 0.0}),
        ("output", {"wanted": 10.0, "output": "cones"}),
        ("replications", {"wanted": 10.0, "replications": 1}),
    ],
)
def test_what_cannot_be_wanted(small: Layout, key: str, asked: dict) -> None:
    for find in (feed_for, buffer_for):
        with pytest.raises(BadInput) as bad:
            find(small, **asked)
        assert [fault.key for fault in bad.value.faults] == [key]


def test_progress_never_passes_its_end(small: Layout) -> None:
    told: list[tuple[int, int]] = []
    feed_for(
        small,
        120.0,
        replications=5,
        progress=lambda done, total: told.append((done, total)),
    )
    assert all(done <= total for done, total in told)
    assert [done for done, _ in told] == list(range(1, len(told) + 1))
