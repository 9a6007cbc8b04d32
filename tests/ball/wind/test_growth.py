"""What is read off a longer winding is, to the last digit, what winding it gives."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.ball.wind import growth as grown
from clew.ball.wind.build import WindSetting, ball_of, build, surfaces_at
from clew.ball.wind.growth import grow, laid_in, laid_lengths_m

SWEPT = WindSetting(30.0, 70.0, 20.3, (0.0, 37.5, 75.0), (20.0, 60.0, 20.0), tilt_repeats=True)
AREA = 500.0 / 300.0
LONG = grow(SWEPT, AREA, length_m=30.0)


@given(st.integers(1, 150))
@settings(max_examples=15)
def test_a_shorter_ball_is_read_off_a_longer_one(turns):
    """Every number of the ball, not only its length."""
    read, wound = ball_of(LONG, turns), build(SWEPT, AREA, turns=turns)
    for one in fields(wound):
        if one.name != "growth":
            assert np.array_equal(getattr(read, one.name), getattr(wound, one.name)), one.name


def test_a_ball_longer_than_the_winding_is_wound():
    """Also where the last turn of the winding is not whole."""
    for turns in (int(LONG.turns) + 1, 300):
        assert np.array_equal(
            ball_of(LONG, turns).radius_mm, build(SWEPT, AREA, turns=turns).radius_mm
        )


@given(st.one_of(st.floats(0.01, 150.0), st.floats(150.0, 260.0)))
@settings(max_examples=15)
def test_lengths_are_read_at_parts_of_a_turn(turns):
    """The last turn may be wound in part, within the winding or past it."""
    read, wound = laid_in(LONG, turns), build(SWEPT, AREA, turns=turns)
    assert (read.turns, read.length_m) == (wound.turns, wound.length_m)
    assert np.array_equal(read.cumulative_length_m, wound.cumulative_length_m)


def test_other_strands_lay_what_they_lay_by_themselves():
    """The tilts that windings have in common are worked out once and do not mix."""
    areas = [0.7, 1.9, 4.0]
    alone = [build(SWEPT, area, turns=90).length_m for area in areas]
    assert laid_lengths_m(LONG, areas, 90) == alone


def test_more_tilts_than_are_kept_take_turns(monkeypatch):
    """With room for few tilts every turn is worked out anew, and is the same."""
    uneven = replace(SWEPT, tilt_turns=(0.0, 37.3, 71.9))
    wound = build(uneven, AREA, turns=120)
    monkeypatch.setattr("clew.ball.wind.job.MOST_ROWS", 7)
    again = build(uneven, AREA, turns=120)
    assert again.growth.course.tilt_rad.size == 7
    assert np.array_equal(again.turn_length_mm, wound.turn_length_mm)
    assert np.array_equal(again.radius_mm, wound.radius_mm)


@pytest.mark.parametrize("kept", [1, 40])
def test_surfaces_that_were_not_kept_are_wound_again(monkeypatch, kept):
    """A ball of very many turns keeps the first surfaces only; the others come as before."""
    turns = np.array([0, 3, 41, 90, 120])
    wound = build(SWEPT, AREA, turns=120)
    monkeypatch.setattr(grown, "MOST_KEPT", kept)
    few = build(SWEPT, AREA, turns=120)
    assert few.growth.wound.kept_mm3.shape[0] == kept + 1
    assert np.array_equal(surfaces_at(few, turns), surfaces_at(wound, turns))
    assert np.array_equal(ball_of(few.growth, 100).radius_mm, ball_of(wound.growth, 100).radius_mm)
