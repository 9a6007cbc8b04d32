"""Corrections: what counts after them, what stays as it was, and what cannot be put in."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.ledger.state.told import DAY, ZONE, at_us, records_of, say

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS
from clew.ledger.events.message import Message
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.state.effective import Corrected, changed, effective_events
from clew.ledger.state.known import Effective

CONE = say("cone loaded", "05:20:00", lane=4, cone="C-118", lot="SL-211", place=2)


def correct(of_seq: int, at: str = "08:00:00", **body: Any) -> Message:
    """A correction as the tablet makes it: its own moment apart from the one it tells of."""
    body = {"why": "wrong button", **body, "of_seq": of_seq}
    if isinstance(body.get("change"), dict):
        body["change"] = json.dumps(body["change"])
    key = f"correct {of_seq} {at} {sorted(body.items())}"[:110]
    return Message("Line 1", "correction", at_us(at), "tablet", key, "Ines", body=body)


def effective(*messages: Message) -> Corrected:
    return effective_events(records_of(messages), zone=ZONE)


def only(found: Corrected) -> Effective:
    (event,) = found.events
    return event


def test_without_corrections_events_stand_in_order_of_time() -> None:
    late = say("doff", "05:10:00", lane=1)
    found = effective(CONE, late)
    assert [one.kind for one in found.events] == ["doff", "cone loaded"]
    assert not any(one.corrected for one in found.events)
    assert found.troubles == () and found.voided == frozenset()


def test_what_was_voided_did_not_happen() -> None:
    found = effective(CONE, correct(1, void=True))
    assert found.events == () and found.voided == {1}


def test_a_field_a_name_and_the_lane_are_changed_and_the_rest_stays() -> None:
    found = only(effective(CONE, correct(1, change={"lane": 5, "lot": "SL-207", "place": 3})))
    assert (found.lane, found.lot, found.cone, found.body["place"]) == (5, "SL-207", "C-118", 3)
    assert found.corrected and found.at_us == CONE.at_us and found.author == "Ines"


def test_null_takes_a_field_away() -> None:
    found = only(effective(CONE, correct(1, change={"place": None, "lot": None})))
    assert "place" not in found.body and found.lot == ""


def test_a_moment_is_changed_like_any_field() -> None:
    assert not only(effective(CONE, correct(1))).corrected  # nothing was changed
    assert only(effective(CONE, correct(1, change={"at": f"{DAY}T05:15"}))).at_us == at_us("05:15")


def test_a_correction_of_a_correction() -> None:
    first = correct(1, void=True)
    taken_back = correct(2, at="08:05:00", void=True)
    assert only(effective(CONE, first, taken_back)).corrected is False
    other = correct(2, at="08:05:00", change={"void": False, "change": '{"lane": 6}'})
    assert only(effective(CONE, first, other)).lane == 6
    again = correct(3, at="08:06:00", void=True)
    assert effective(CONE, first, taken_back, again).events == ()


def test_several_corrections_count_in_order_of_their_own_times() -> None:
    late = correct(1, at="09:00:00", change={"lane": 2})
    early = correct(1, at="08:00:00", change={"lane": 3})
    assert only(effective(CONE, late, early)).lane == 2
    assert only(effective(CONE, early, late)).lane == 2


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"lane": 99}, "no lane"),
        ({"colour": "blue"}, "no such field"),
        ({"place": "left"}, "place"),
        ({"cone": None}, "without its cone"),
        ({"kind": "doff"}, "stays as it is"),
        ({"line": "Line 2"}, "stays as it is"),
        ("[1]", "no JSON object"),
        ("{", "no JSON object"),
    ],
)
def test_a_change_that_cannot_be_leaves_all_as_it_was_and_says_so(change: Any, says: str) -> None:
    found = effective(CONE, correct(1, change=change))
    assert only(found).corrected is False
    (trouble,) = found.troubles
    assert says in trouble and trouble.startswith("correction 2 by Ines could not be put in")


def test_a_correction_of_nothing_or_of_what_comes_after_it() -> None:
    assert "record 9 is not older than it" in effective(CONE, correct(9, void=True)).troubles[0]
    found = effective(CONE, correct(3, void=True), say("doff", "05:30:00", lane=1))
    assert len(found.events) == 2
    assert "record 3 is not older than it" in found.troubles[0]


def test_a_correction_that_cannot_be_is_silenced_by_voiding_it() -> None:
    for wrong in (correct(9, void=True), correct(1, change={"lane": 99})):
        assert len(effective(CONE, wrong).troubles) == 1
        found = effective(CONE, wrong, correct(2, at="08:30:00", void=True))
        assert found.troubles == () and only(found).lane == 4


def test_a_correction_of_a_record_that_is_not_in_hand_is_no_trouble() -> None:
    records = records_of([CONE, say("doff", "05:30:00", lane=1), correct(1, void=True)])
    found = effective_events(records[1:], zone=ZONE)
    assert len(found.events) == 1 and found.troubles == ()


def test_a_moved_moment_loses_what_was_odd_about_the_old_one() -> None:
    wild = say("doff", "2027-01-01T00:00:00Z", lane=1)
    records = records_of([wild, correct(1, change={"at": f"{DAY}T05:40:00"})])
    assert records[0].flags == "ahead of our clock"
    assert only(effective_events(records, zone=ZONE)).flags == ()


def test_a_reading_that_is_put_right_loses_its_flag_and_a_wrong_one_gets_it() -> None:
    heavy = say("weighing", "05:40:00", lane=1, mass_g=99_000.0)
    found = only(effective(heavy, correct(1, change={"mass_g": 99.0})))
    assert found.flags == () and found.body["mass_g"] == 99.0
    good = say("weighing", "05:40:00", lane=1, mass_g=99.0)
    assert only(effective(good, correct(1, change={"mass_g": 0.5}))).flags == (
        "mass_g out of range",
    )


def test_every_kind_can_be_changed_back_into_itself() -> None:
    values: dict[str, Any] = {
        "number": 100.0, "whole": 2, "text": "text", "yes": True, "texts": ["a"],
        "numbers": {"1": 5.0},
    }  # fmt: skip
    for kind, of in KINDS.items():
        fields = {
            one.name: one.among[0] if one.among else values[one.type]
            for one in of.fields
            if one.must or one.name in ("note", "why")
        }
        names = {name: "N-1" if name != "ball" else 3 for name in of.must}
        lane = {"lane": 1} if of.where == "lane" else {}
        message = say(kind, "05:40:00", **fields, **names, **lane)
        event = effective(message).events[0] if kind != "correction" else None
        if event is None:
            continue
        same = changed(event, {}, zone=ZONE)
        assert same.body == event.body and same.at_us == event.at_us, kind
        assert (same.lane, same.ball, same.cone, same.lot) == (
            event.lane, event.ball, event.cone, event.lot,
        )  # fmt: skip


def test_a_change_that_is_wrong_in_two_ways_says_both() -> None:
    event = effective(CONE).events[0]
    with pytest.raises(BadInput) as bad:
        changed(event, {"lane": 99, "colour": "blue"}, zone=ZONE)
    assert len(bad.value.faults) == 2


def test_a_correction_of_a_correction_counts_in_the_mills_own_chain_too() -> None:
    def told(kind: str, key: str, at: str, **said: Any) -> Message:
        found = {"kind": kind, "at": f"2026-11-25T{at}Z", "key": key, **said}
        return read_message(found, Sender("office", "Ines"))

    pallet = told("pallet closed", "p", "05:40:00", package="P-1", cases=["C-1"])
    mend = told("correction", "m", "05:41:00", line="(mill)", of_seq=1, why="label",
                change='{"package": "P-2"}')  # fmt: skip
    anew = told("correction", "n", "05:42:00", line="(mill)", of_seq=2, why="it was P-3",
                change=json.dumps({"change": '{"package": "P-3"}'}))  # fmt: skip
    found = effective(pallet, mend, anew)
    assert (only(found).package, found.troubles) == ("P-3", ())
