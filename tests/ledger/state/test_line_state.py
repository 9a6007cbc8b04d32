"""Folding: what is known of a line after its events, in whatever order they came."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.ledger.state.told import LINE, ZONE, at_us, records_of, say, shift_messages

from clew.ledger.events.message import Message, Record
from clew.ledger.state.creel_state import fed_s
from clew.ledger.state.following import Following
from clew.ledger.state.known import LAST_BALLS, LineState
from clew.ledger.state.line_state import line_state

START = say("run start", "05:00:00", run="R1", lot="SL-207", ball_name="Querl 100", target_g=101.0,
            counts={"1": 786, "2": 786}, call_low_g=95.0, call_high_g=107.0)  # fmt: skip


def fold(*messages: Message) -> LineState:
    return line_state(records_of(messages), LINE, zone=ZONE)


def test_a_line_of_which_nothing_was_told_is_empty() -> None:
    state = fold()
    assert state == LineState(LINE)
    assert state.lane(3).lane == 3 and state.lane(3).feeding is None


def test_a_run_begins_changes_and_ends() -> None:
    change = say("run set", "06:00:00", run="R1", counts={"2": 780}, target_g=100.5, why="heavy")
    state = fold(START, change)
    assert state.run is not None
    assert (state.run.lot, state.run.target_g, state.run.changes) == ("SL-207", 100.5, 1)
    assert state.run.counts == {"1": 786.0, "2": 780.0}
    ended = fold(START, change, say("run end", "07:00:00", run="R1", why="lot wound"))
    assert ended.run is None and ended.last_run is not None
    assert (ended.last_run.ended_us, ended.last_run.end_why) == (at_us("07:00"), "lot wound")


def test_a_setting_or_an_end_of_another_run_changes_nothing() -> None:
    other = (
        say("run set", "06:00:00", run="R0", target_g=90.0),
        say("run end", "06:30:00", run="R0"),
    )
    assert fold(START, *other).run == fold(START).run


def test_a_run_that_nobody_ended_ends_where_the_next_begins() -> None:
    state = fold(
        START, say("doff", "05:30:00", lane=1),
        say("run start", "06:00:00", run="R2", lot="BR-088", ball_name="Querl 100"),
    )  # fmt: skip
    assert state.run is not None and state.run.run == "R2"
    assert state.last_run is not None and state.last_run.ended_us == at_us("06:00")
    assert state.lane(1).doffed == 0


def test_cones_stand_feed_and_end() -> None:
    load = [
        say("cone loaded", f"05:1{n}:00", lane=2, cone=f"C{n}", lot="SL-207", place=n)
        for n in (1, 2, 3)
    ]
    lane = fold(*load).lane(2)
    assert lane.feeding is not None and lane.feeding.cone == "C1"
    assert [one.cone for one in lane.reserve] == ["C2", "C3"]
    lane = fold(*load, say("tie", "05:30:00", lane=2)).lane(2)
    assert lane.feeding is not None and lane.feeding.cone == "C2" and lane.ties == 1
    lane = fold(*load, say("tie", "05:30:00", lane=2, cone="C3", cone_off="C1")).lane(2)
    assert lane.feeding is not None and lane.feeding.cone == "C3"
    assert [one.cone for one in lane.reserve] == ["C2"]
    lane = fold(*load, say("cone off", "05:20:00", lane=2, cone="C1", to="stock")).lane(2)
    assert lane.feeding is None and len(lane.reserve) == 2


def test_a_cone_that_was_never_loaded_feeds_and_is_known_for_it() -> None:
    lane = fold(say("tie", "05:30:00", lane=2, cone="C9", lot="SL-211")).lane(2)
    assert lane.feeding is not None
    assert (lane.feeding.cone, lane.feeding.lot, lane.feeding.loaded) == ("C9", "SL-211", False)


def test_a_cone_told_as_loaded_while_it_feeds_is_loaded_from_then_on() -> None:
    late = say("cone loaded", "05:31:00", lane=2, cone="C9", lot="SL-207")
    lane = fold(say("tie", "05:30:00", lane=2, cone="C9"), late).lane(2)
    assert lane.feeding is not None and lane.feeding.loaded and lane.feeding.lot == "SL-207"
    assert lane.reserve == () and lane.last_tie_us == at_us("05:30")


def test_a_place_holds_one_cone_and_a_cone_stands_in_one_lane() -> None:
    load = [
        say("cone loaded", "05:10:00", lane=1, cone="C1", place=1),
        say("cone loaded", "05:11:00", lane=1, cone="C2", place=2),
        say("cone loaded", "05:12:00", lane=1, cone="C3", place=2),
        say("cone loaded", "05:13:00", lane=2, cone="C4", place=1),
        say("cone loaded", "05:14:00", lane=2, cone="C3", place=2),
    ]
    state = fold(*load)
    assert state.lane(1).reserve == ()
    assert [one.cone for one in state.lane(2).reserve] == ["C3"]


def test_the_time_a_cone_has_fed_leaves_stops_out() -> None:
    told = [
        START,
        say("cone loaded", "05:00:00", lane=1, cone="C1"),
        say("feed off", "05:10:00", lane=1), say("feed on", "05:12:00", lane=1),
        say("stop", "05:20:00", lane=1, why="guard"), say("belt off", "05:21:00"),
        say("go on", "05:24:00", lane=1), say("belt on", "05:25:00"),
        say("stop", "05:30:00", lane=0, why="steam"),
    ]  # fmt: skip
    lane = fold(*told).lane(1)
    assert fed_s(lane, at_us("06:00")) == (10 + 8 + 5) * 60.0
    going = fold(*told, say("go on", "05:50:00", lane=0)).lane(1)
    assert fed_s(going, at_us("06:00")) == (23 + 10) * 60.0
    tied = fold(*told, say("go on", "05:50:00", lane=0), say("tie", "05:55:00", lane=1)).lane(1)
    assert fed_s(tied, at_us("06:00")) == 5 * 60.0


def test_what_stands_on_a_creel_between_runs_waits() -> None:
    load = say("cone loaded", "04:30:00", lane=1, cone="C1")
    assert fed_s(fold(load).lane(1), at_us("06:00")) == 0.0
    ended = (load, START, say("run end", "05:10:00", run="R1", why="lunch"))
    assert fed_s(fold(load, START).lane(1), at_us("06:00")) == 3600.0
    assert fed_s(fold(*ended).lane(1), at_us("06:00")) == 600.0


def test_a_stop_keeps_its_first_moment_and_its_last_reason() -> None:
    state = fold(
        say("stop", "05:10:00", lane=3, why="break"), say("stop", "05:12:00", lane=3, why="steamer")
    )
    lane = state.lane(3)
    assert (lane.stopped_us, lane.stop_why) == (at_us("05:10"), "steamer")


def test_balls_are_numbered_on_from_what_was_told() -> None:
    state = fold(
        say("turns", "05:10:00", lane=1, counts=300, ball=41),
        say("doff", "05:11:00", lane=1), say("doff", "05:12:00", lane=1),
        say("turns", "05:12:30", lane=1, counts=120),
    )  # fmt: skip
    assert (state.lane(1).ball, state.lane(1).counts, state.lane(1).doffed) == (43, 120.0, 2)


def test_joins_told_are_of_the_ball_on_the_winder() -> None:
    told = [
        say("turns", "05:10:00", lane=1, counts=300, ball=41),
        say("retie", "05:10:20", lane=1, parted_at="winder"),
        say("retie", "05:10:30", lane=1, parted_at="feed"),
        say("seen", "05:10:40", lane=1, ball=41),
        say("seen", "05:10:50", lane=1, ball=40),
    ]
    assert fold(*told).lane(1).joins_told == 2
    assert fold(*told, say("doff", "05:11:00", lane=1)).lane(1).joins_told == 0


def test_balls_weighed_last_are_kept_and_a_reading_that_cannot_be_is_marked() -> None:
    many = [say("weighing", f"05:{n:02d}:00", lane=1, mass_g=100.0 + n) for n in range(20)]
    balls = fold(*many).lane(1).last_balls
    assert len(balls) == LAST_BALLS and balls[-1].mass_g == 119.0
    odd = fold(say("weighing", "05:10:00", lane=1, mass_g=0.5)).lane(1).last_balls
    assert odd[0].plausible is False


def test_the_open_case_holds_what_was_banded_since() -> None:
    told = [
        say("banded", "05:10:00", lane=1, ball=1),
        say("banded", "05:20:00", lane=1, ball=2),
        say("case closed", "05:30:00", package="C1", lot="SL-207", balls=1,
            **{"upto": "2026-11-25T05:15:00Z"}),
        say("banded", "05:40:00", lane=1, ball=3),
    ]  # fmt: skip
    state = fold(*told)
    assert [one.ball for one in state.open_case] == [2, 3]
    assert state.last_case == "C1"


def test_who_checks_and_notes() -> None:
    state = fold(
        say("at the tablet", "05:00:00", hand="Ines"),
        say("check", "05:01:00", what="start-up", done=["belt"], not_done=["guard"]),
        say("handover", "05:02:00", note="winder 4 runs heavy", to="Odo"),
    )
    assert (state.hand, state.hand_us) == ("Ines", at_us("05:00"))
    assert state.checks[0].not_done == ("guard",)
    assert (state.handovers[0].to, state.handovers[0].author) == ("Odo", "Ines")


def test_a_record_whose_clock_ran_ahead_counts_for_nothing() -> None:
    wild = say("doff", "2027-01-01T00:00:00Z", lane=1)
    assert fold(START, wild) == fold(START)


# ---------------------------------------------------------------- whatever the order of arrival

MESSAGES = [one for one in shift_messages() if one.at_us < at_us("05:36:00")]
STATE = fold(*sorted(MESSAGES, key=lambda one: one.at_us))


@settings(max_examples=60)
@given(rng=st.randoms(use_true_random=False), repeats=st.integers(0, 40))
def test_order_of_arrival_and_repeats_change_nothing(rng: random.Random, repeats: int) -> None:
    arriving = MESSAGES + rng.choices(MESSAGES, k=repeats)
    rng.shuffle(arriving)
    assert fold(*arriving) == STATE


def test_the_state_that_order_does_not_change_is_no_empty_one() -> None:
    assert STATE.run is not None and len(STATE.lanes) == 6 and STATE.events == len(MESSAGES)
    assert all(lane.feeding is not None and lane.doffed for lane in STATE.lanes)


@settings(max_examples=30)
@given(rng=st.randoms(use_true_random=False), void=st.integers(0, 20), pieces=st.integers(1, 30))
def test_following_is_folding_from_scratch_at_every_step(
    rng: random.Random, void: int, pieces: int
) -> None:
    arriving = list(MESSAGES[:120])
    rng.shuffle(arriving)
    for number in range(void):
        of_seq = rng.randint(1, len(arriving))
        body = {"of_seq": of_seq, "why": "test"} | rng.choice(
            [{"void": True}, {"change": '{"lane": 2}'}, {"change": '{"at": "2026-11-25T05:31:07"}'}]
        )
        at = at_us("08:00") + number
        correction = Message(LINE, "correction", at, "t", f"c{number}", "Ines", body=body)
        arriving.insert(rng.randint(of_seq, len(arriving)), correction)
    records = records_of(arriving)
    following = Following(LINE, zone=ZONE)
    cuts = sorted(rng.randint(0, len(records)) for _ in range(pieces))
    so_far: list[Record] = []
    for low, high in zip([0, *cuts], [*cuts, len(records)], strict=True):
        piece = records[low:high]
        so_far += piece
        state = following.take(piece + rng.choices(so_far, k=3) if so_far else piece)
        assert state == line_state(so_far, LINE, zone=ZONE)
    assert following.state is following.take([])


@pytest.mark.parametrize("late_by", [1, 127, 128, 129, 500, 1500])
def test_a_late_record_is_folded_where_it_belongs(late_by: int) -> None:
    told = [
        replace(say("doff", "05:00:00", lane=1 + n % 6), at_us=at_us("05:00") + n * 7_000_000,
                key=str(n))
        for n in range(1600)
    ]  # fmt: skip
    told.insert(len(told), told.pop(len(told) - late_by))
    records = records_of(told)
    following = Following(LINE, zone=ZONE)
    for record in records:
        following.take([record])
    assert following.state == line_state(records, LINE, zone=ZONE)
    assert [one.at_us for one in following.events] == sorted(one.at_us for one in told)
