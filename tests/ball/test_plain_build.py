"""A build made plain: rows that are its own, both ends kept, and not too many of them."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import numpy as np
import pytest

from clew.ball.plain_build import MOST_ROWS, build_plain
from clew.ball.size.constants import ShapeConstants
from clew.ball.size.pressing import Press
from clew.ball.size.shape import BallShape, ball_shape
from clew.ball.wind.build import Build, build
from clew.ball.wind.coverage import Coverage, coverage
from clew.ball.wind.setting import Resolution, WindSetting

SETTING = WindSetting(30.0, 70.0, 20.3, (0.0,), (50.0,))


@pytest.fixture(scope="module")
def shape() -> BallShape:
    return ball_shape(92.0, 70.0, 30.0, 60.0, ShapeConstants())


def wound(turns: float, bands: int = 180) -> tuple[Build, Coverage]:
    built = build(SETTING, 5.0 / 3.0, turns=turns, resolution=Resolution(bands))
    return built, coverage(SETTING, built, 3.0, stages=2)


@pytest.fixture(scope="module")
def long() -> tuple[Build, Coverage]:
    return wound(300.5)


def test_turns_run_from_the_first_to_the_last(
    long: tuple[Build, Coverage], shape: BallShape
) -> None:
    """Each row has the numbers of its own turn; the last is the whole ball."""
    built, cover = long
    rows = build_plain(built, cover, shape)["by_turn"]
    turns = [row["turn"] for row in rows]
    assert (turns[0], turns[-1], len(turns)) == (1, 301, MOST_ROWS)
    assert set(np.diff(turns)) == {5, 6}
    for row in rows:
        length_mm = built.turn_length_mm[: row["turn"]]
        assert row["turn_length_mm"] == length_mm[-1]
        assert row["laid_m"] == pytest.approx(length_mm.sum() / 1000.0)
        assert row["diameter_mm"] == built.diameter_of_turn_mm[row["turn"] - 1]
        assert row["tilt_deg"] == 50.0
    assert rows[-1]["laid_m"] == pytest.approx(built.length_m, rel=1e-12)


@pytest.mark.parametrize("turns", [1.0, 3.0, 59.0])
def test_a_short_ball_shows_every_turn_once(turns: float, shape: BallShape) -> None:
    rows = build_plain(*wound(turns), shape)["by_turn"]
    assert [row["turn"] for row in rows] == list(range(1, int(turns) + 1))


def test_latitudes_are_thinned_evenly_and_those_not_crossed_have_no_angle(
    long: tuple[Build, Coverage], shape: BallShape
) -> None:
    built, cover = long
    rows = build_plain(built, cover, shape)["by_latitude"]
    assert MOST_ROWS <= len(rows) < 2 * MOST_ROWS
    at = np.searchsorted(built.latitude_deg, [row["latitude_deg"] for row in rows])
    assert at[0] == 0 and np.unique(np.diff(at)).size == 1
    for row, band in zip(rows, at, strict=True):
        assert row["latitude_deg"] == built.latitude_deg[band]
        assert row["radius_mm"] == built.radius_mm[band]
        angle = row["angle_of_wind_deg"]
        assert (angle is None) == (abs(row["latitude_deg"]) > 50.0)
        assert angle is None or angle == built.angle_of_wind_deg[band]


@pytest.mark.parametrize("bands", [58, 60, 118])
def test_few_latitudes_are_all_shown(bands: int, shape: BallShape) -> None:
    built, cover = wound(3.0, bands)
    rows = build_plain(built, cover, shape)["by_latitude"]
    assert [row["latitude_deg"] for row in rows] == built.latitude_deg.tolist()


def test_the_rest_is_the_answer_word_for_word(
    long: tuple[Build, Coverage], shape: BallShape
) -> None:
    built, cover = long
    plain = build_plain(built, cover, shape)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert (plain["turns"], plain["laid_length_m"]) == (300.5, built.length_m)
    assert (plain["diameter_mm"], plain["width_mm"]) == (built.diameter_mm, built.width_mm)
    assert plain["packed_volume_mm3"] == built.volume_mm3
    assert plain["packed_volume_error"] == built.packed_volume_error
    assert (plain["slid_frac"], plain["warnings"]) == (built.slid_frac, list(built.warnings))
    for key, value in plain["coverage"].items():
        held: Any = getattr(cover, key)
        assert value == (list(held) if isinstance(held, tuple) else held), key


@pytest.mark.parametrize("press", [None, Press(60.0)])
def test_a_size_is_three_numbers_or_nothing(press: Press | None) -> None:
    """Low, high and, where it is known, a central value of everything that the shape has."""
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, ShapeConstants(), press=press)
    plain = build_plain(*wound(2.0), shape)["size"]
    assert plain["measured"] is False
    assert (plain["pressed"] is None) == (press is None)
    assert plain["on_mandrel"]["diameter_mm"] == {"low": 92.0, "high": 92.0, "central": 92.0}
    for part in ("off_mandrel", "relaxed", *(["pressed"] if press else [])):
        held = getattr(shape, part)
        assert set(plain[part]) == {field.name for field in dataclasses.fields(held)}
        for name, numbers in plain[part].items():
            range_ = getattr(held, name)
            assert numbers == {"low": range_.low, "high": range_.high, "central": None}
    assert plain["slack_frac"]["low"] == shape.slack_frac.low
