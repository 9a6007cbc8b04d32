"""Words of a shift plan, one by one: times, cones, lanes down, hands."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from clew.plan.runs import PlannedRun
from clew.plan.sequence.timed_run import Change
from clew.plan.shift.change_steps import change_steps
from clew.plan.shift.hours import time_words
from clew.plan.shift.pace_draws import Expected
from clew.plan.shift.terms import ConesOfRun, CrewAdvice, Moment, ShiftPlan
from clew.plan.shift.words import between, clock, cones_words, counted, crew_words

AT = datetime(2026, 11, 26, 22, tzinfo=UTC)  # a Thursday
PLAN = ShiftPlan("Mill", "GBP", AT, AT + timedelta(hours=8), (), (), None, 1, 10)
NONE = ConesOfRun((), 0, 0, 0, 0, 0, 0, 1600.0, 7)


@pytest.mark.parametrize(
    ("after_h", "words"),
    [(0.5, "22:30"), (3.0, "Fri 01:00"), (6 * 24, "Wed 22:00"), (7 * 24, "2026-12-03 22:00")],
)
def test_a_time_says_its_day_where_it_must(after_h: float, words: str) -> None:
    assert clock(AT + timedelta(hours=after_h), PLAN) == words


def test_intervals_name_a_day_once() -> None:
    late = AT + timedelta(hours=4)
    minute = timedelta(minutes=1)
    assert between(Moment(late, late, late), PLAN) == "Fri 02:00"
    assert between(Moment(late, late - minute, late + minute), PLAN) == (
        "Fri 02:00 (Fri 01:59 to 02:01)"
    )
    midnight = AT + timedelta(hours=2)
    assert between(Moment(midnight, midnight - minute, midnight + minute), PLAN) == (
        "Fri 00:00 (23:59 to Fri 00:01)"
    )
    assert counted(Expected(740.6, 700.2, 774.9)) == "741 (700 to 775)"
    assert counted(Expected(12.0, 12.0, 12.0)) == "12"


def test_lengths_of_time() -> None:
    said = [time_words(one) for one in (5.0, 1645.0, 3600.0, 6018.0)]
    assert said == ["1 min", "27 min", "1 h", "1 h 40 min"]


def test_cones_say_what_is_missing_spare_or_left() -> None:
    assert cones_words(PLAN, replace(NONE, short=1), "L-1").startswith(
        "Fetch 0 cones of L-1. 1 cone short on average"
    )
    assert "2 more are spare" in cones_words(PLAN, replace(NONE, spare=2), "L-1")
    assert "1 more is spare" in cones_words(PLAN, replace(NONE, spare=1), "L-1")
    assert "2 lanes may stand empty" in cones_words(PLAN, replace(NONE, empty_lanes=2), "")
    assert "1 begun cone left" in cones_words(PLAN, replace(NONE, begun_left=1), "")


def test_hands_more_fewer_or_as_they_are() -> None:
    now = CrewAdvice(2, 3, (), 3000.0, 3400.0, 1.96, 1.93)
    assert "1 more would make a ball 0.030 GBP cheaper (3 hands;" in crew_words("B", now, "GBP")
    fewer = replace(now, hands=4, cheapest_first_balls=2900.0)
    assert "1 fewer" in crew_words("B", fewer, "GBP")
    assert "−100 first-quality balls" in crew_words("B", fewer, "GBP")
    alike = replace(now, or_else=(2,))
    assert alike.as_good
    assert "cannot be told from the cheapest, 3" in crew_words("B", alike, "GBP")
    assert "2 hands make it cheapest" in crew_words("B", replace(now, cheapest=2), "GBP")


def test_steps_of_each_kind_of_change() -> None:
    run = PlannedRun("2", "2", "C", "Querl 200", "Querl", "Sloe", "SL-207", 10, 10.0, 6,
                     AT.date(), 1.0, ("Line 1",))  # fmt: skip
    nothing = Change("none", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, ())
    assert change_steps(nothing, run, "SL-211", lanes=6) == (
        "Nothing changes: go on with lot SL-207.",
    )
    lot = " ".join(change_steps(replace(nothing, kind="lot"), run, "SL-211", lanes=6))
    assert "Take every cone of lot SL-211 off" in lot
    assert "Tie lot SL-207 to the running ends" in lot
    assert "mandrels" not in lot
    assert "Clean" not in lot
    ball = change_steps(replace(nothing, kind="ball", clean_s=720.0), run, None, lanes=6)
    assert any("12 min are planned" in one for one in ball)
    assert any("mandrels" in one for one in ball)
    assert not any("Take every cone" in one for one in ball)
    yarn = replace(nothing, kind="yarn", strand_m=1234.0, waste_kg=0.5, second_balls=6.0)
    steps = " ".join(change_steps(yarn, run, "SL-211", lanes=6, units="yard"))
    for words in ("all 6 lanes", "about 6 go", "1300 yd (1.1 lb)"):
        assert words in steps
