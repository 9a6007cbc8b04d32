"""A shift for programs: JSON can hold it, keys carry units, and nothing is NaN."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import ShiftAnswer, shift_answer
from clew.line.simulate.measures import FEED_CAUSES, WINDER_CAUSES
from clew.line.simulate.plain import plain_shift
from clew.mill.model import Mill


@pytest.fixture(scope="module")
def line(demo_mill: Mill) -> Layout:
    return replace(layout_of(demo_mill, "Line 1", "Querl 100"), shift_s=1800.0, breaks=0)


@pytest.fixture(scope="module")
def answer(line: Layout) -> ShiftAnswer:
    return shift_answer(line, replications=20, seed=7)


@pytest.fixture(scope="module")
def plain(answer: ShiftAnswer) -> dict[str, Any]:
    return plain_shift(answer)


def keys_of(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inside in value.items():
            yield key
            yield from keys_of(inside)
    elif isinstance(value, list):
        for inside in value:
            yield from keys_of(inside)


def strict(value: object) -> str:
    return json.dumps(value, allow_nan=False)


def test_json_can_hold_it(plain: dict[str, Any]) -> None:
    assert json.loads(strict(plain)) == plain
    for key in keys_of(plain):
        assert re.fullmatch(r"[a-z0-9_]+", key)


def test_keys_that_scripts_rest_on(plain: dict[str, Any], answer: ShiftAnswer) -> None:
    assert plain["balls_mean"] == answer.balls.mean
    assert plain["balls_interval"] == [answer.balls.low, answer.balls.high]
    assert tuple(plain["winder_share"]) == WINDER_CAUSES
    assert sum(plain["winder_share"].values()) == pytest.approx(1.0, abs=1e-9)
    assert plain["feed_stop_share"] == pytest.approx(
        sum(plain["feed_stop_share_by_cause"].values())
    )
    assert tuple(plain["feed_stop_share_by_cause"]) == FEED_CAUSES
    assert plain["hand_busy_frac"] == answer.hand_busy_frac
    books = plain["yarn_books_m"]
    assert abs(plain["yarn_balance_m"]) < 1e-6 * (books["initial"] + books["fed"])
    assert (plain["replications"], plain["seed"], plain["shift_s"]) == (20, 7, 1800.0)


def test_intervals_are_about_their_means(plain: dict[str, Any]) -> None:
    for key in ("balls", "first_balls", "second_balls", "kg"):
        low, high = plain[f"{key}_interval"]
        assert low <= plain[f"{key}_mean"] <= high
    for cause, share in plain["winder_share"].items():
        low, high = plain["winder_share_interval"][cause]
        assert low <= share <= high
    first, second = plain["first_balls_mean"], plain["second_balls_mean"]
    assert first + second == pytest.approx(plain["balls_mean"])


def test_lanes_are_numbered_from_one(plain: dict[str, Any], line: Layout) -> None:
    lanes = plain["lanes"]
    assert [lane["lane"] for lane in lanes] == list(range(1, line.lanes + 1))
    assert sum(lane["balls_mean"] for lane in lanes) == pytest.approx(plain["balls_mean"])


def test_levels_go_from_the_first_moment_to_the_last(plain: dict[str, Any]) -> None:
    levels = plain["buffer_level_frac"]
    moments = levels["at_share_of_shift"]
    assert (moments[0], moments[-1]) == (0.0, 1.0)
    for key in ("mean", "low_1_in_10", "high_1_in_10"):
        assert len(levels[key]) == len(moments)
        assert 0.0 <= min(levels[key]) <= max(levels[key]) <= 1.0


def test_what_one_shift_cannot_tell_is_null(line: Layout) -> None:
    plain = plain_shift(shift_answer(line, replications=1, seed=7))
    for key in ("balls_interval", "first_balls_interval", "kg_interval", "balls_sd"):
        assert plain[key] is None
    assert set(plain["winder_share_interval"].values()) == {None}
    assert plain["balls_mean"] > 0.0
    strict(plain)


def test_what_a_shift_without_a_ball_cannot_tell_is_null(line: Layout) -> None:
    plain = plain_shift(shift_answer(replace(line, ball_m=1e7), replications=2, seed=7))
    assert plain["balls_mean"] == 0.0
    assert plain["line_joins_per_ball"] is None
    assert plain["doff_wait_s"] == {"mean": None, "median": None, "p95": None, "longest": 0.0}
    strict(plain)


def test_lanes_add_up_to_the_line(plain: dict[str, Any]) -> None:
    """Balls and their mass: the lanes' are of the same kind as the line's."""
    for key in ("balls_mean", "kg_mean"):
        assert sum(lane[key] for lane in plain["lanes"]) == pytest.approx(plain[key])


def test_dry_mass_adds_up_and_the_finish_is_lost_in_steam(
    plain: dict[str, Any], line: Layout
) -> None:
    books = plain["dry_books_kg"]
    came_kg = books["initial"] + books["fed"]
    assert abs(plain["dry_balance_kg"]) < 1e-9 * came_kg
    strand = plain["yarn_books_m"]
    out_m = strand["after_steam"] + strand["wound"] + strand["waste"]
    kg_per_m = books["before_steam"] / strand["before_steam"]
    kept_kg = books["after_steam"] + books["wound"] + books["waste"]
    assert kept_kg == pytest.approx(out_m * kg_per_m * (1.0 - line.finish_loss_frac))
