"""Turns and doffs of one winder, told well, badly or not at all; feed and belt clocks."""

from __future__ import annotations

import random

import numpy as np
import pytest

from clew.faults import BadInput
from clew.line.tracker.clocks import belt_clock, feed_clock, run_clock
from clew.line.tracker.events import Event, in_order
from clew.line.tracker.feeding import feeding_of
from clew.line.tracker.place import in_ball, stretches_to
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.line.tracker.winding import Winding, winding_of
from metre_line import Habits, MetreLine, Truth, some_terms

TERMS = TrackTerms(
    lanes=2, feed_m_per_s=5.0, wind_m_per_s=4.0, shrink_frac=0.2, strain_frac=0.0,
    passage_s=100.0, buffer_m=200.0, knot_turns=np.array([0.0, 100.0]),
    knot_laid_m=np.array([0.0, 200.0]), full_turns={1: 100.0, 2: 100.0}, content_m=600.0,
)  # fmt: skip


def followed(*events: Event) -> Winding:
    found = winding_of(in_order(events), 1, TERMS)
    assert found is not None
    return found


def turns(at_s: float, value: float, ball: int | None = None) -> Event:
    return Event(at_s, "turns", 1, value, ball)


def doff(at_s: float, value: float | None = None, ball: int | None = None) -> Event:
    return Event(at_s, "doff", 1, value, ball)


def test_a_plain_run_of_readings_and_a_doff() -> None:
    found = followed(turns(0, 50), turns(10, 70), doff(30), turns(40, 15))
    assert (found.ball, found.in_ball_m) == (2, 30.0)
    assert found.wound_m[-1] == 130.0
    assert found.doffs_s == ((30, 1),)
    assert found.notes == ()


def test_turns_that_go_back_are_a_doff_nobody_told() -> None:
    found = followed(turns(0, 50), turns(10, 70), turns(40, 15))
    assert (found.ball, found.wound_m[-1]) == (2, 130.0)
    assert found.notes == ("Lane 1, ball 1: came off without a message; taken as full.",)


@pytest.mark.parametrize("late_s", [0.0, 3.0, 20.0])
def test_a_doff_told_late_is_the_one_the_turns_showed(late_s: float) -> None:
    found = followed(turns(0, 50), turns(10, 70), turns(40, 0), doff(40 + late_s), turns(70, 30))
    assert (found.ball, found.wound_m[-1]) == (2, 160.0)
    assert found.notes == ()


def test_a_doff_long_after_is_another() -> None:
    found = followed(turns(0, 50), turns(10, 70), turns(40, 0), turns(60, 35), doff(95))
    assert found.ball == 3


def test_a_number_told_later_counts_back() -> None:
    found = followed(turns(0, 50), doff(30), turns(60, 60), doff(90, ball=42))
    assert [ball for _, ball in found.doffs_s] == [41, 42]
    assert {one.ball for one in found.stretches} == {41, 42}
    assert found.ball == 43


def test_a_number_that_jumps_is_a_ball_nobody_told() -> None:
    found = followed(turns(0, 50, 7), doff(30, ball=7), doff(150, ball=9))
    assert found.ball == 10
    assert found.wound_m[-1] == 500.0
    assert any("ball 8: came off without" in note for note in found.notes)


def test_a_number_that_goes_back_is_passed_over() -> None:
    found = followed(turns(0, 50, 7), doff(30, ball=7), turns(50, 20), doff(60, ball=7))
    assert (found.ball, found.in_ball_m) == (8, 40.0)
    assert any("not used" in note for note in found.notes)


def test_a_part_ball_pulled_is_as_long_as_it_was() -> None:
    told = followed(turns(0, 0), turns(25, 50), doff(26, 50.0))
    assert told.wound_m[-1] == 100.0
    short = followed(turns(0, 0), turns(25, 50), doff(26))
    assert short.wound_m[-1] == pytest.approx(100.0 + 1.02 * 4.0)
    assert short.notes == ("Lane 1, ball 1: came off before it was full.",)


def test_waste_is_taken_and_is_in_no_ball() -> None:
    found = followed(turns(0, 10), turns(10, 30), Event(11, "waste", 1, 6.0), turns(20, 40))
    assert found.in_ball_m == 80.0
    assert found.wound_m[-1] == 66.0
    listed = stretches_to(found, TERMS, 500.0)
    assert in_ball(listed, 42.0, TERMS).waste
    assert in_ball(listed, 46.0, TERMS).turn == pytest.approx(30.0)
    later = in_ball(listed, 66.0 + 120.0 + 200.0 + 2.0, TERMS)
    assert (later.ball, later.turn) == (3, pytest.approx(1.0))


def test_between_two_reports_the_winder_turned_or_stood() -> None:
    found = followed(turns(0, 0), turns(100, 100))
    assert found.wound(50.0, TERMS) == pytest.approx((100.0, 100.0))
    running = followed(turns(0, 0), turns(50, 100))
    assert running.wound(25.0, TERMS)[1] < 2.1


