"""The tracker and the walked shift see one line: what each reads off a mill is the same."""

from __future__ import annotations

import math

import pytest

from clew.ball.from_mill import terms_of
from clew.ball.turns import set_turns
from clew.faults import BadInput
from clew.line.layout_from_mill import layout_of
from clew.line.tracker.from_mill import track_terms, with_content
from clew.mill import Mill

BALLS = ("Querl 100", "Querl 200", "Dunnow 50", "Sallowe 100")


def test_these_are_all_balls_of_the_demo_mill(demo_mill: Mill) -> None:
    assert tuple(ball.name for ball in demo_mill.ball) == BALLS


@pytest.mark.parametrize("ball", BALLS)
def test_feed_winders_belt_and_buffer_are_the_layouts(demo_mill: Mill, ball: str) -> None:
    layout = layout_of(demo_mill, "", ball)
    terms, doubt, _ = track_terms(demo_mill, "", ball)
    raw = terms.raw_per_laid
    assert (terms.lanes, terms.feed_m_per_s) == (layout.lanes, layout.feed_m_per_s)
    assert terms.wind_m_per_s * raw == pytest.approx(layout.wind_m_per_s, rel=1e-12)
    assert terms.passage_s == pytest.approx(layout.passage_s, rel=1e-12)
    assert terms.buffer_m == pytest.approx(layout.buffer_m, rel=1e-12)
    assert terms.cone_m == pytest.approx(layout.cone_m, rel=1e-12)
    started_m = layout.passage_s * layout.feed_m_per_s
    started_m += layout.start_buffer_frac * layout.buffer_m
    assert terms.content_m == pytest.approx(started_m, rel=1e-12)
    assert doubt.content_sd_m == pytest.approx(layout.buffer_m / math.sqrt(12.0), rel=1e-12)
    begins_s = 0.0
    stations = dict(terms.stations)
    for name, at_s in (("lay-down", 0.0), ("steamer", layout.steam_from_s),
                       ("dryer", layout.dry_from_s)):  # fmt: skip
        assert begins_s == pytest.approx(at_s, abs=1e-9)
        begins_s += stations[name]
    assert stations["steamer"] == pytest.approx(layout.steam_s, rel=1e-12)
    assert stations["dryer"] == pytest.approx(layout.dry_s, rel=1e-12)


@pytest.mark.parametrize("ball", BALLS)
def test_a_ball_is_the_layouts_but_for_whole_counts(demo_mill: Mill, ball: str) -> None:
    """The layout takes the length aimed at, the tracker the whole counts that first reach it."""
    layout = layout_of(demo_mill, "", ball)
    terms, _, counters = track_terms(demo_mill, "", ball)
    for lane, counter in counters.items():
        full = terms.full_turns[lane]
        least = terms.laid_m(full - counter.flyer_turns_per_count - 1.0) * terms.raw_per_laid
        assert least < layout.ball_m <= terms.full_m(lane) * terms.raw_per_laid * (1.0 + 1e-9)


def test_the_demo_buffer_by_hand(demo_mill: Mill) -> None:
    """900 m of steamed strand, a fifth of its length lost in steam: 900/0.8 before it."""
    terms, _, _ = track_terms(demo_mill, "Line 1", "Querl 100")
    assert terms.buffer_m == pytest.approx(1125.0)
    assert terms.content_m == pytest.approx(600.0 / 1.1 * 5.0 + 562.5)


def test_turns_that_wind_another_ball_are_refused(demo_mill: Mill) -> None:
    ball = terms_of(demo_mill, "Querl 100")
    asked = set_turns(ball.strand, ball.promise, ball.winding).turns
    for turns in (1, math.ceil(asked / 10) - 1, 10 * asked + 1):
        with pytest.raises(BadInput, match=f"takes {asked} turns"):
            track_terms(demo_mill, "", "Querl 100", turns=turns)
    terms, _, _ = track_terms(demo_mill, "", "Querl 100", turns=math.ceil(asked / 10))
    assert terms.full_turns[1] == math.ceil(asked / 10)


def test_a_lane_holds_its_belt_and_at_most_a_full_buffer(demo_mill: Mill) -> None:
    terms, doubt, _ = track_terms(demo_mill, "", "Querl 100")
    assert with_content(terms, doubt) == (terms, doubt)
    for content_m in (2728.0, 3852.0):
        assert with_content(terms, doubt, content_m)[0].content_m == content_m
    for content_m in (0.0, 2727.0, 3853.0):
        with pytest.raises(BadInput, match=r"2728 m, the belt alone, to 3852 m"):
            with_content(terms, doubt, content_m)
    assert with_content(terms, doubt, None, 1125.0)[1].content_sd_m == 1125.0
    with pytest.raises(BadInput, match="at most 1125 m, a full buffer before steam"):
        with_content(terms, doubt, None, 1126.0)
