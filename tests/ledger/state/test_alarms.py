"""Alarms: each opens when it must, says what to do, and stays shut otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.ledger.state.told import LINE, ZONE, at_us, records_of, say

from clew.ledger.events.message import Message
from clew.ledger.state.alarm_kinds import ALARMS
from clew.ledger.state.alarms import AlarmTerms, open_alarms
from clew.ledger.state.answer import Alarm, Between
from clew.ledger.state.effective import effective_events
from clew.ledger.state.line_state import folded
from clew.ledger.state.shifts import shift_of

NOW = "06:30:00"
RUN = say("run start", "06:01:00", run="R1", lot="SL-207", ball_name="Querl 100", target_g=101.0,
          call_low_g=98.0, call_high_g=104.0, counts={"4": 786})  # fmt: skip
CHECK = say("check", "06:02:00", what="start-up", done=["belt"])
LOTS = {"sl-207": "Querl", "sl-211": "Querl", "sa-340": "Dunnow"}


def alarms(*messages: Message, now: str = NOW, **terms: Any) -> tuple[Alarm, ...]:
    """Open alarms at a moment, with a run and a start-up check there already."""
    told = [one for one in (RUN, CHECK) if one not in messages]
    ordered = sorted([*told, *messages], key=lambda one: one.at_us)
    return bare(*ordered, now=now, **terms)


def bare(*messages: Message, now: str = NOW, **terms: Any) -> tuple[Alarm, ...]:
    received = at_us(now)
    corrected = effective_events(records_of(messages, received_us=received), zone=ZONE)
    shift = shift_of(received, ("06:00", "14:00", "22:00"), ZONE)
    known = AlarmTerms(ZONE, shift, knot_limit=2, tare_g=2.1, yarn="Querl", yarn_of=LOTS)
    return open_alarms(folded(corrected, LINE), corrected.events, replace(known, **terms), received)


def load(cone: str = "C-118", lot: str = "SL-207", at: str = "06:10:00", **more: Any) -> Message:
    return say("cone loaded", at, lane=4, cone=cone, **({"lot": lot} if lot else {}), **more)


def only(found: tuple[Alarm, ...]) -> Alarm:
    (alarm,) = found
    return alarm


def test_a_line_in_order_has_no_alarm() -> None:
    assert alarms(load(), load("C-119"), say("doff", "06:29:00", lane=4)) == ()


def test_a_cone_of_another_lot_that_feeds_stops_the_lane() -> None:
    found = only(alarms(load(), say("tie", "06:20:00", lane=4, cone="C-120", lot="SL-211")))
    assert found.words == "Lane 4: cone C-120 is of dye lot SL-211, the run is SL-207"
    assert found.todo == "stop the lane, pull the balls since 06:20"
    assert (found.urgency, found.name) == (1, "wrong lot/4/C-120")


def test_a_wrong_cone_is_seen_while_it_only_waits() -> None:
    found = only(alarms(load(), load("C-120", "SL-211", at="06:12:00")))
    assert found.words.endswith("the run is SL-207; it waits on the creel")
    assert found.todo == "take it off before it is tied on"
    off = say("cone off", "06:15:00", lane=4, cone="C-120")
    assert alarms(load(), load("C-120", "SL-211", at="06:12:00"), off) == ()


def test_another_yarn_and_a_lot_that_nobody_knows_are_said_as_such() -> None:
    assert "SA-340 and another yarn, Dunnow, the run" in only(alarms(load(lot="SA-340"))).words
    assert "XX-1, which the mill file does not know" in only(alarms(load(lot="XX-1"))).words


def test_a_lots_letters_may_be_small() -> None:
    assert alarms(load(lot="sl-207"), load("C-119")) == ()


def test_a_change_of_colour_makes_the_new_lot_right_and_the_old_one_wrong() -> None:
    colour = say("colour", "06:20:00", lane=4, cone="C-120", lot="SL-211")
    assert alarms(load(), load("C-120", "SL-211", at="06:19:00"), colour) == ()
    new = load("C-120", "SL-211", at="06:19:30")
    left = only(alarms(load(), load("C-119", at="06:19:00"), new, colour))
    assert left.words.startswith("Lane 4: cone C-119 is of dye lot SL-207, the run is SL-211")
    other = say("cone loaded", "06:21:00", lane=5, cone="C-121", lot="SL-207")
    waits = say("cone loaded", "06:22:00", lane=5, cone="C-122", lot="SL-211")
    assert alarms(new, colour, other, waits) == ()  # announced on lane 4: it may wait on lane 5


def test_a_cone_that_was_tied_on_but_never_loaded() -> None:
    found = only(alarms(load(), say("tie", "06:20:00", lane=4, cone="C-120")))
    assert found.kind == "cone not loaded" and found.urgency == 1
    assert found.words == "Lane 4: cone C-120 was tied on at 06:20 that nobody told as loaded"
    told_late = load("C-120", at="06:15:00")
    assert alarms(load(), told_late, say("tie", "06:20:00", lane=4, cone="C-120")) == ()


def test_ties_without_cones_are_no_alarm_where_nobody_tells_of_cones() -> None:
    assert alarms(say("tie", "06:20:00", lane=4)) == ()


def test_a_cone_without_its_lot() -> None:
    assert only(alarms(load(lot=""))).kind == "lot not told"


def test_a_lane_without_a_cone() -> None:
    found = only(alarms(load(), say("cone off", "06:20:00", lane=4, cone="C-118")))
    assert (found.kind, found.words) == ("out of cones", "Lane 4: no cone is on its creel")


@pytest.mark.parametrize(
    ("left", "reserve", "kind"),
    [
        (Between(30.0, 25.0, 35.0), False, ""),
        (Between(11.0, 9.9, 13.0), False, "tie due"),
        (Between(11.0, 9.9, 13.0), True, ""),
        (Between(0.0, 0.0, 2.0), False, "tie due"),
        (Between(0.0, 0.0, 0.0), False, "out of cones"),
        (Between(0.0, 0.0, 0.0), True, "tie not told"),
    ],
)
def test_cones_that_run_out(left: Between, reserve: bool, kind: str) -> None:
    told = [load(), *([load("C-119", at="06:11:00")] if reserve else [])]
    assert [one.kind for one in alarms(*told, to_tie={4: left})] == ([kind] if kind else [])


def test_a_winder_that_fell_silent_but_not_one_that_was_stopped() -> None:
    told = say("turns", "06:20:00", lane=4, counts=100)
    found = only(alarms(told))
    assert found.words == "Lane 4: its winder has told nothing for 10 min"
    assert alarms(told, now="06:24:59") == ()
    assert alarms(told, say("stop", "06:25:00", lane=4, why="break")) == ()


def test_a_line_that_tells_nothing_at_all_is_one_alarm() -> None:
    told = [load(), load("C-119", at="06:11:00")]
    told += [say("turns", "06:20:00", lane=lane, counts=100) for lane in (3, 4)]
    empty = {4: Between(0.0, 0.0, 0.0)}
    found = only(alarms(*told, to_tie=empty))
    assert (found.kind, found.lane) == ("winder silent", 0)
    assert found.words.startswith("Nothing has come from the line for 10 min")
    bare_creel = [(one.kind, one.lane) for one in alarms(told[0], *told[2:], to_tie=empty)]
    assert bare_creel == [("out of cones", 4), ("winder silent", 0)]
    heard = say("note", "06:29:00", note="all runs")
    kinds = [(one.kind, one.lane) for one in alarms(*told, heard, to_tie=empty)]
    assert kinds == [("tie not told", 4), ("winder silent", 3), ("winder silent", 4)]
    assert alarms(*told, say("stop", "06:21:00", lane=0, why="break")) == ()


def test_many_machines_that_are_late_are_one_alarm() -> None:
    def late(machines: int) -> list[str]:
        told = [
            say("doff", f"06:2{place}:00", lane=4, source=f"winder {place}", author="")
            for place in range(machines)
        ]
        newest = say("doff", "06:29:30", lane=4)
        return [one.words for one in bare(RUN, CHECK, newest, *told)]

    assert len(late(3)) == 3
    (words,) = late(4)
    assert "4 machines came late, the oldest of 06:20" in words


def test_a_stop_that_lasts() -> None:
    lane = say("stop", "06:10:00", lane=4, why="guard open")
    assert only(alarms(lane)).words == "Lane 4 stands for 20 min: guard open"
    line = say("stop", "06:10:00", lane=0, why="no steam")
    assert only(alarms(line)).words == "The line stands for 20 min: no steam"
    assert alarms(line, say("go on", "06:12:00", lane=0)) == ()


def weigh(mass_g: float, at: str = "06:25:00", **more: Any) -> Message:
    return say("weighing", at, lane=4, ball=41, mass_g=mass_g, **more)


def test_a_ball_outside_the_call_out_limits() -> None:
    found = only(alarms(weigh(97.2)))
    assert found.words == "Lane 4: ball 41 weighed at 06:25 has 97.2 g, less than 98.0 g"
    assert only(alarms(weigh(105.0))).words.endswith("has 105.0 g, more than 104.0 g")
    assert alarms(weigh(98.0)) == () and alarms(weigh(104.0)) == ()
    assert alarms(weigh(97.2), weigh(101.0, at="06:26:00")) == ()


def test_a_band_that_was_weighed_with_the_ball_is_taken_off() -> None:
    assert alarms(weigh(105.0, gross=True)) == ()
    assert only(alarms(weigh(99.0, gross=True))).words.endswith("has 96.9 g, less than 98.0 g")


@pytest.mark.parametrize("mass_g", [0.5, 30.0, 250.0, 90_000.0])
def test_a_weighing_that_no_ball_has(mass_g: float) -> None:
    assert only(alarms(weigh(mass_g))).kind == "weighing implausible"


def test_joins_beyond_the_limit() -> None:
    told = say("turns", "06:29:00", lane=4, ball=41, counts=300)
    assert alarms(told, joins={4: 2}) == ()
    found = only(alarms(told, joins={4: 3}))
    assert found.words == "Lane 4: ball 41 on the winder holds 3 joins, 2 are allowed"


def test_the_start_up_check_of_this_shift() -> None:
    assert only(bare(RUN)).kind == "start-up not checked"
    before = say("check", "05:50:00", what="start-up")
    assert bare(before, RUN) == ()
    yesterday = say("check", "04:50:00", what="start-up")
    assert only(bare(yesterday, RUN)).kind == "start-up not checked"
    open_points = say("check", "06:03:00", what="start-up", not_done=["guard 3", "eye wash"])
    assert only(bare(RUN, open_points)).words.endswith("not in order: guard 3, eye wash")


def test_balls_without_a_run() -> None:
    assert only(bare(say("doff", "06:29:00", lane=4))).kind == "no run"
    assert bare(say("doff", "06:09:00", lane=4)) == ()


def test_messages_that_came_late_or_from_a_clock_that_is_ahead() -> None:
    late = say("doff", "06:10:00", lane=4, source="winder 4", author="")
    found = bare(RUN, CHECK, say("doff", "06:29:00", lane=4), late)
    assert only(found).words == "winder 4: 1 message came late, the oldest of 06:10"
    by_hand = say("note", "06:10:00", note="typed in from paper")
    assert bare(RUN, CHECK, say("doff", "06:29:00", lane=4), by_hand) == ()
    ahead = say("turns", "09:00:00", lane=4, counts=5, source="winder 4")
    assert only(alarms(ahead)).words == (
        "The clock of winder 4 is ahead: a message up to 2026-11-25 09:00"
    )


def test_a_ledger_that_cannot_write_comes_first() -> None:
    found = alarms(load(lot="SL-211"), trouble="the disk that holds the ledger is full")
    assert [one.kind for one in found] == ["ledger trouble", "wrong lot"]
    assert "paper form" in found[0].todo


def test_a_correction_that_cannot_be() -> None:
    wrong = Message("Line 1", "correction", at_us("06:20:00"), "t", "k", "Ines",
                    body={"of_seq": 1, "change": '{"lane": 99}', "why": "x"})  # fmt: skip
    found = only(alarms(wrong))
    assert found.words.startswith("Correction 3 by Ines could not be put in: ")


def test_alarms_stand_by_urgency_then_kind_then_lane() -> None:
    found = alarms(
        load(lot="SL-211"), weigh(97.0), say("stop", "06:00:30", lane=2, why="break"),
        say("tie", "06:20:00", lane=3, cone="C-3"), trouble="full",
    )  # fmt: skip
    assert [(one.urgency, one.kind) for one in found] == [
        (1, "ledger trouble"), (1, "wrong lot"), (1, "cone not loaded"), (1, "ball out of limits"),
        (2, "long stop"),
    ]  # fmt: skip
    assert [ALARMS[one.kind].urgency for one in found] == [one.urgency for one in found]


def test_kinds_stand_in_the_table_by_urgency() -> None:
    urgencies = [one.urgency for one in ALARMS.values()]
    assert urgencies == sorted(urgencies)


def test_the_manual_lists_every_alarm_as_it_is() -> None:
    manual = (Path(__file__).parents[3] / "docs" / "run.md").read_text(encoding="utf-8")
    urgency = {1: "at once", 2: "soon", 3: "know"}
    for kind, one in ALARMS.items():
        assert f"| {kind} | {urgency[one.urgency]} | {one.means} |" in manual


def test_a_wrong_cone_that_fed_stays_an_alarm_until_its_balls_are_pulled() -> None:
    told = [load(lot="SL-211"), load("C-119", at="06:11:00")]
    tie = say("tie", "06:20:00", lane=4, cone="C-119")
    found = only(alarms(*told, tie))
    assert found.words == (
        "Lane 4: cone C-118 is of dye lot SL-211, the run is SL-207; it fed from 06:10 to 06:20"
    )
    assert (found.urgency, found.name) == (1, "wrong lot/4/C-118")
    assert "clew lot trace --cone C-118" in found.todo
    many = [
        say("tie", f"06:2{at}:00", lane=4, cone=f"C-12{at}", lot="SL-207") for at in range(1, 9)
    ]
    loads = [load(f"C-12{at}", at=f"06:1{at}:30") for at in range(1, 9)]
    assert "wrong lot" in [one.kind for one in alarms(*told, tie, *loads, *many)]
    assert alarms(*told, tie, say("pulled", "06:25:00", lane=4, ball=3)) == ()
    assert alarms(*told, tie, say("waste", "06:25:00", lane=4, metres=300)) == ()
    # one pulled before it was gone, or on another lane, says nothing of what came after
    assert only(alarms(*told, say("pulled", "06:15:00", lane=4, ball=3), tie)) == found
    assert only(alarms(*told, tie, say("pulled", "06:25:00", lane=3, ball=3))) == found
    corrected = say("correction", "06:26:00", of_seq=3, why="misread", change='{"lot": "SL-207"}')
    assert alarms(*told, tie, corrected) == ()


def test_a_wrong_cone_that_fed_and_was_taken_off_has_left_its_yarn_in_balls() -> None:
    told = [load(lot="SA-340"), load("C-119", at="06:11:00"),
            say("cone off", "06:20:00", lane=4, cone="C-118")]  # fmt: skip
    assert [one.kind for one in alarms(*told)].count("wrong lot") == 1
    end = say("run end", "06:21:00", run="R1")
    new = say("run start", "06:22:00", run="R2", lot="SL-207", ball_name="Querl 100")
    assert "wrong lot" not in [one.kind for one in alarms(*told, end, new)]


def test_the_last_runs_cone_is_no_wrong_one_where_a_change_of_colour_ends_it() -> None:
    old = say("cone loaded", "05:50:00", lane=4, cone="C-9", lot="SL-199")
    new = load("C-10")
    colour = say("colour", "06:12:00", lane=4, cone="C-10", lot="SL-207")
    assert alarms(old, new, colour) == ()
    assert only(alarms(old, new, say("tie", "06:12:00", lane=4, cone="C-10"))).about == "C-9"


def test_the_old_lot_before_a_change_of_colour_was_right() -> None:
    colour = say("colour", "06:20:00", lane=4, cone="C-120", lot="SL-211")
    assert alarms(load(), load("C-120", "SL-211", at="06:19:00"), colour) == ()
