"""From records to the tie tracker: thinned events, numbers of balls, minutes to the next tie."""

from __future__ import annotations

import csv
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest
from tests.ledger.state.told import LINE, ZONE, at_us, demo_messages, records_of, say

from clew.cli.line.events_file import read_events
from clew.ledger.events.message import Message
from clew.ledger.state.effective import effective_events
from clew.ledger.state.known import Effective, Run
from clew.ledger.state.line_state import line_state
from clew.ledger.state.ties import Track, ties_now, to_next_tie, track_of
from clew.ledger.state.tracked import THIN_S, tracker_events
from clew.line.tracker.answer import where_answer
from clew.line.tracker.where_words import recent
from clew.mill.model import Mill

START = say("run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100")
RUN = Run("R1", "Querl 100", "SL-207", at_us("05:30"), turns=786)


@pytest.fixture(scope="module")
def track(demo_mill: Mill) -> Track:
    return track_of(demo_mill, demo_mill.find_line(""), RUN)


def events_of(messages: list[Message]) -> tuple[Effective, ...]:
    return effective_events(records_of(messages), zone=ZONE).events


def test_the_ledger_says_the_same_as_the_file_it_was_fed_with(track: Track) -> None:
    path = Path(str(resources.files("clew.mill").joinpath("demo", "line_events.csv")))
    of_file = where_answer(read_events(path, track.counters), track.terms, track.doubt)
    found = ties_now(events_of(demo_messages()), track, RUN, at_us("06:01:49"), ZONE)
    wanted = recent(of_file)
    assert [(one.lane, one.kind) for one in found.ties] == [
        (one.lane, one.event.kind) for one in wanted
    ]
    # one reading in twenty seconds is as good as all of them
    for one, other in zip(found.ties, wanted, strict=True):
        assert abs(one.ball - other.landing.best.ball) <= 1
        assert abs(one.ball_frac - other.landing.best.chance) < 0.2
    assert set(found.lanes) == set(range(1, 7))
    assert {lane: one.ball for lane, one in found.lanes.items()} == {
        one.lane: one.ball for one in of_file.lanes
    }


def test_times_of_day_in_words_and_notes_are_the_mills(track: Track) -> None:
    found = ties_now(events_of(demo_messages()), track, RUN, at_us("06:01:49"), ZONE)
    assert any("a tie seen at 05:48:53 may be" in one for one in found.notes)
    assert any("colour tie of 05:56:14 on lane 4 (BR-088) is in" in one.words for one in found.ties)
    assert at_us("05:56:14") in {one.at_us for one in found.ties}


def test_on_the_night_the_clock_goes_forward_notes_show_it_as_it_is_now(track: Track) -> None:
    later_us = at_us("02:05:00", "2026-03-29") - at_us("05:48:53")  # it leapt from 01 to 02
    told = [replace(one, at_us=one.at_us + later_us) for one in demo_messages()]
    run = replace(RUN, started_us=RUN.started_us + later_us)
    found = ties_now(events_of(told), track, run, at_us("06:01:49") + later_us, ZONE)
    assert any("a tie seen at 02:05:00 may be" in one for one in found.notes)


def test_readings_are_thinned_but_each_balls_last_stays(track: Track) -> None:
    told = [
        say("turns", f"05:{30 + s // 60}:{s % 60:02d}", lane=1, counts=10 + 10 * s, ball=41)
        for s in range(1, 70)
    ]
    told += [say("doff", "05:31:10", lane=1), say("turns", "05:31:12", lane=1, counts=20, ball=42)]
    found = tracker_events(events_of(told), track.counters, at_us("05:30"), at_us("05:40"))
    kept = [one.at_s for one in found if one.kind == "turns"]
    assert len(kept) < 70 / THIN_S + 4
    assert 69.0 in kept  # the last before the doff
    assert 72.0 in kept  # the first of the next ball


def test_a_number_told_before_the_window_is_counted_on(track: Track) -> None:
    told = [
        say("turns", "05:30:00", lane=1, counts=100, ball=41),
        say("doff", "05:31:00", lane=1), say("doff", "05:32:00", lane=1),
        say("turns", "05:40:00", lane=1, counts=100),
    ]  # fmt: skip
    found = tracker_events(events_of(told), track.counters, at_us("05:35"), at_us("05:41"))
    assert [(one.kind, one.ball) for one in found] == [("turns", 43)]


def test_what_cannot_be_followed_is_left_out(track: Track) -> None:
    told = [
        say("retie", "05:30:10", lane=1, parted_at="winder"),
        say("turns", "05:30:20", lane=1, counts=9e9),
        say("turns", "05:30:30", lane=9, counts=10),
        say("weighing", "05:30:40", lane=1, mass_g=100.0),
        say("doff", "05:59:00", lane=1),
    ]
    assert tracker_events(events_of(told), track.counters, at_us("05:30"), at_us("05:50")) == []


