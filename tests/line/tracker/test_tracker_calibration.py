"""Inputs not exact: the chances that are stated are the chances there are."""

from __future__ import annotations

import math

import pytest

from calibrate_tracker import LEVELS, Asked, asked, mean

SEEDS = range(400)


@pytest.fixture(scope="module")
def found() -> list[Asked]:
    return list(asked(SEEDS))


def bound(share: float, number: int) -> float:
    """Three standard deviations of a binomial share, and a little where it is near 1."""
    near_1 = 0.005 if share > 0.97 else 0.0
    return 3.0 * math.sqrt(share * (1.0 - share) / number) + near_1


def test_enough_lanes_were_asked_and_most_had_ties_seen(found: list[Asked]) -> None:
    assert len(found) > 380
    assert mean(one.corrected for one in found) > 0.5


@pytest.mark.parametrize("level", LEVELS)
def test_intervals_hold_the_tie_as_often_as_they_say(found: list[Asked], level: float) -> None:
    share = mean(one.within[level] for one in found)
    assert abs(share - level) < bound(level, len(found))


@pytest.mark.parametrize("level", LEVELS)
def test_the_balls_to_pull_hold_it_as_often_as_they_say(found: list[Asked], level: float) -> None:
    stated = mean(one.stated_pulled[level] for one in found)
    share = mean(one.pulled[level] for one in found)
    assert stated >= level
    assert abs(share - stated) < bound(stated, len(found))
    assert share > level - bound(level, len(found))


def test_the_ball_named_first_is_right_as_often_as_it_says(found: list[Asked]) -> None:
    stated = mean(one.stated_best for one in found)
    assert abs(mean(one.best_right for one in found) - stated) < bound(stated, len(found))


@pytest.mark.parametrize(("low", "high"), [(0.0, 0.8), (0.8, 0.99), (0.99, 1.01)])
def test_doubtful_and_sure_answers_each_keep_their_word(
    found: list[Asked], low: float, high: float
) -> None:
    some = [one for one in found if low <= one.stated_best < high]
    stated = mean(one.stated_best for one in some)
    assert len(some) > 20
    assert abs(mean(one.best_right for one in some) - stated) < bound(stated, len(some))
