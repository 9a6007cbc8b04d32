"""A shift in words: each thing that can hold a line up is named on a line that it holds up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import Estimate, ShiftAnswer, shift_answer
from clew.line.simulate.measures import FEED_CAUSES, WINDER_CAUSES
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.words import (
    CAUSE_WORDS,
    FEED_WORDS,
    KIND_WORDS,
    ShiftWords,
    percent,
    said,
    shift_words,
)
from clew.mill.model import Mill
from clew.quantities.show import number


@pytest.fixture(scope="module")
def line(demo_mill: Mill) -> Layout:
    """An hour of the demo line, with hands enough and nothing that breaks."""
    return replace(
        layout_of(demo_mill, "Line 1", "Querl 100"),
        shift_s=3600.0,
        hands=6,
        feed_breaks_per_km=0.0,
        wind_breaks_per_km=0.0,
        breaks=0,
        warm_up_s=0.0,
    )


def answered(line: Layout, **changes: object) -> ShiftAnswer:
    return shift_answer(replace(line, **changes), replications=8, seed=3)


def words(line: Layout, **changes: object) -> ShiftWords:
    return shift_words(answered(line, **changes))


def test_every_cause_and_kind_has_its_words() -> None:
    assert tuple(CAUSE_WORDS) == WINDER_CAUSES
    assert tuple(FEED_WORDS) == FEED_CAUSES
    assert sorted(KIND_WORDS) == sorted(KIND_ORDER)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"feed_m_per_s": 2.0, "buffer_m": 1000.0, "wind_m_per_s": 2.15}, "The feed sets"),
        ({"feed_m_per_s": 2.0}, "The feed sets"),
        ({"buffer_m": 1e6, "wind_m_per_s": 4.0}, "Winders and hands take less"),
        ({"lanes": 1, "hands": 1, "breaks": 2, "break_s": 600.0}, "Rests hold"),
        ({"hands": 1}, "Hands hold"),
        ({"wind_m_per_s": 4.0}, "Winders hold"),
        ({"cones_per_lane": 1, "cone_m": 400.0}, "The creel holds"),
        ({"feed_breaks_per_km": 3.0, "feed_mend_s": 120.0}, "Breaks at the feed hold"),
        (
            {"colour_at_s": (60.0, 600.0, 1200.0, 1800.0), "colour_tie_s": 300.0},
            "Changes of colour hold",
        ),
    ],
)
def test_what_holds_the_line_up(line: Layout, changes: dict[str, object], told: str) -> None:
    assert words(line, **changes).holds_up.startswith(told)


def test_headline_has_balls_and_kilograms(line: Layout) -> None:
    answer = answered(line)
    headline = shift_words(answer).headline
    assert headline.startswith(f"{said(answer.balls)} balls a shift, ")
    assert headline.endswith(f"{number(answer.kg.mean, 3)} kg.")


def test_reasons_name_where_time_goes(line: Layout) -> None:
    answer = answered(line, hands=1)
    reasons = " ".join(shift_words(answer).reasons)
    share = answer.winder_share
    for cause in ("winding", "waiting_for_doff", "doffing"):
        assert f"{percent(share[cause].mean)} {CAUSE_WORDS[cause]}" in reasons
    assert CAUSE_WORDS["broken"] not in reasons
    low, high = answer.balls_range
    assert f"9 of 10 give {low} to {high} balls" in reasons
    assert "19 of 20 at most" in reasons


def test_a_line_that_fills_no_ball(line: Layout) -> None:
    reasons = words(line, ball_m=1e7).reasons
    assert "No ball was filled." in reasons
    assert not [one for one in reasons if "waits" in one or "nan" in one]


def test_one_shift_says_that_it_is_one(line: Layout) -> None:
    told = shift_words(shift_answer(line, replications=1, seed=3))
    assert "balls in the one shift that was drawn" in told.headline
    assert "nan" not in " ".join((told.headline, told.holds_up, *told.reasons))
    assert "From shift to shift" not in " ".join(told.reasons)


def test_what_to_do_about_strand_that_stood_too_long(line: Layout) -> None:
    assert words(line, steam_longest_s=1e6).to_do == ()
    long_stops = {"hands": 1, "steam_longest_s": line.steam_s * 1.01}
    to_do = " ".join(words(line, **long_stops).to_do)
    assert "second-quality" in to_do
    assert "mark the coils" in to_do
    assert "inf" not in " ".join(words(line, **long_stops, dry_longest_s=float("inf")).to_do)


def test_the_caution_is_always_there(line: Layout) -> None:
    assert "your own safety rules" in words(line).caution


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "0 %"), (1.0, "100 %"), (0.123, "12 %"), (0.00345, "0.34 %"), (5e-5, "below 0.01 %")],
)
def test_percent(share: float, told: str) -> None:
    assert percent(share) == told


@pytest.mark.parametrize(
    ("estimate", "told"),
    [
        (Estimate(3124.4, 3120.6, 3128.2, 1.0), "3124 (3121 to 3128)"),
        (Estimate(12.345, 12.0, 12.69, 1.0), "12.3 (12.0 to 12.7)"),
        (Estimate(7.0, 7.0, 7.0, 0.0), "7"),
        (Estimate(7.0, float("nan"), float("nan"), float("nan")), "7"),
    ],
)
def test_a_mean_with_its_interval(estimate: Estimate, told: str) -> None:
    assert said(estimate) == told