def test_between_two_reports_it_stood_before_or_after_and_not_evenly() -> None:
    """Held to the metre-by-metre line: an even spread, 1/sqrt(12) of the width, is too narrow."""
    off = []
    for seed in range(60):
        rng = random.Random(seed)
        terms = some_terms(rng)
        read_s = 0.8 * terms.full_m(1) / terms.wind_m_per_s
        habits = Habits(read_s=read_s, cone_m=100.0, waste_m=0.0)
        story = MetreLine(1, terms, Truth(terms.content_m), habits, rng).run(900.0)
        found = winding_of(in_order(story.events), 1, terms)
        assert found is not None
        for one in story.landed.values():
            mean, sd = found.wound(one.at_s, terms)
            true_m = found.wound_at_turns(one.at_s, one.turn, one.ball, terms)
            if sd > 3.0 and true_m is not None and one.at_s < found.at_s[-1]:
                off.append((true_m - mean) / sd)
    assert len(off) > 200
    assert max(abs(one) for one in off) < 1.2
    assert 0.75 < (sum(one**2 for one in off) / len(off)) ** 0.5 < 1.0


def test_the_pace_is_the_late_mean_or_the_lines_own() -> None:
    assert followed(turns(0, 0)).pace_m_per_s(TERMS) == pytest.approx(4.0)
    assert followed(turns(0, 0), turns(200, 100)).pace_m_per_s(TERMS) == pytest.approx(1.0)
    assert followed(turns(0, 9), turns(200, 9)).pace_m_per_s(TERMS) == 0.0


def belt(at_s: float, on: bool) -> Event:
    return Event(at_s, "belt on" if on else "belt off")


def feed(at_s: float, on: bool) -> Event:
    return Event(at_s, "feed on" if on else "feed off", 1)


def test_a_clock_that_stands_shows_what_it_showed() -> None:
    clock = run_clock([(10.0, False), (10.0, False), (30.0, True)])
    assert clock.reading_s(40.0) - clock.reading_s(0.0) == 20.0
    assert (clock.running(5.0), clock.running(20.0), clock.running(30.0)) == (True, False, True)
    assert clock.when_s(clock.reading_s(35.0)) == 35.0
    assert clock.when_s(clock.reading_s(4.0)) == 4.0
    assert clock.when_s(clock.reading_s(20.0)) == 30.0


def test_a_clock_first_started_stood_before() -> None:
    clock = run_clock([(10.0, True)])
    assert clock.reading_s(20.0) - clock.reading_s(0.0) == 10.0
    assert run_clock([]).reading_s(7.0) == 7.0


def test_lay_down_runs_while_belt_and_feed_do() -> None:
    events = in_order([belt(10, False), feed(15, False), belt(20, True), feed(30, True)])
    clock = feed_clock(events, 1)
    assert clock.reading_s(40.0) - clock.reading_s(0.0) == 20.0
    other = feed_clock(events, 2)
    assert other.reading_s(40.0) - other.reading_s(0.0) == 30.0


def test_on_and_off_at_one_instant_leave_it_as_it_was() -> None:
    events = in_order([feed(10, False), feed(20, True), feed(20, False), feed(30, True)])
    clock = feed_clock(events, 1)
    assert clock.reading_s(40.0) - clock.reading_s(0.0) == 20.0
    assert belt_clock(events, 1).running(15.0)


def test_a_feed_counter_set_back_to_0_goes_on() -> None:
    events = in_order(
        [Event(t, "feed", 1, m) for t, m in ((0.0, 1000.0), (10.0, 1050.0), (20.0, 30.0))]
    )
    feeding = feeding_of(events, 1, 5.0, 0.0)
    assert feeding.fed(20.0)[0] == pytest.approx(1100.0)
    assert feeding.fed(22.0)[0] == pytest.approx(1110.0)
    assert feeding.fed(-2.0)[0] == pytest.approx(990.0)


def test_between_two_readings_the_feed_ran_or_stood() -> None:
    events = in_order([Event(0.0, "feed", 1, 0.0), Event(100.0, "feed", 1, 250.0)])
    middle, sd = feeding_of(events, 1, 5.0, 0.0).fed(50.0)
    assert middle == pytest.approx(125.0)
    assert sd == pytest.approx(250.0 / np.sqrt(12.0))


def test_a_tie_whose_time_is_unsure_lies_where_the_feed_ran() -> None:
    events = in_order([feed(10, False), feed(100, True)])
    feeding = feeding_of(events, 1, 5.0, 0.0)
    at_m, sd = feeding.fed_about(11.0, 2.0, running=True)
    assert 40.0 < at_m < 50.0
    assert 1.0 < sd < 10.0
    assert feeding.fed_about(50.0, 2.0, running=False) == pytest.approx((50.0, 0.0))


def test_terms_that_cannot_be_are_refused() -> None:
    from dataclasses import replace

    with pytest.raises(BadInput) as bad:
        replace(TERMS, wind_m_per_s=0.0, shrink_frac=1.0, knot_laid_m=np.array([0.0, 0.0]))
    assert len(bad.value.faults) == 3
    with pytest.raises(BadInput) as bad:
        TrackDoubt(feed_cv=0.5, tie_sd_s=-1.0, unannounced_frac=1.0)
    assert len(bad.value.faults) == 3