def test_a_tie_told_by_the_hand_and_by_the_feed_is_one(track: Track) -> None:
    told = [
        START,
        say("cone loaded", "05:30:00", lane=1, cone="C1"),
        say("tie", "05:31:00", lane=1, cone="C2"),
        say("tie", "05:33:00", lane=1, cone="C2", source="feed 1"),
        say("tie", "05:40:00", lane=1, cone="C3"),
        say("tie", "05:45:00", lane=1), say("tie", "05:46:00", lane=1),
    ]  # fmt: skip
    found = tracker_events(events_of(told), track.counters, at_us("05:30"), at_us("05:50"))
    assert [one.at_s for one in found] == [180.0, 600.0, 900.0, 960.0]
    lane = line_state(records_of(told[:5]), LINE).lane(1)
    assert lane.ties == 2


def test_a_doff_with_a_reading_that_cannot_be_is_a_doff(track: Track) -> None:
    told = [say("doff", "05:31:00", lane=1, counts=9e9)]
    (found,) = tracker_events(events_of(told), track.counters, at_us("05:30"), at_us("05:50"))
    assert (found.kind, found.value) == ("doff", None)


def test_counts_are_turned_into_turns_by_each_winders_counter(track: Track) -> None:
    told = [say("turns", "05:30:10", lane=lane, counts=10) for lane in (1, 5)]
    found = tracker_events(events_of(told), track.counters, at_us("05:30"), at_us("05:40"))
    assert [one.value for one in found] == [10.0, 100.0]


def test_settings_of_the_run_make_full_balls(demo_mill: Mill) -> None:
    run = Run("R1", "Querl 100", "SL-207", 0, turns=786, counts={"1": 700.0, "5": 80.0})
    track = track_of(demo_mill, demo_mill.find_line(""), run)
    assert track.terms.full_turns[1] == 700.0
    assert track.terms.full_turns[5] == 800.0
    assert track.terms.full_turns[2] == 786.0


def test_nothing_told_and_a_long_silence_are_notes(track: Track) -> None:
    assert "Nothing was told" in ties_now((), track, RUN, at_us("06:00"), ZONE).notes[0]
    found = ties_now(events_of(demo_messages()), track, RUN, at_us("06:30"), ZONE)
    assert found.ties == () and found.notes[0].startswith("Ties are not followed: ")


def test_joins_are_ties_in_the_ball_and_re_ties_at_its_winder(track: Track) -> None:
    told = demo_messages()
    last = max(int(one.at_us) for one in told if one.kind == "doff" and one.lane == 1)
    retie = say("retie", "06:01:48", lane=1, parted_at="winder")
    assert retie.at_us > last
    before = ties_now(events_of(told), track, RUN, at_us("06:01:49"), ZONE).joins
    after = ties_now(events_of([*told, retie]), track, RUN, at_us("06:01:49"), ZONE).joins
    assert after[1] == before[1] + 1 and after[2] == before[2]


def test_minutes_to_the_next_tie_follow_mass_and_feed(track: Track) -> None:
    load = say("cone loaded", "05:30:00", lane=1, cone="C1", cone_mass_g=800.0)
    lane = line_state(records_of([START, load]), LINE).lane(1)
    found = to_next_tie(lane, track, at_us("05:33:00"))
    assert found is not None
    whole_min = 1000.0 * 800.0 / track.count_tex / track.terms.feed_m_per_s / 60.0
    assert found.middle == pytest.approx(whole_min - 3.0, abs=1e-9)
    assert found.low < found.middle < found.high
    unweighed = say("cone loaded", "05:30:00", lane=1, cone="C1")
    full = line_state(records_of([START, unweighed]), LINE)
    other = to_next_tie(full.lane(1), track, at_us("05:33:00"))
    assert other is not None and other.middle == pytest.approx(2.0 * whole_min - 3.0, abs=1e-9)
    assert to_next_tie(full.lane(2), track, at_us("05:33:00")) is None


def test_minutes_to_the_next_tie_by_the_feeds_own_counter(track: Track) -> None:
    told = [
        START,
        say("cone loaded", "05:30:00", lane=1, cone="C1"),
        say("cone loaded", "05:30:01", lane=1, cone="C2"),
        say("tie", "05:40:00", lane=1, cone="C2", metres=10_000.0),
        say("feed", "05:45:00", lane=1, metres=11_000.0),
    ]
    lane = line_state(records_of(told), LINE).lane(1)
    found = to_next_tie(lane, track, at_us("05:45:00"))
    assert found is not None
    left_m = 1000.0 * track.cone_mass_g / track.count_tex - 1000.0
    assert found.middle == pytest.approx(left_m / track.terms.feed_m_per_s / 60.0, abs=1e-9)


def test_the_demo_file_holds_what_this_test_reads() -> None:
    text = (resources.files("clew.mill") / "demo" / "line_events.csv").read_text(encoding="utf-8")
    assert len(list(csv.DictReader(text.splitlines()))) == len(demo_messages())


def test_a_tie_told_by_a_clock_ahead_puts_no_true_one_aside(track: Track) -> None:
    true = say("tie", "05:40:00", lane=1, cone="C-2", name="true")
    wild = say("tie", "05:58:00", lane=1, cone="C-2", name="wild", source="wild")
    records = records_of([START, true, wild], received_us=at_us("05:41:00"))
    events = effective_events(records, zone=ZONE).events
    found = tracker_events(events, track.counters, at_us("05:30:00"), at_us("06:00:00"))
    assert [one.name for one in found if one.kind == "tie"] == ["true"]
