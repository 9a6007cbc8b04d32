"""The live view, read from a ledger: the same whatever order the messages came in."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest
from tests.ledger.state.told import LINE, at_us, demo_messages, say, shift_messages

from clew.faults import BadInput
from clew.ledger.events.message import Message
from clew.ledger.state.answer import LiveAnswer
from clew.ledger.state.live import LiveLine, live_answer
from clew.ledger.state.live_plain import plain_live
from clew.ledger.state.live_words import age_words, fewer_notes, off_words
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import head_of
from clew.mill.model import Mill

NOW = at_us("06:02:00")
WRONG = say("tie", "05:52:00", lane=4, cone="C-999", lot="SL-211")


@pytest.fixture
def told() -> list[Message]:
    ties = [one for one in demo_messages() if one.kind == "tie" and one.lane != 4]
    return sorted([*shift_messages(), *ties, WRONG], key=lambda one: one.at_us)


@pytest.fixture
def at_now(ledger: Ledger) -> Ledger:
    ledger.clock = lambda: NOW
    return ledger


def of_arrival(found: LiveAnswer) -> LiveAnswer:
    """A live view without what rests on when messages arrived."""
    alarms = tuple(one for one in found.alarms if one.kind != "late messages")
    return replace(found, alarms=alarms, head_hash="", words=found.words[1:])


def test_the_live_view_says_what_the_line_does(
    at_now: Ledger, demo_mill: Mill, told: list[Message]
) -> None:
    at_now.append(told)
    found = live_answer(at_now, demo_mill)
    assert found.line == LINE and found.now_us == NOW
    assert [one.kind for one in found.alarms] == ["wrong lot"]
    assert found.alarms[0].words.startswith("Lane 4: cone C-999 is of dye lot SL-211")
    assert found.words[0] == "1 alarm wants a hand at once."
    assert found.words[1] == (
        "Line 1: Querl 100 of Sloe SL-207. Run L1-251125-1 since 2026-11-25 05:29, "
        "218 balls off, 1 pulled."
    )
    assert found.words[2] == "The last 6 balls weighed: mean 101.1 g, on target."
    assert (found.open_case, found.case_balls, found.hand) == (1, 80, "")
    assert found.shift.name == "2026-11-25 06:00"
    assert [one.lane for one in found.lanes] == [1, 2, 3, 4, 5, 6]
    lane = found.lanes[3]
    assert (lane.cone, lane.cone_lot, lane.cones_left) == ("C-999", "SL-211", 3)
    assert lane.state == "runs" and lane.to_tie_min is not None
    assert (lane.counts_set, lane.turns_set) == (786.0, 786.0)
    assert found.lanes[4].turns_set == 790.0
    assert found.ties and all(one.pull for one in found.ties)
    head, digest = head_of(at_now, LINE)
    assert (found.head_seq, found.head_hash) == (head, digest.hex())
    assert found.last_age_s == pytest.approx(11.0)


def test_the_order_of_arrival_and_repeats_change_nothing(
    at_now: Ledger, demo_mill: Mill, told: list[Message]
) -> None:
    live = LiveLine(at_now, demo_mill)
    assert live.answer().run is None
    arriving = told + random.Random(5).choices(told, k=100)
    random.Random(6).shuffle(arriving)
    for low in range(0, len(arriving), 97):
        at_now.append(arriving[low : low + 97])
        live.answer()
    found = of_arrival(live.answer())
    assert found == of_arrival(live_answer(at_now, demo_mill))
    at_now.append(told)
    assert of_arrival(live.answer()) == found
    assert [one.kind for one in found.alarms] == ["wrong lot"]
    assert found.doffed == 218


def test_a_correction_shuts_the_alarm(at_now: Ledger, demo_mill: Mill, told: list[Message]) -> None:
    live = LiveLine(at_now, demo_mill)
    seq = at_now.append(told)[told.index(WRONG)].seq
    assert [one.kind for one in live.answer().alarms] == ["wrong lot"]
    body = {"of_seq": seq, "why": "label misread", "change": '{"cone": "C-144", "lot": "SL-207"}'}
    at_now.append([Message(LINE, "correction", NOW, "tablet", "c1", "Ines", body=body)])
    found = live.answer()
    assert found.alarms == () and found.lanes[3].cone == "C-144"
    assert found.words[0] == "No alarm is open."


def test_a_moment_that_is_past_is_seen_as_it_was(
    at_now: Ledger, demo_mill: Mill, told: list[Message]
) -> None:
    at_now.append(told)
    early = [one for one in told if one.at_us <= at_us("05:40:00")]
    found = live_answer(at_now, demo_mill, LINE, at_us("05:40:00"))
    assert found.alarms == ()
    assert found.doffed == sum(one.kind == "doff" for one in early)
    assert found.shift.name == "2026-11-24 22:00" and found.hand == "Ines"


def test_a_backup_put_in_the_ledgers_place_is_read_anew(
    at_now: Ledger, demo_mill: Mill, told: list[Message], tmp_path: Path
) -> None:
    live = LiveLine(at_now, demo_mill)
    at_now.append(told)
    assert live.answer().doffed == 218
    backup = open_ledger(sqlite_url(tmp_path / "backup.db"), clock=lambda: NOW)
    backup.append(told[:300])
    live.ledger = backup
    assert live.answer() == live_answer(backup, demo_mill)
    assert live.answer().head_seq == 300
    backup.close()


def test_a_ledger_that_holds_nothing(at_now: Ledger, demo_mill: Mill) -> None:
    found = live_answer(at_now, demo_mill)
    assert found.words == ("No alarm is open.", "Line 1: no run is in progress.")
    assert found.last_us is None and found.head_seq == 0
    assert {one.state for one in found.lanes} == {"not started"}


def test_a_line_that_is_not_there(at_now: Ledger, demo_mill: Mill) -> None:
    with pytest.raises(BadInput, match="no such line"):
        live_answer(at_now, demo_mill, "Line 9")


def test_a_run_that_the_mill_file_no_longer_has(at_now: Ledger, demo_mill: Mill) -> None:
    run = say("run start", "05:30:00", run="R1", lot="ZZ-1", ball_name="Gone 100")
    at_now.append([run, say("doff", "06:01:00", lane=1)])
    found = live_answer(at_now, demo_mill)
    assert found.notes[0].startswith("The mill file no longer has Gone 100 of ZZ-1")
    assert found.lanes[0].state == "runs" and found.colour == ""


def test_what_stands_still_is_said(at_now: Ledger, demo_mill: Mill) -> None:
    run = say("run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100")
    balls = [say("doff", "06:01:00", lane=lane) for lane in (1, 2, 3)]
    at_now.append([
        run, *balls, say("doff", "05:31:00", lane=4), say("feed off", "06:01:30", lane=2),
        say("stop", "06:00:00", lane=3, why="guard open"),
    ])  # fmt: skip
    lanes = live_answer(at_now, demo_mill).lanes
    assert [one.state for one in lanes] == [
        "runs", "no feed", "stopped", "silent", "not started", "not started",
    ]  # fmt: skip
    assert lanes[1].state_words == "feed stands 30 s"
    assert lanes[2].state_words == "stopped 2 min: guard open"
    at_now.append([say("stop", "06:01:40", lane=0, why="no steam")])
    lanes = live_answer(at_now, demo_mill).lanes
    assert {one.state_words for one in lanes} == {"line stopped 20 s: no steam"}


def test_the_plain_view_is_json_with_stable_keys(
    at_now: Ledger, demo_mill: Mill, told: list[Message]
) -> None:
    at_now.append(told)
    plain = json.loads(json.dumps(plain_live(live_answer(at_now, demo_mill)), allow_nan=False))
    assert set(plain) >= {"words", "alarms", "run", "lanes", "ties", "anchor", "last_message_age_s"}
    assert plain["now"] == "2026-11-25T06:02:00Z"
    assert plain["alarms"][0]["name"] == "wrong lot/4/C-999"
    assert plain["run"]["started"] == "2026-11-25T05:29:00Z"
    assert plain["lanes"][0]["to_tie_min"]["low"] <= plain["lanes"][0]["to_tie_min"]["high"]


def test_words_for_ages_masses_and_notes() -> None:
    ages = (-3.0, 89.0, 91.0, 7000.0, 7300.0, 172_500.0, 238_740.0)
    assert [age_words(one) for one in ages] == [
        "0 s", "89 s", "2 min", "117 min", "2 h 2 min", "47 h 55 min", "2 d 18 h",
    ]  # fmt: skip
    assert off_words(101.3, 0.3, 101.0) == "101.3 g, 0.3 g heavy"
    assert off_words(100.0, -1.0, 101.0) == "100.0 g, 1.0 g light"
    assert off_words(100.0, None, None) == "100.0 g"
    assert fewer_notes(["a", "Lane 1: x", "Lane 1, ball 3: y", "b", "Lane 2: z"]) == (
        "a", "Lane 1, ball 3: y (1 note before it)", "b", "Lane 2: z",
    )  # fmt: skip


def test_balls_banded_in_a_trial_are_not_counted_in_silence(
    at_now: Ledger, demo_mill: Mill
) -> None:
    run = say("run start", "05:30:00", run="T1", lot="SL-207", ball_name="Querl 100", trial=True)
    at_now.append([run, say("banded", "06:00:00", lane=1), say("banded", "06:01:00", lane=2)])
    found = live_answer(at_now, demo_mill)
    assert "Open case: 2 of 80 balls, 2 of them banded in a trial run: not for sale." in found.words


def test_what_a_clock_ahead_told_counts_for_nothing_though_its_moment_has_come(
    at_now: Ledger, demo_mill: Mill
) -> None:
    run = say("run start", "05:30:00", run="R1", lot="SL-207", ball_name="Querl 100")
    tie = say("tie", "05:40:00", lane=1, cone="C-2", name="true")
    at_now.clock = lambda: at_us("05:45:00")
    at_now.append([run, tie, say("turns", "05:44:00", lane=1, ball=3, counts=200)])
    retie = say("retie", "05:44:10", lane=1, parted_at="winder")
    wild = [say("tie", "05:58:00", lane=1, cone="C-2", source="wild"),
            say("doff", "05:58:30", lane=1, source="wild")]  # fmt: skip
    taken = at_now.append([retie, *wild])
    assert [one.flags for one in taken[1:]] == [("ahead of our clock",)] * 2
    found = live_answer(at_now, demo_mill, LINE, at_us("06:00:00"))
    assert found.last_us == retie.at_us
    assert found.doffed == 0 and found.lanes[0].ball == 3
    told = live_answer(at_now, demo_mill, LINE, at_us("05:46:00"))
    assert told.lanes[0].joins == 1 and [one.name for one in told.ties] == ["true"]
